"""An invented machine with a needle valve, the log of a run of one that differs from it, and trials put together by hand."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from mixjt.case.case import read_case
from mixjt.case.trial_case import built_machine
from mixjt.constants import ZERO_CELSIUS
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.studies.trial.built import CONDUCTANCE, BuiltMachine, departures
from mixjt.studies.trial.causes import Cause, Kind
from mixjt.studies.trial.fit import Fault, Fit, Problem, Seen
from mixjt.studies.trial.log import Column, TrialLog
from mixjt.studies.trial.run import Imposed, Stretched, run_on
from mixjt.studies.trial.stretches import Stretch
from mixjt.studies.trial.trial import Trial

CASE = """\
# Invented: the ridge-top club's receiver with a needle valve.
title = "receiver on trial"

[ambient]
temperature = "22 degC"
pressure = "0.8 bar"

[compressor]
type = "rotary"
displacement = "6.4 cm3"
speed = "2900 rpm"
voltage = "230 V"
largest_discharge_temperature = "107 degC"

[circuit]
suction_pressure = "3 bar"
discharge_pressure = "15 bar"

[aftercooler]
approach = "8 K"

[recuperator]
conductance = "40 W/K"          # hoped for

[cold_end]
temperature = "210 K"

[blend]
methane = 0.60
isobutane = 0.40
"""
HIDDEN = math.log(0.8)  # of the recuperator's conductance: a fifth of the tube does nothing
HEATERS = 20.0, 26.0  # W
LINES, EVERY = 45, 20.0  # s
HEAD = "t [s];p low [bar g];p high [bar g];T discharge [degC];T before capillary [degC];T evap [degC];T suction [degC];P [W];heater [W]"
PLACES = "suction", "discharge", "discharge line", "throttle inlet", "evaporator", "suction line", "power"
NOISE = 0.004, 0.01, 0.1, 0.1, 0.1, 0.1, 0.8  # bar, K, W
ATMOSPHERE = 0.8  # bar
AMBIENT = 295.15  # K
ERRORS = {"throttle inlet": 1.0, "evaporator": 1.0, "power": 0.02}


def machine(path: Path) -> BuiltMachine:
    """That of a case file."""
    case = read_case(path)
    fluid = Fluid(load_model("multi-fluid", case.blend.gases), case.blend.composition)
    return built_machine(case, fluid, case.charge is not None)[0]


def write_run(folder: Path) -> tuple[Path, Path]:
    """Case and log in a folder; the log's machine has another recuperator."""
    case, log = folder / "case.toml", folder / "log.csv"
    case.write_text(CASE)
    built = machine(case)
    known = departures(built, {})
    theta = np.array([HIDDEN if one.name == CONDUCTANCE else 0.0 for one in known])
    noise, lines = np.random.default_rng(5), [HEAD]
    for heater in HEATERS:
        imposed = Imposed(AMBIENT, heater, cold=170.0, suction=3e5, discharge=15e5)
        seen = np.array([*_on_gauges(run_on(Stretched(built, known, theta, imposed)).shown), heater])
        for _ in range(LINES):
            reading = seen + np.array([*NOISE, 0.0]) * noise.standard_normal(seen.size)
            lines.append(";".join(f"{x:.2f}" for x in (EVERY * (len(lines) - 1), *reading)))
    log.write_text("\n".join(lines) + "\n")
    return case, log


def _on_gauges(shown) -> list[float]:
    """bar gauge, degC and W."""
    values = [shown[place] for place in PLACES]
    return [*(math.exp(one) / 1e5 - ATMOSPHERE for one in values[:2]), *(one - ZERO_CELSIUS for one in values[2:6]),
            math.exp(values[6])]  # fmt: skip


def cause(name: str, score: float, evidence_for=(), evidence_against=(), fault: Fault | None = None) -> Cause:
    """A cause with a next step of its own."""
    kind = Kind(name, {}, (), f"look after {name}")
    return Cause(kind, fault, score, 1.0, 0.2, tuple(evidence_for), tuple(evidence_against), {})


def trial(built: BuiltMachine, causes: tuple[Cause, ...] = (), told=None, readings=None, **changes) -> Trial:
    """One steady stretch of 10 min whose readings are what the machine of the case shows, but for readings by place.

    told are departures that the log tells, by name; all others stay as uncertain as they were.
    """
    told, imposed = told or {}, Imposed(AMBIENT, HEATERS[0], cold=170.0, suction=3e5, discharge=15e5)
    known = departures(built, ERRORS)
    zero = np.zeros(len(known))
    run = run_on(Stretched(built, known, zero, imposed))
    measured = {place: run.shown[place] for place in ERRORS} | (readings or {})
    stretch = Stretch("steady", 0.0, 600.0, {"suction": 3e5, "discharge": 15e5, "discharge line": 365.0, **measured,
                      "power": math.exp(measured["power"])}, {}, {}, {})  # fmt: skip
    problem = Problem(built, known, (Seen("1: steady from 0 to 10 min", imposed, measured, ERRORS),))
    unknowns = np.array([told.get(one.name, 0.0) for one in known])
    errors = np.array([(0.1 if one.name in told else 1.0) * one.spread for one in known])
    fitted = run_on(problem.stretch(0, unknowns), run) if any(unknowns) else run
    fit = Fit(problem, unknowns, np.diag(errors**2), (run,), (fitted,), (np.zeros((len(run.shown), zero.size)),))
    times = np.arange(0.0, 601.0, 20.0)
    log = TrialLog(
        times, {place: np.full(times.size, stretch.mean[place]) for place in stretch.mean},
        (Column("T evap [degC]", "evaporator", "degC", True),), ("line 3 lacks a value",), "0",
        Column("t [s]", "time", "s", True),
    )  # fmt: skip
    settled = problem.stretch(0, unknowns).standing(fitted.unknowns).settled
    made = Trial(built, log, (stretch,), fit, tuple(causes), None, (settled,), ((5.0, 1.0),), ("left out",))
    return replace(made, **changes)
