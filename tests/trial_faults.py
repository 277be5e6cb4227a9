"""Invented runs of the club's machine with injected faults, and fits of the case's machine to them, kept in data/trial_faults.json.

`python tests/trial_faults.py` makes them anew, in some twenty minutes. The runs are of another property model and another slip
than the fits (`mixtures-demo/first_run.py` has the hidden machine). Kept is a run without noise, which a test adds, and the fit to it:
where it settled, and how what is shown follows the departures there. A test's fit is then the linear one from there,
since noise moves it little. The whole way, from a file on, is tested on the demo's log alone: it takes a minute or two.
"""

from __future__ import annotations

import json
import math
import sys
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np

KEPT = Path(__file__).parent / "data" / "trial_faults.json"
sys.path.insert(0, str(Path(__file__).parent.parent / "mixtures-demo"))

import first_run

from mixjt.studies.trial import built as named
from mixjt.studies.trial.built import Departure, departures
from mixjt.studies.trial.compared import MISFITS
from mixjt.studies.trial.fit import Fit, Problem, Seen, first_runs, fit
from mixjt.studies.trial.log import BY_NAME
from mixjt.studies.trial.run import LOGS, Imposed, Run, Stretched, rest_doubt, run_on

HEATERS = 18.0, 12.0, 6.0  # W
GASES = "nitrogen", "methane", "ethane", "isobutane", "propane", "n-butane"
ALL = {f"{named.CHARGE} {gas}": 1.0 for gas in GASES}
BEFORE, LAST = (0, 1, 2, 3), (3,)  # stretches: at rest, then one a heater; at rest again where all has leaked on
PLACES = "suction", "discharge", "discharge line", "aftercooler outlet", "throttle inlet", "evaporator", "suction line", "power"
ERRORS = {name: 0.012 if name in LOGS else BY_NAME[name].error for name in PLACES}


def times(size: float) -> dict:
    return {name: size * share for name, share in ALL.items()}


FAULTS = {  # what is injected: departures of the machine, on which stretches, shifts of sensors, and the names a reading may give it
    "none": ({}, BEFORE, {}, ()),
    "overcharge": (times(0.2), BEFORE, {}, ("overcharge",)),
    "undercharge": (times(-0.2), BEFORE, {}, ("undercharge",)),
    "lack of nitrogen": ({f"{named.CHARGE} nitrogen": -0.6}, BEFORE, {}, ("lack of nitrogen",)),
    "lack of isobutane": ({f"{named.CHARGE} isobutane": -0.5}, BEFORE, {}, ("lack of isobutane",)),
    "ice": ({named.THROTTLE: -0.5}, LAST, {}, ("blocked or iced throttle",)),
    "leak": (times(-0.2), (3, 4), {}, ("leak",)),
    "oil": ({named.THROTTLE: -0.35, named.CONDUCTANCE: -0.35}, (2, 3), {}, ("oil carried over",)),
    "air": ({f"{named.CHARGE} nitrogen": 0.5}, BEFORE, {}, ("air in the circuit",)),
    "recuperator": ({named.CONDUCTANCE: -0.6}, BEFORE, {}, ("undersized recuperator",)),
    "worn": ({named.FLOW: -0.35, named.EFFICIENCY: -0.25}, BEFORE, {}, ("worn compressor",)),
    "thermocouple": ({}, BEFORE, {"evaporator": 9.0}, ("sensor wrong: evaporator",)),
    "gauge": ({}, BEFORE, {"discharge": -0.15}, ("sensor wrong: discharge",)),
}


def noise_of(place: str) -> float:
    """Of a stretch's mean, with what a good model may be off."""
    return MISFITS[BY_NAME[place].kind]


def seen_as(rows, shifts, doubt: float) -> tuple[Seen, ...]:
    """Rows of (heater or None at rest, shown) as a fit takes them; doubt is that of the pressures at rest."""
    made = []
    for number, (heater, shown) in enumerate(rows):
        measured = {place: shown[place] + shifts.get(place, 0.0) for place in PLACES if place in shown}
        imposed = Imposed(first_run.ROOM, at_rest=True)
        if heater is not None:
            pressures = (float(np.exp(measured[place])) for place in ("suction", "discharge"))
            imposed = Imposed(first_run.ROOM, heater, 0.0, measured["evaporator"], *pressures)
        made.append(Seen(f"{number}", imposed, measured, {place: math.hypot(noise_of(place), doubt * (heater is None)) for place in measured}))
    return tuple(made)


