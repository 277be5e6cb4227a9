"""Which stretches of a log are held against the model, and what each imposed on the machine."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from mixjt.circuit.held_recuperator import CooledMetal
from mixjt.circuit.settled import settle_machine
from mixjt.errors import InputError, MixjtError
from mixjt.studies.trial.built import BuiltMachine
from mixjt.studies.trial.fit import Seen
from mixjt.studies.trial.log import BY_NAME
from mixjt.studies.trial.run import LOGS, Imposed, rest_doubt
from mixjt.studies.trial.stretches import AT_REST, COLD_END, COOLING, STEADY, Stretch

MOST_STEADY, MOST_AT_REST, ENOUGH_STEADY = 5, 2, 2
WARM = 5.0  # K below ambient, to which a cold end counts as warm
NOT_SHOWN = "voltage", "heater", "ambient"  # imposed on the machine, or no matter of it
# What a model that is right about the machine may be off from one stretch to the next: common practice, no source.
MISFITS = {"pressure": 0.015, "temperature": 1.0, "power": 0.015, "current": 0.015}  # of themselves but for temperatures [K]
MOVING = 3.0  # times that where the machine cools: a stretch is then quasi-steady at best
NO_RUN = "the log has no steady stretch, and none of an even cool-down, with the compressor running and anything read that the model tells"
NEVER_RUNS = "the compressor never runs in this log, as its power, current or pressures say: give a log of a run"


def compared(
    built: BuiltMachine, stretches: Sequence[Stretch], ambient: float, heater: float | None
) -> tuple[tuple[Seen, ...], list[str]]:
    """Stretches as a fit takes them, and what is said of those that are left out.

    Parameters
    ----------
    built : BuiltMachine
    stretches : sequence of Stretch
    ambient : float
        [K], where the log does not tell it.
    heater : float or None
        [W], where the log does not tell it.

    Raises
    ------
    InputError
        Where no stretch is left with the compressor running.
    """
    notes, found = [], []
    if heater is None and not any("heater" in one.mean for one in stretches):
        notes.append("no column has the watts of a heater, and [trial] states none: the cold end is taken as unheated")
    for number, one in enumerate(_chosen(built, stretches, ambient), 1):
        found.append(_seen(built, one, number, ambient, heater or 0.0))
    left = len(stretches) - len(found)
    if left:
        notes.append(f"{left} more stretches of the log are shown, but not compared")
    if stretches and all(one.kind == AT_REST for one in stretches):
        raise InputError(NEVER_RUNS)
    if all(one.imposed.at_rest or not one.measured for one in found):
        raise InputError(f"{NO_RUN}: log for longer without touching anything, or allow more drift in [trial]")
    return tuple(found), notes


def _chosen(built: BuiltMachine, stretches: Sequence[Stretch], ambient: float) -> list[Stretch]:
    """In order of time: the longest steady ones, at rest the first and the last that are warm, and one on the way down where few are steady."""
    resting = [one for one in stretches if one.kind == AT_REST and _all_warm(one, ambient)]
    kept = [] if built.machine.charge is None else [*resting[:1], *resting[1:][1 - MOST_AT_REST :]]
    steady = [one for one in stretches if one.kind == STEADY]
    kept += sorted(steady, key=lambda one: one.start - one.end)[:MOST_STEADY]
    if built.mass is not None and len(steady) < ENOUGH_STEADY:  # beside those it would only bring in what is quasi about it
        down = [one for one in stretches if one.kind == COOLING and not (steady and one.start > steady[0].start)]
        kept += down[len(down) // 2 :][:1]  # a machine that has just started, or nearly stands, tells least
    return sorted(kept, key=lambda one: one.start)


def _all_warm(one: Stretch, ambient: float) -> bool:
    cold = next((one.mean[name] for name in COLD_END if name in one.mean), None)
    return cold is None or cold > one.mean.get("ambient", ambient) - WARM


def _seen(built: BuiltMachine, one: Stretch, number: int, ambient: float, heater: float) -> Seen:
    cold = next((one.mean[name] for name in COLD_END if name in one.mean), None)
    room = one.mean.get("ambient", ambient)
    moving = one.kind == COOLING
    rate = next((one.slope[name] for name in COLD_END if name in one.slope), 0.0) if moving else 0.0
    imposed = Imposed(
        ambient=room,
        heater=one.mean.get("heater", heater),
        rate=rate,
        cold=cold or built.machine.circuit.cold_temperature,
        suction=one.mean.get("suction"),
        discharge=one.mean.get("discharge"),
        voltage=one.mean.get("voltage"),
        at_rest=one.kind == AT_REST,
    )
    if moving:
        imposed = replace(imposed, metal=_metal(built, imposed, one.end - one.start))
    left = _imposed_places(built, imposed.at_rest)
    places = [name for name in one.mean if name not in left and not (name in LOGS and one.mean[name] <= 0.0)]  # a meter at rest
    measured = {name: math.log(one.mean[name]) if name in LOGS else one.mean[name] for name in places}
    doubt = rest_doubt(built, room) / math.sqrt(3.0) if imposed.at_rest else 0.0  # anything between is as likely
    return Seen(f"{number}: {one.kind} from {one.start / 60.0:.0f} to {one.end / 60.0:.0f} min", imposed, measured,
                {name: math.hypot(_noise(one, name, moving), doubt) for name in places})  # fmt: skip


def _imposed_places(built: BuiltMachine, at_rest: bool) -> tuple[str, ...]:
    """What a machine is not asked for: without a charge or a capillary it is held at the pressures measured."""
    machine = built.machine
    held = [("suction", machine.charge is None), ("discharge", machine.tube is None and not at_rest)]
    return (*NOT_SHOWN, *(place for place, is_held in held if is_held))


def _noise(one: Stretch, name: str, moving: bool) -> float:
    """Standard error of the mean and what a good model is off; sensors' offsets are departures of their own."""
    scatter = one.scatter[name] if math.isfinite(one.scatter[name]) else 0.0
    scatter /= math.sqrt(max(one.count[name], 1)) * (one.mean[name] if name in LOGS else 1.0)
    return math.hypot(scatter, MISFITS[BY_NAME[name].kind] * (MOVING if moving else 1.0))


def _metal(built: BuiltMachine, imposed: Imposed, duration: float) -> CooledMetal | None:
    """What cools on a stretch down, from the recuperator as the machine of the case has it at the stretch's start."""
    change = -imposed.rate * duration
    start = imposed.cold + 0.5 * change
    circuit = replace(built.machine.circuit, ambient_temperature=imposed.ambient)
    try:
        before = settle_machine(built.fluid, replace(built.machine, circuit=circuit), min(start, circuit.warm_temperature))
    except MixjtError:
        return None
    copper = before.recuperator.profile.mean_temperature
    end_heat = max(float(built.mass.end_capacity(imposed.cold)) * change, 1.0)
    return CooledMetal(
        imposed.heater, end_heat, float(built.mass.recuperator_capacity(copper)), copper, before.recuperator.profile
    )


def sensor_errors(seen: Sequence[Seen], errors: Mapping[str, float]) -> dict[str, float]:
    """Standard deviations of the sensors of all places that were read, relative but for temperatures."""
    found = {}
    for one in seen:
        for name, value in one.measured.items():
            found.setdefault(name, []).append(errors[name] / math.exp(value) if name in LOGS else errors[name])
    return {name: float(np.mean(each)) for name, each in found.items()}
