"""How far two property models are apart on the cooling of a blend.

Both models find the greatest cooling on the same grid of temperatures, so that what the grid misses
drops out of the comparison.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import circuit_of, grid_cooling
from mixjt.errors import MixjtError, UnreachableError
from mixjt.interrupt import keeping
from mixjt.properties.band import Band, cooling_band
from mixjt.properties.records import PropertyModel

POINTS = 96
INTERRUPTED = "the check was interrupted"


@dataclass(frozen=True)
class Agreement:
    """The cooling capacity by another model, relative to the result's own: 0.02 is 2 % more.

    difference is None where the other model has no answer, obstacle says why; unreachable is true where by that model
    the circuit does not cool at all. band is how far two property models lie apart on such blends, notes what weakens
    the reference model for this blend.
    """

    other: str
    difference: float | None
    obstacle: str = ""
    band: Band | None = None
    notes: tuple[str, ...] = ()
    unreachable: bool = False

    @property
    def sentence(self) -> str:
        """What the other model says, in words."""
        if self.unreachable:
            return f"by the {self.other} model this does not work at all ({self.obstacle}): do not build on it"
        if self.difference is None:
            return f"the {self.other} model could not check this: {self.obstacle}"
        direction = "more" if self.difference >= 0.0 else "less"
        return f"the {self.other} model finds {_percent(self.difference)} {direction} cooling"

    @property
    def warnings(self) -> tuple[str, ...]:
        """A warning where the models are too far apart to be trusted, or the check failed."""
        if self.difference is None:
            return (*self.notes, self.sentence)
        if self._is_far:
            return (*self.notes, f"{self.sentence}, more than models usually lie apart: trust neither far")
        return self.notes

    @property
    def _is_far(self) -> bool:
        """Whether the two models are further apart than on nine of ten such blends."""
        return self.difference is not None and self.band is not None and abs(self.difference) >= self.band.fraction

    @property
    def band_sentence(self) -> str:
        """The band in words; empty where there is none."""
        if self.band is None or self.unreachable:
            return ""
        spread = _percent(self.band.fraction)
        if self._is_far:
            return f"two property models disagree by {spread} here, a machine's own errors aside: {self.band.basis}"
        return f"property models agree within about {spread}, a machine's own errors aside: {self.band.basis}"


def _percent(fraction: float) -> str:
    """Two digits below 10 %, whole numbers above."""
    value = 100.0 * abs(fraction)
    return f"{value:.2g} %" if value < 10.0 else f"{value:.0f} %"


def agreements(
    model: PropertyModel,
    other: PropertyModel,
    results: Sequence[CircuitResult],
    circuits: Sequence[ThrottleCircuit],
) -> tuple[Agreement, ...]:
    """Compare results, one to one with the circuits they solve, between two models of the same gases.

    An interruption (Ctrl-C) leaves the remaining results unchecked and loses none of them.
    """
    found: list[Agreement] = []
    pairs = list(zip(results, circuits, strict=True))
    with keeping():
        for pair in pairs:
            found.append(_agreement(model, other, *pair))
    return (*found, *unchecked(other.name, len(pairs) - len(found)))


def unchecked(other: str, count: int) -> tuple[Agreement, ...]:
    """What stands beside results whose check by the other model was interrupted."""
    return (Agreement(other, None, INTERRUPTED),) * count


def _agreement(model, other, result: CircuitResult, circuit: ThrottleCircuit) -> Agreement:
    difference, obstacle, unreachable = _difference(model, other, result, circuit)
    z, coldest = result.composition, circuit.cold_temperature
    reference = next((each for each in (model, other) if hasattr(each, "soundness")), None)
    notes = () if reference is None else reference.warnings(z, coldest)
    band = cooling_band(model.name, model.gases, z, coldest, difference)
    return Agreement(other.name, difference, obstacle, band, tuple(notes), unreachable)


def _difference(model, other, result: CircuitResult, circuit: ThrottleCircuit) -> tuple[float | None, str, bool]:
    """The other model's cooling relative to the first one's; or None, why, and whether by it nothing is cooled."""
    try:
        own, its = (
            grid_cooling(each, result.composition, circuit_of(result, circuit), POINTS) for each in (model, other)
        )
    except UnreachableError as error:
        return None, str(error), True
    except MixjtError as error:
        return None, str(error), False
    if not (math.isfinite(own) and math.isfinite(its) and own > 0.0):
        return None, "it has no answer for this blend", False
    if its <= 0.0:
        return None, "no cooling is left at the pinch", True
    return its / own - 1.0, "", False
