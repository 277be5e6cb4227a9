"""What is said of a run: figures, tables, pictures, and the record of all of it; `trial_text` prints it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.constants import ZERO_CELSIUS
from mixjt.report.cautions import cautions
from mixjt.report.circuit_report import BAND_FIGURES, INTERRUPTED, MODEL, TITLE, WARNINGS
from mixjt.report.figure import EVERY, Figure, Listing, listing, record_of
from mixjt.report.inventory_report import shares
from mixjt.studies.band import Band
from mixjt.studies.trial.built import EFFICIENCY, FLOW, HELD_BACK
from mixjt.studies.trial.causes import Cause
from mixjt.studies.trial.hazards import hazards
from mixjt.studies.trial.log import BY_NAME, Column
from mixjt.studies.trial.readout import ComparedReading, changes, readings, related, windows
from mixjt.studies.trial.stretches import Stretch
from mixjt.studies.trial.trial import Parameter, Trial

SI = {"pressure": "Pa", "temperature": "K", "voltage": "V", "current": "A", "power": "W"}
IN_A_TABLE = "suction", "discharge", "evaporator", "power", "heater"  # of a stretch on the terminal


@dataclass(frozen=True)
class ToldTrial:
    """A case with the blend to start from, the file of its log, what that says, and how well its cooling is known."""

    case: Case
    log_file: str
    blend: Blend
    found: Trial
    band: Band | None = None

    @cached_property
    def readings(self) -> tuple[ComparedReading, ...]:
        """All that was compared."""
        return readings(self.found.fit)

    @property
    def atmosphere(self) -> float:
        """[Pa], from which gauges count."""
        return self.case.tables["ambient"]["pressure"]


def shown_as(one: Parameter) -> tuple[float, str]:
    """How many of its own units one of those that people are shown holds, and that."""
    departure = one.departure
    if departure.name == FLOW:
        return departure.value / 100.0, "% of the case"
    if departure.unit == "" and departure.name not in (EFFICIENCY, HELD_BACK):
        return 0.01, "% of the case"
    return {"kg": (1e-3, "g"), "mol/mol": (0.01, "mol %"), "of it": (0.01, "% of it"), "": (0.01, "%")}.get(
        departure.unit, (1.0, departure.unit)
    )


def _shown(attribute: str) -> Callable[[Parameter], float]:
    return lambda one: getattr(one, attribute) / shown_as(one)[0]


PARAMETERS = (
    Figure("name", "departure.name", text="parameter", table=EVERY),
    Figure("value", "value", "as fitted, in `unit`, SI: a ratio has none, and sensors' offsets are K or a share of the reading"),
    Figure("unit", "departure.unit"),
    Figure("standard_error", "error"),
    Figure("prior", "prior", "what the case says, with what a machine built with care is off from that"),
    Figure("prior_standard_error", "prior_error"),
    Figure("told_by_the_data", "told", "false where the log leaves it as uncertain as it was"),
    Figure("", _shown("prior"), text="case", table=EVERY, form=".4g"),
    Figure("", _shown("prior_error"), text="+- before", table=EVERY, form=".2g"),
    Figure("", _shown("value"), text="fitted", table=EVERY, form=".4g"),
    Figure("", _shown("error"), text="+- after", table=EVERY, form=".2g"),
    Figure("", lambda one: shown_as(one)[1], text="unit", table=EVERY),
    Figure("", lambda one: "yes" if one.told else "no", text="told", table=EVERY),
)  # fmt: skip
CHANGES = (
    Figure("name", "name"),
    Figure("value", "value", "of the machine: a ratio to that of the case where `unit` is empty, else the difference"),
    Figure("standard_error", "error"),
    Figure("unit", "unit"),
)
CAUSES = (  # of (cause, fit)
    Figure("name", lambda row: row[0].name),
    Figure("score", lambda row: row[0].score, "logarithm of the odds that the log gives it; from 3 on it is named, from 1 on it is possible"),
    Figure("evidence_for", lambda row: list(row[0].evidence_for)),
    Figure("evidence_against", lambda row: list(row[0].evidence_against)),
    Figure("next_step", lambda row: row[0].kind.next_step),
    Figure("changes", lambda row: changes(row[1], row[0]), "what it would make of the machine", rows=CHANGES),
    Figure("stretches", lambda row: list(windows(row[1], row[0])), "where it is there, if not all the time"),
)
RESIDUALS = (  # of (reading, local atmosphere)
    Figure("stretch", lambda row: row[0].stretch),
    Figure("place", lambda row: row[0].place, text="reading", table=EVERY),
    Figure("", lambda row: _on_the_dial(*row)[0], text="seen", table=EVERY),
    Figure("", lambda row: _on_the_dial(*row)[1], text="on", table=EVERY),
    Figure("measured", lambda row: row[0].measured),
    Figure("predicted", lambda row: row[0].predicted, "by the case, and by the fitted machine with its sensors' offsets"),
    Figure("fitted", lambda row: row[0].fitted),
    Figure("unit", lambda row: SI[row[0].kind]),
    Figure("", lambda row: row[0].measured / _shown_in(row[0])[0], text="measured", table=EVERY),
    Figure("", lambda row: row[0].predicted / _shown_in(row[0])[0], text="predicted", table=EVERY),
    Figure("", lambda row: row[0].fitted / _shown_in(row[0])[0], text="fitted", table=EVERY),
    Figure("", lambda row: _shown_in(row[0])[1], text="unit", table=EVERY),
    Figure("predicted_residual", lambda row: row[0].before, "measured less predicted, and less fitted, in standard deviations: of "
           "noise, and of what a right model is off", text="before", table=EVERY, unit="sigma", form="+.1f"),
    Figure("fitted_residual", lambda row: row[0].after, text="after", table=EVERY, unit="sigma", form="+.1f"),
)  # fmt: skip


def _on_the_dial(one: ComparedReading, atmosphere: float) -> tuple[float, str]:
    """A measured value as gauges and thermometers of the bench show it."""
    if one.kind == "pressure":
        return (one.measured - atmosphere) / 1e5, "bar g"
    return (one.measured - ZERO_CELSIUS, "degC") if one.kind == "temperature" else (one.measured, SI[one.kind])


def _shown_in(one: ComparedReading) -> tuple[float, str]:
    return (1e5, "bar abs") if one.kind == "pressure" else (1.0, SI[one.kind])


def _mean(place: str) -> Figure:
    key = f"{place.replace(' ', '_')}_{SI[BY_NAME[place].kind]}"
    return Figure(key, lambda one: one.mean.get(place), text=place if place in IN_A_TABLE else None, table=EVERY)


STRETCHES = (
    Figure("kind", "kind", text="stretch", table=EVERY),
    Figure("start_s", "start", text="from", table=EVERY, form=".0f"),
    Figure("end_s", "end", text="to", table=EVERY, form=".0f"),
    *(replace(_mean(place), help="" if number else "means of the readings by place, absolute")
      for number, place in enumerate(BY_NAME)),
)  # fmt: skip
COLUMNS = (
    Figure("header", "header", text="column", table=EVERY),
    Figure("place", "place", text="taken for", table=EVERY),
    Figure("unit", "unit", text="in", table=EVERY),
    Figure("guessed", "guessed", "from the header"),
    Figure("", lambda one: "guessed" if one.guessed else "[trial]", text="by", table=EVERY),
)
CORRELATIONS = (
    Figure("one", lambda row: row[0], text="of", table=EVERY),
    Figure("other", lambda row: row[1], text="and", table=EVERY),
    Figure("correlation", lambda row: row[2], text="correlation", table=EVERY, form="+.2f"),
)
FIGURES = (
    *TITLE,
    Figure("log", "log_file", "the file of the log"),
    replace(MODEL, read="found.built.fluid.model.name"),
    Figure("causes", lambda told: cause_listing(told), "what may be wrong, likeliest first", rows=CAUSES),
    Figure("fitted_cause", "found.cause.name", "the cause that was fitted with the machine; `null` where none stood out"),
    Figure("parameters", "found.parameters", "the machine and its sensors as fitted", rows=PARAMETERS),
    Figure("correlations", lambda told: related(told.found.fit), "pairs of them that can hardly be told apart, from 0.7 on",
           rows=CORRELATIONS),
    Figure("residuals", lambda told: residual_listing(told), "what was compared", rows=RESIDUALS),
    Figure("steady_stretches", "found.stretches", "all stretches of the log, compared or not", rows=STRETCHES),
    Figure("columns", lambda told: columns_of(told.found), "what each column was taken for", rows=COLUMNS),
    Figure("notes", lambda told: [*told.found.log.notes, *told.found.notes], "what was odd in the log, and what is left out"),
    Figure("circulating_blend", lambda told: shares(_coldest(told).fluid), "mole fractions in the fitted machine on the coldest "
           "steady stretch, its cooling power there, and its cold end"),
    Figure("cooling_power_W", lambda told: _coldest(told).cooling_power),
    Figure("cold_temperature_K", lambda told: _coldest(told).cold_temperature),
    replace(INTERRUPTED, read="found.interrupted"),
    replace(WARNINGS, read=lambda told: warnings(told)),
)  # fmt: skip
ALL_FIGURES = (*FIGURES, *BAND_FIGURES)


def _coldest(told: ToldTrial):
    return told.found.settled[told.found.coldest]


def columns_of(found: Trial) -> tuple[Column, ...]:
    """With that of time first."""
    return (*([found.log.clock] if found.log.clock else ()), *found.log.columns)


def dangers(told: ToldTrial) -> list[str]:
    """What the run has shown to be dangerous."""
    return hazards(told.found, told.case.tables["standstill"]["largest_pressure"])


def warnings(told: ToldTrial) -> list[str]:
    """Dangers, then what weakens the figures."""
    return [*dangers(told), *(told.band.warnings if told.band else ())]


def trial_record(told: ToldTrial, more_warnings: Sequence[str] = ()) -> dict:
    """The figures of a run, with warnings that the case itself gives and cautions for what was measured."""
    record = record_of(FIGURES, told) | record_of(BAND_FIGURES, told.band)
    record["warnings"] += more_warnings
    read = [one.mean for one in told.found.stretches]
    highest = max((mean["discharge"] for mean in read if "discharge" in mean), default=told.case.circuit.discharge_pressure)
    coldest = min(one.cold_temperature for one in told.found.settled if one is not None)
    record["cautions"] = cautions(told.blend.gases, told.blend.fractions, highest, coldest)
    return record


def cause_listing(told: ToldTrial) -> Listing:
    """One row a cause."""
    return listing(CAUSES, [(one, told.found.fit) for one in told.found.causes])


def residual_listing(told: ToldTrial, stretch: str | None = None) -> Listing:
    """One row a reading, of all stretches or of one."""
    return listing(RESIDUALS, [(one, told.atmosphere) for one in told.readings if stretch in (None, one.stretch)])


def parameter_listing(told: ToldTrial) -> Listing:
    """One row a parameter."""
    return listing(PARAMETERS, told.found.parameters)


def stretch_listing(stretches: Sequence[Stretch]) -> Listing:
    """One row a stretch."""
    return listing(STRETCHES, stretches)


def trial_tables(told: ToldTrial) -> dict[str, Listing]:
    """Parameters, causes with their evidence in one cell, residuals and stretches."""
    return {
        "parameters": parameter_listing(told),
        "causes": listing(FLAT_CAUSES, told.found.causes),
        "residuals": residual_listing(told),
        "stretches": stretch_listing(told.found.stretches),
    }


def _joined(attribute: str) -> Callable[[Cause], str]:
    return lambda one: "; ".join(getattr(one, attribute))


FLAT_CAUSES = (
    Figure("name", "name"),
    Figure("score", "score"),
    Figure("evidence_for", _joined("evidence_for")),
    Figure("evidence_against", _joined("evidence_against")),
    Figure("next_step", "kind.next_step"),
)


def trial_pictures(told: ToldTrial) -> dict[str, Callable]:
    """Readings over time, residuals, and the recuperator where it was coldest."""
    from mixjt.plots.trial_plot import pinch_figure, residual_figure, run_figure

    return {
        "run": lambda: run_figure(told.found),
        "residuals": lambda: residual_figure(told.readings),
        "pinch": lambda: pinch_figure(told.found),
    }
