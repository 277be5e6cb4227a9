"""Make the invented log of the club's first run, `receiver-first-run.csv`: python mixtures-demo/first_run.py

The machine in it is not quite that of the case, as no machine ever is: the recuperator is 11 % smaller, 40 mW/K leak in, the
compressor moves 5 % less, the capillary passes 13 % more, liquid is held back less than Zivi's slip says, and nitrogen dissolves
less than the default model has it (the set "nitrogen-less-soluble"). The thermocouple at the evaporator reads 1.5 K too warm.
Before the last hour water freezes in the capillary, which then passes 40 % less. Metal and gas follow each change with a time constant of
5 minutes. All of it is invented.
"""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from mixjt.case.case import read_case
from mixjt.case.cooldown_case import cooldown_request, fixed_machine
from mixjt.circuit.held_recuperator import CooledMetal
from mixjt.cli.solved_case import chosen_fluid, starting_blend
from mixjt.studies.trial import built as named
from mixjt.studies.trial.built import BuiltMachine, departures
from mixjt.studies.trial.run import LOGS, Imposed, Stretched, run_on

HERE = Path(__file__).parent
CASE, LOG = HERE / "receiver-first-run.toml", HERE / "receiver-first-run.csv"
OTHER_MODEL = "nitrogen-less-soluble"
HIDDEN = {
    named.CONDUCTANCE: -0.12, named.LEAK: 0.04, named.FLOW: -0.05, named.EFFICIENCY: -0.03, named.AFTERCOOLER: 2.0,
    named.THROTTLE: 0.12, named.HELD_BACK: 0.3,
}  # fmt: skip
ICED = -0.5
ROOM = 295.15  # K
HEATERS = 12.0, 18.0, 6.0, 12.0  # W; the last with ice
FOLLOW, STAGE, REST, STEP = 300.0, 3600.0, 1800.0, 30.0  # s
COLD = np.linspace(294.0, 128.0, 15)  # K, of the cold end on the way down
OFFSETS = {"evaporator": 1.5}
NOISE = {"suction": 0.005, "discharge": 0.004, "power": 0.008, "current": 0.01}  # of themselves; temperatures:
COLD_NOISE, WARM_NOISE = 0.3, 0.2  # K
ATMOSPHERE = 0.82e5  # Pa
COLUMNS = {  # header, and from SI to what it shows
    "suction": ("p_low [bar g]", lambda p: f"{(p - ATMOSPHERE) / 1e5:.3f}"),
    "discharge": ("p_high [bar g]", lambda p: f"{(p - ATMOSPHERE) / 1e5:.2f}"),
    "discharge line": ("T discharge line [degC]", lambda t: f"{t - 273.15:.1f}"),
    "aftercooler outlet": ("T aftercooler [degC]", lambda t: f"{t - 273.15:.1f}"),
    "throttle inlet": ("T3 [degC]", lambda t: f"{t - 273.15:.1f}"),
    "evaporator": ("T4 [degC]", lambda t: f"{t - 273.15:.1f}"),
    "suction line": ("T suction line [degC]", lambda t: f"{t - 273.15:.1f}"),
    "power": ("P [W]", lambda watts: f"{watts:.0f}"),
    "current": ("I [A]", lambda amperes: f"{amperes:.2f}"),
}


def hidden_machine(model: str = OTHER_MODEL) -> tuple[BuiltMachine, tuple]:
    """The case's machine on another property model, and its departures."""
    case = read_case(CASE)
    fluid = chosen_fluid(model, starting_blend(case))
    built = BuiltMachine(fluid, fixed_machine(case, fluid, charged=True), cooldown_request(case).mass)
    return built, departures(built, {})


def theta_of(known, changes) -> np.ndarray:
    """Departures (k,) from those named."""
    return np.array([changes.get(one.name, 0.0) for one in known])


def story() -> list[dict]:
    """What the machine shows without noise: rows of time [s], heater [W] and readings by place."""
    built, known = hidden_machine()
    theta, rest = theta_of(known, HIDDEN), {}
    still = run_on(Stretched(built, known, theta, Imposed(ROOM, at_rest=True)))
    first = run_on(Stretched(built, known, theta, Imposed(ROOM, heater=HEATERS[0], cold=120.0)))
    rest = dict.fromkeys(first.shown, ROOM) | still.shown | {"power": -math.inf, "current": -math.inf}
    rows = [{"time": t, "heater": 0.0} | rest for t in np.arange(0.0, REST, STEP)]
    rows += _way_down(built, known, theta, rows[-1]["time"] + STEP)
    near = first
    for number, heater in enumerate(HEATERS):
        iced = theta + theta_of(known, {named.THROTTLE: ICED}) * (number == len(HEATERS) - 1)
        near = run_on(Stretched(built, known, iced, Imposed(ROOM, heater=heater, cold=120.0)), near)
        start, before = rows[-1]["time"] + STEP, rows[-1]
        for t in np.arange(0.0, STAGE, STEP):
            gone = 1.0 - math.exp(-(t + STEP) / FOLLOW)
            shown = {place: before[place] + gone * (value - before[place]) for place, value in near.shown.items()}
            rows.append({"time": start + t, "heater": heater} | shown)
    return rows


def _way_down(built: BuiltMachine, known, theta, start: float) -> list[dict]:
    """Quasi-steady, the copper of the recuperator with it, as `mixjt.studies.cooldown` does it."""
    times, shown, free = [start], [], replace(built, mass=None)
    before, settled, near = None, None, None
    for cold in COLD:
        metal = None
        if before is not None:
            copper = settled.recuperator.metal_temperature
            end = float(built.mass.end_capacity(cold)) * (before - cold)
            capacity = float(built.mass.recuperator_capacity(copper))
            metal = CooledMetal(0.0, end, capacity, copper, settled.recuperator.profile)
        stretch = Stretched(free, known, theta, Imposed(ROOM, rate=-1.0, cold=float(cold), metal=metal))
        near = run_on(stretch, near)
        settled = stretch.standing(near.unknowns).settled
        if before is not None:
            times.append(times[-1] + end / settled.cooling_power)
        shown.append(near.shown)
        before = cold
    at = np.arange(start, times[-1], STEP)
    return [
        {"time": t, "heater": 0.0} | {place: float(np.interp(t, times, [one[place] for one in shown])) for place in shown[0]}
        for t in at
    ]  # fmt: skip


def lines(rows, seed: int = 1) -> list[str]:
    """The log as a logger would write it."""
    random = np.random.default_rng(seed)
    found = [";".join(["time", *(header for header, _ in COLUMNS.values()), "T room [degC]", "heater [W]"])]
    for row in rows:
        seconds = int(row["time"])
        cells = [f"2026-10-03 {14 + seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"]
        for place, (_, written) in COLUMNS.items():
            if place in LOGS:
                value = math.exp(row[place]) * (1.0 + random.normal() * NOISE[place])
            else:
                value = row[place] + OFFSETS.get(place, 0.0)
                value += random.normal() * (WARM_NOISE if row[place] > 250.0 else COLD_NOISE)
            cells.append(written(value))
        cells += [f"{ROOM - 273.15 + random.normal() * 0.1:.1f}", f"{row['heater']:.1f}"]
        found.append(";".join(cells))
    return found


if __name__ == "__main__":
    if len(sys.argv) > 1:  # the story itself, for tests
        Path(sys.argv[1]).write_text(json.dumps(story()))
    else:
        LOG.write_text("# invented: the first run of the club's receiver\n" + "\n".join(lines(story())) + "\n")
