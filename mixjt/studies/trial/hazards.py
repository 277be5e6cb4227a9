"""What a run of the machine has shown to be dangerous for it or for whoever stands beside it; told before all else."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import SimpleNamespace

import numpy as np

from mixjt.parts.compressor.limits import known_limits, unknown_current
from mixjt.studies.trial.causes import STRONG, WORTH_A_LOOK
from mixjt.studies.trial.readout import standing
from mixjt.studies.trial.stretches import AT_REST, Stretch
from mixjt.studies.trial.trial import Trial
from mixjt.units import apart

AT_ONCE = {"liquid at suction": STRONG, "air in the circuit": WORTH_A_LOOK}  # and the score from which on each counts
READ = {  # attributes of a compression, and places where they are read
    "discharge_temperature": "discharge line", "supply_current": "current", "electrical_power": "power",
    "suction_pressure": "suction",
}  # fmt: skip


def hazards(found: Trial, largest_pressure: float | None) -> list[str]:
    """Sentences; largest_pressure is the lowest rating of the machine's parts [Pa], if it is known."""
    dangerous = [one for one in standing(found) if one.score >= AT_ONCE.get(one.name, math.inf)]
    said = [f"{one.name}: {'; '.join(one.evidence_for) or 'the readings point to it'}. {one.kind.next_step}" for one in dangerous]
    return [*said, *_limits(found), *(_at_rest(found, largest_pressure) or _running(found, largest_pressure))]


def _limits(found: Trial) -> list[str]:
    """The limits of the compressor that readings pass, or what nobody reads of the fitted machine; the worst of each."""
    compressor = found.built.machine.circuit.compressor
    seen = [(_read(one.mean), f"read in the stretch from {one.start / 60.0:.0f} to {one.end / 60.0:.0f} min")
            for one in found.stretches if one.kind != AT_REST]  # fmt: skip
    hottest = found.log.readings.get(READ["discharge_temperature"])
    if hottest is not None and np.isfinite(hottest).any():
        at = int(np.nanargmax(hottest))
        seen.append(({"discharge_temperature": float(hottest[at])}, f"read after {found.log.times[at] / 60.0:.0f} min"))
    valves = [one.compression.valve_temperature for one in found.settled if one is not None]
    seen.append(({"valve_temperature": max(valves)}, "by the fitted machine"))
    said = []
    for limit in known_limits(compressor):
        known = [(SimpleNamespace(**values), where) for values, where in seen if limit.attribute in values]
        worst = min(known, key=lambda one: limit.kept(one[0], compressor), default=None)
        if worst is not None and limit.kept(worst[0], compressor) < 0.0:
            said.append(f"{limit.sentence(worst[0], compressor)} ({worst[1]})")
    return [*said, *unknown_current(compressor)]


def _read(mean: Mapping[str, float]) -> dict[str, float]:
    values = {attribute: mean[place] for attribute, place in READ.items() if place in mean}
    if "suction" in mean and "discharge" in mean:
        values["pressure_ratio"] = mean["discharge"] / mean["suction"]
    return values


def _at_rest(found: Trial, rating: float | None) -> list[str]:
    """Pressures at rest above the rating of a part."""
    resting = [one for one in found.stretches if one.kind == AT_REST]
    highest = max((max(_pressures(one), default=0.0) for one in resting), default=0.0)
    if rating is None or highest <= rating:
        return []
    high, most = apart(highest, rating, "pressure")
    return [f"the charge at rest stood at {high}, above the {most} that the weakest part is rated for: charge less, as local codes allow, or add volume"]


def _running(found: Trial, rating: float | None) -> list[str]:
    """A suction pressure above the rating of a part, which a running machine may reach as it starts or warms."""
    suction = found.log.readings.get("suction")
    if rating is None or suction is None or not np.nanmax(suction, initial=0.0) > rating:
        return []
    at = int(np.nanargmax(suction))
    high, most = apart(float(suction[at]), rating, "pressure")
    return [
        f"the suction side stood at {high} after {found.log.times[at] / 60.0:.0f} min, above the {most} that the weakest part is "
        "rated for: charge less, as local codes allow, or add volume"
    ]


def _pressures(one: Stretch) -> list[float]:
    return [one.mean[place] for place in ("suction", "discharge") if place in one.mean]