def true_rows(fault: str):
    """The hidden machine with a fault, stretch by stretch."""
    built, known = first_run.hidden_machine()
    wrong, where, _, _ = FAULTS[fault]
    rows, near = [], None
    for number, heater in enumerate((None, *HEATERS, *([None] if 4 in where else []))):
        theta = first_run.theta_of(known, first_run.HIDDEN)
        theta = theta + first_run.theta_of(known, wrong) * (number in where)
        imposed = Imposed(first_run.ROOM, heater or 0.0, cold=125.0, at_rest=heater is None)
        run = run_on(Stretched(built, known, theta, imposed), near)
        near = near if heater is None else run
        rows.append((heater, run.shown))
    return rows


def make(fault: str) -> dict:
    """A run and its fit, as kept."""
    built, _ = first_run.hidden_machine("multi-fluid")
    seen = seen_as(true_rows(fault), FAULTS[fault][2], rest_doubt(built, first_run.ROOM) / math.sqrt(3.0))
    problem, first, lost = first_runs(Problem(built, departures(built, ERRORS), seen))
    assert not lost
    found = fit(problem, first)
    return {
        "seen": [asdict(replace(one, imposed=replace(one.imposed, metal=None))) for one in seen],
        "known": [asdict(one) for one in found.problem.known],
        "unknowns": list(found.unknowns),
        "first": [dict(run.shown) for run in found.first],
        "runs": [dict(run.shown) for run in found.runs],
        "jacobians": [jacobian.tolist() for jacobian in found.jacobians],
        "charge": list(built.machine.charge),
    }


def rounded(value):
    """Numbers to six digits, which is far below any noise."""
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    if isinstance(value, list):
        return [rounded(one) for one in value]
    return float(f"{value:.6g}") if isinstance(value, float) else value


class _Charged:
    """As much of a machine as causes ask for."""

    def __init__(self, charge):
        self.fluid = self
        self.machine, self.gases, self.charge, self.z = self, GASES, np.array(charge), np.array(charge) / np.sum(charge)


def noisy_fit(kept: dict, seed: int) -> Fit:
    """The linear fit to a kept run with noise of a seed: readings and offsets of the sensors."""
    random = np.random.default_rng(seed)
    known = tuple(Departure(**one) for one in kept["known"])
    offsets = {place: ERRORS[place] * random.normal() for place in PLACES}
    seen = []
    for one in kept["seen"]:
        measured = {
            place: value + offsets[place] + one["noise"][place] * random.normal() for place, value in one["measured"].items()
        }
        seen.append(Seen(one["name"], Imposed(**one["imposed"]), measured, one["noise"]))
    problem = Problem(_Charged(kept["charge"]), known, tuple(seen))
    unknowns, runs = np.array(kept["unknowns"]), [Run(shown, None) for shown in kept["runs"]]
    jacobians = [np.array(one) for one in kept["jacobians"]]
    rows, off = [], []
    for one, run, jacobian in zip(seen, runs, jacobians, strict=True):
        places = list(run.shown)
        for place in (place for place in places if place in one.measured):
            rows.append(jacobian[places.index(place)] / one.noise[place])
            sensor = sum(x for x, each in zip(unknowns, known, strict=True) if each.place == place)
            off.append((one.measured[place] - run.shown[place] - sensor) / one.noise[place])
    slopes, prior = np.array(rows), np.diag(problem.spreads**-2.0)
    covariance = np.linalg.inv(slopes.T @ slopes + prior)
    step = covariance @ (slopes.T @ np.array(off) - prior @ unknowns)
    moved = [
        Run(dict(zip(run.shown, np.array(list(run.shown.values())) + jacobian @ (step * [one.place is None for one in known]))), None)
        for run, jacobian in zip(runs, jacobians, strict=True)
    ]
    first = tuple(Run(shown, None) for shown in kept["first"])
    return Fit(problem, unknowns + step, covariance, first, tuple(moved), tuple(jacobians))


def kept_runs() -> dict:
    return json.loads(KEPT.read_text())


if __name__ == "__main__":
    chosen = sys.argv[1:] or list(FAULTS)
    found = kept_runs() if KEPT.exists() else {}
    for fault in chosen:
        found[fault] = rounded(make(fault))
        print(fault, flush=True)
        KEPT.parent.mkdir(exist_ok=True)
        KEPT.write_text(json.dumps(found))
