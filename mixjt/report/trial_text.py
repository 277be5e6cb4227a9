"""What people read of a run on the terminal: dangers, causes, the machine as fitted, and how far all fits."""

from __future__ import annotations

from collections.abc import Mapping

from mixjt.case.trial_answer import not_kept
from mixjt.report import trial_report as report
from mixjt.report.circuit_report import print_closing, print_heading
from mixjt.report.figure import listing
from mixjt.report.terminal import print_notes, wrapped
from mixjt.report.trial_report import ToldTrial
from mixjt.studies.trial.causes import STRONG, Cause
from mixjt.studies.trial.readout import Altered, changes, outdone, related, standing, windows
from mixjt.studies.trial.trial import POOR

MOST_SHOWN = 3  # causes, where none stands out


def print_trial(told: ToldTrial, record: Mapping) -> None:
    """All of it, dangers first."""
    print_heading(told.case, told.blend, record, told.band, {"log": told.log_file})
    dangers = report.dangers(told)
    if dangers:
        print_notes("Before the next start", dangers)
        print()
    _print_causes(told)
    print()
    report.parameter_listing(told).show("The machine as fitted, with standard errors before and after the log")
    for name in dict.fromkeys(one.stretch for one in told.readings):
        report.residual_listing(told, name).show(f"Stretch {name}")
    report.stretch_listing(told.found.stretches).show("Stretches of the log")
    listing(report.COLUMNS, report.columns_of(told.found)).show("Columns of the log")
    print_notes("Notes on the log", record["notes"])
    print_closing([one for one in record["warnings"] if one not in dangers], record["cautions"])
    print_notes("How far to trust this", _trust(told))


def _print_causes(told: ToldTrial) -> None:
    """Causes that are named, those that are possible, or that nothing stands out."""
    shown, others = standing(told.found), outdone(told.found)
    named = [one for one in shown if one.score >= STRONG]
    print("What the log says")
    if not named:
        print(wrapped("  ", "Nothing stands out: the readings are what a machine built with care to this case may show."))
        if told.found.first_misfit > POOR:
            print(wrapped("  ", f"The case itself misses them by {told.found.first_misfit:.0f} times the noise; many small departures, "
                                "each of which care allows, explain that: see the machine as fitted."))
    for one in shown:
        fitted = told.found.cause is not None and one.name == told.found.cause.name
        _print_cause(told, one, ("likely" if one is named[0] else "also likely") if one in named else "possible", fitted)
    if others:
        names = ", ".join(f"{one.name} ({one.score:.1f})" for one in others)
        print(wrapped("  ", f"The likeliest explains the readings far better than these would, by their scores: {names}."))
    if not shown:
        closest = ", ".join(f"{one.name} ({one.score:+.1f})" for one in told.found.causes[:MOST_SHOWN])
        print(wrapped("  ", f"The nearest, which cannot be told apart from a good machine: {closest}."))


def _print_cause(told: ToldTrial, one: Cause, rank: str, fitted: bool = False) -> None:
    print(wrapped(f"  {rank}: ", f"{one.name}, score {one.score:.1f}{', fitted with the machine' if fitted else ''}"))
    there = windows(told.found.fit, one)
    size = ", ".join(_size(change) for change in changes(told.found.fit, one))
    lines = {
        "size": size,
        "there": "; ".join(there),
        "for": "; ".join(one.evidence_for),
        "against": "; ".join(one.evidence_against),
        "next": one.kind.next_step,
    }
    for name, text in lines.items():
        if text:
            print(wrapped(f"      {name:<8}", text))


def _size(change: Altered) -> str:
    if change.ratio:
        return f"{change.name} {100.0 * change.value:.0f} +- {100.0 * change.error:.0f} % of the case's"
    scale, unit = (100.0, "%") if change.unit == "of it" else (1.0, change.unit)
    return f"{change.name} {scale * change.value:+.3g} +- {scale * change.error:.2g} {unit}"


def _trust(told: ToldTrial) -> list[str]:
    """What the figures rest on."""
    found, machine = told.found, told.found.built.machine
    notes = ["a saved length of capillary is one that passes the fitted flow, with what narrows it: don't cut to it"] if machine.tube else []
    notes += ["\"told: no\" means that the log leaves a number as uncertain as it was: the fitted value is then no news"]
    close = [f"{one} and {other} ({value:+.2f})" for one, other, value in related(found.fit)]
    if close:
        notes.append(f"hardly to be told apart (correlation): {', '.join(close)}; another heater power, or the readings at rest, may part them")
    if machine.tube is None:
        notes.append("no capillary is stated: the discharge pressure is held as measured, and tells nothing of the throttle")
    if machine.charge is None:
        notes.append("no volumes are stated: the suction pressure is held as measured, and tells nothing of the charge")
    if "nitrogen" not in found.built.fluid.gases:
        notes.append("air counts as nitrogen, of which this blend has none: air in the circuit is not looked for")
    lost = not_kept(found)
    if lost:
        notes.append(f"no key of a case says {' or '.join(lost)}: a saved case goes without")
    notes.append("a score is the logarithm of odds against a good machine; two faults at once, or one that is not listed, may look like a third")
    return notes
