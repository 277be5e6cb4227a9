"""What a blend search is asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import comb
from typing import Protocol

import numpy as np

from mixjt.blend import Ingredient, composition_matrix, refuse_oxygen_with_fuel
from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.errors import InputError
from mixjt.keys import TEXT, WHOLE, key
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.compressor.limits import Limit, known_limits
from mixjt.studies.search.charge_limit import ChargeConstraint

COOLING_POWER = "cooling power"
COP = "cop"
COOLING_PER_CONDUCTANCE = "cooling per conductance"
POWER_AT_LOAD = "power at the load"
OBJECTIVES = (COOLING_POWER, COP, COOLING_PER_CONDUCTANCE, POWER_AT_LOAD)
LEAST = (POWER_AT_LOAD,)  # of which the least is best

SAMPLES_OF_A_SET, MOST_SAMPLES = 40, 1024  # blends of the space-filling start, unless the case says otherwise
SHORTLIST = 8  # blends polished and solved in full
ROUNDING = 1e-9
NEARLY_TOUCHING = 0.5  # K


def aim(objective: str) -> str:
    """For instance "greatest cooling power"."""
    return f"{'least' if objective in LEAST else 'greatest'} {objective}"


@dataclass(frozen=True)
class Bottle:
    """What can be bought: a gas or a mixture used as one item, with its bounds in a blend [mol/mol].

    A least above zero puts the ingredient into every blend. as_vapour and gross_mass [kg] are how it is charged.
    """

    ingredient: Ingredient
    least: float = key("fraction", "the least mole fraction in a blend", default=0.0, within="[0, 1]")
    most: float = key("fraction", "the greatest mole fraction in a blend", default=1.0, within="[0, 1]")
    as_vapour: bool = key(
        TEXT, "how it is drawn where it holds liquid", at="drawn", default=False, choices={"liquid": False, "vapour": True}
    )
    gross_mass: float | None = key(
        "mass", "of the full bottle with its valve, against the scale's largest load", default=None, within="(0, 200]",
        otherwise="15 kg above a vapour pressure of 15 bar, else 1 kg",
    )


class Constraint(Protocol):
    """A further condition that blends must meet, evaluated for many at once.

    name says what must hold, for instance "freezing margin"; unit is that of the margin; step is a
    margin worth about as much as one kelvin of superheat, and scales the search's penalty.
    """

    name: str
    unit: str
    step: float

    def columns(self, model) -> int:
        """How many margins there are, each of them smooth in the blend."""

    def margins(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Margins (n, columns) of blends z (n, c) at pressures (n,) [Pa] and cooling (n,) [J/mol], perhaps roughly.

        The condition holds where all are >= 0.
        """

    def solved_margin(self, result: CircuitResult) -> float:
        """The least of them of a circuit solved in full."""


@dataclass(frozen=True)
class SearchRequest:
    """A machine, what can be bought, and what the best blend is to be best at.

    Parameters
    ----------
    circuit : ThrottleCircuit
        The machine, with the cold temperature aimed at; its pressures hold where no range is given.
    bottles : sequence of Bottle
        Or of anything with ingredient, least and most.
    objective : str
        "cooling power" [W], "cop", "cooling per conductance" [K], which means cooling power over the recuperator's UA,
        or "power at the load" [W]: the least electrical power of blends whose cooling power carries the load.
    largest_number_of_gases : int
        Bottles in one blend; a mixture that is bought as such counts once.
    smallest_fraction : float
        Of a bottle that is present at all [mol/mol].
    suction_superheat : float
        Least temperature of the compressor inlet above the dew point [K].
    largest_discharge_temperature : float or None
        [K]; the compressor's own limit holds in any case.
    suction_pressure_range, discharge_pressure_range : (float, float) or None
        Lowest and highest to try [Pa].
    samples : int or None
        Blends of the space-filling start.
    seed : int
    shortlist : int or None
        Blends solved in full, besides the best for each number of gases.
    constraints : sequence of Constraint
    load : float or None
        [W]; counts for the objective "power at the load" alone, which needs it.

    ambient_range : (float, float) or None
        Coldest and hottest ambient [K]: blends keep every condition at both and are ranked by the worse of them; batches
        are ranked at the hottest. Without it, the circuit's alone.

    Raises
    ------
    InputError
        For a request that contradicts itself, and for bottles of oxygen beside bottles of a gas that burns.
    """

    circuit: ThrottleCircuit
    bottles: tuple[Bottle, ...]
    objective: str = key(TEXT, "what to make greatest, of \"power at the load\" least", default=COOLING_POWER, choices=OBJECTIVES)
    largest_number_of_gases: int = key(WHOLE, "gases or bottles in one blend", default=5, within="[1, 20]")
    smallest_fraction: float = key(
        "fraction", "the least mole fraction of a gas that is present", default=0.01, within="[0, 0.5]"
    )
    suction_superheat: float = key(
        "temperature_difference", "the least superheat at the compressor inlet", default=5.0, within="[0, 200]"
    )
    largest_discharge_temperature: float | None = key(
        "temperature", "a stricter limit than the compressor's own", default=None, within="[300, 450]",
        otherwise="the compressor's",
    )
    suction_pressure_range: tuple[float, float] | None = key(
        "pressure", "lowest and highest suction pressure to try", default=None, within="[1e3, 1e7]", span=True,
        otherwise="as in [circuit]",
    )
    discharge_pressure_range: tuple[float, float] | None = key(
        "pressure", "lowest and highest discharge pressure to try", default=None, within="[1e3, 1e7]", span=True,
        otherwise="as in [circuit]",
    )
    samples: int | None = key(
        WHOLE, "blends of the space-filling start", default=None, within="[1, 1000000]", otherwise="by the search"
    )
    seed: int = key(
        WHOLE, "start of the random numbers: the same seed gives the same answer", default=1, within="[0, 4294967295]"
    )
    shortlist: int | None = key(
        WHOLE, "blends polished and solved in full", default=None, within="[1, 1000]", otherwise="by the search"
    )
    constraints: tuple[Constraint, ...] = ()
    load: float | None = None
    ambient_range: tuple[float, float] | None = None

    def __post_init__(self):
        for name in ("bottles", "constraints"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        sets = sum(comb(len(self.bottles), count) for count in self.counts)
        for name, default in (("samples", min(SAMPLES_OF_A_SET * sets, MOST_SAMPLES)), ("shortlist", SHORTLIST)):
            if getattr(self, name) is None:
                object.__setattr__(self, name, default)
        self._check_choices()
        self._check_pressures()
        self._check_bounds()

    @property
    def swept(self) -> ThrottleCircuit:
        """The circuit as its sides are swept: those of a recuperator of stated conductance down to where they nearly touch."""
        if self.circuit.recuperator_conductance is None or isinstance(self.circuit, SeparatorCircuit):
            return self.circuit  # two sections with streams of two compositions: swept at the approach of a solved blend
        return replace(self.circuit, recuperator_approach=NEARLY_TOUCHING)

    @property
    def gases(self) -> tuple[str, ...]:
        """All gases that the bottles hold; the property model must know them."""
        return composition_matrix([bottle.ingredient for bottle in self.bottles])[0]

    @property
    def carries_load(self) -> bool:
        """Whether blends must carry the load."""
        return self.objective == POWER_AT_LOAD

    @property
    def ambients(self) -> tuple[float, ...]:
        """At which blends are solved in full [K], coldest first."""
        return self.ambient_range or (self.circuit.ambient_temperature,)

    @property
    def at_hottest(self) -> SearchRequest:
        """The same with the circuit in the hottest ambient."""
        return replace(self, circuit=replace(self.circuit, ambient_temperature=self.ambients[-1]))

    @property
    def names(self) -> tuple[str, ...]:
        """The bottles' names."""
        return tuple(bottle.ingredient.name for bottle in self.bottles)

    @property
    def required(self) -> np.ndarray:
        """Which bottles must be in every blend, shape (n,)."""
        return np.array([bottle.least > 0.0 for bottle in self.bottles])

    @property
    def lowest(self) -> np.ndarray:
        """Least fraction of each bottle where it is present, shape (n,)."""
        return np.array([max(bottle.least, self.smallest_fraction) for bottle in self.bottles])

    @property
    def highest(self) -> np.ndarray:
        """Greatest fraction of each bottle, shape (n,)."""
        return np.array([min(bottle.most, 1.0) for bottle in self.bottles])

    @property
    def counts(self) -> range:
        """Numbers of bottles to look at: from two, or from what is required, up to the largest."""
        most = min(self.largest_number_of_gases, len(self.bottles))
        return range(min(max(2, int(self.required.sum())), most), most + 1)

    @property
    def pressure_ranges(self) -> np.ndarray:
        """Lowest and highest suction and discharge pressure [Pa], shape (2, 2)."""
        suction = self.suction_pressure_range or (self.circuit.suction_pressure,) * 2
        discharge = self.discharge_pressure_range or (self.circuit.discharge_pressure,) * 2
        return np.array([suction, discharge], dtype=float)

    @property
    def compressor(self) -> Compressor:
        """The circuit's, with the stricter of the two limits of the discharge temperature."""
        own = self.circuit.compressor
        strictest = min(own.largest_discharge_temperature, self.largest_discharge_temperature or np.inf)
        return replace(own, largest_discharge_temperature=strictest)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The compressor's limits that a search can do something about: all but those of pressures it may not change."""
        free = dict(zip(("suction", "discharge"), np.diff(self.pressure_ranges, axis=1)[:, 0] > 0.0, strict=True))
        return tuple(
            limit
            for limit in known_limits(self.circuit.compressor)
            if not limit.set_by or any(free[pressure] for pressure in limit.set_by)
        )

    def possible(self, present: np.ndarray) -> bool:
        """Whether fractions within the bounds can add up to 1 when exactly these bottles are present."""
        least, most = self.lowest[present].sum(), self.highest[present].sum()
        return bool(np.all(present[self.required])) and least <= 1.0 + ROUNDING and most >= 1.0 - ROUNDING

    def _check_choices(self):
        if self.objective not in OBJECTIVES:
            raise InputError(f"cannot search for {self.objective!r}; choose one of {', '.join(OBJECTIVES)}")
        if self.objective == COOLING_PER_CONDUCTANCE and not self.circuit.recuperator_approach > 0.0:
            raise InputError(
                "cooling per conductance needs a recuperator approach above zero: at zero every recuperator "
                "is infinitely large"
            )
        if self.carries_load and not (self.load or 0.0) > 0.0:
            raise InputError(f'"{POWER_AT_LOAD}" needs a load above 0 W: state load in [cold_end]')
        for name, least in (("largest_number_of_gases", 1), ("samples", 1), ("shortlist", 1), ("seed", 0)):
            if getattr(self, name) < least:
                raise InputError(f"{name} must be at least {least}, got {getattr(self, name)}")
        if self.ambient_range is not None:
            self._check_ambients(*self.ambient_range)
        if isinstance(self.circuit, SeparatorCircuit) and any(isinstance(item, ChargeConstraint) for item in self.constraints):
            raise InputError(
                "what a circuit with a phase separator holds is not known here: leave out largest_standing_pressure and largest_charge"
            )
        if not self.suction_superheat >= 0.0:
            raise InputError(f"suction_superheat must be at least 0 K, got {self.suction_superheat}")

    def _check_ambients(self, coldest: float, hottest: float):
        if type(self.circuit) is not ThrottleCircuit:
            raise InputError("a range of ambient temperatures is known to the plain circuit only; leave out temperature_range")
        if not coldest <= self.circuit.ambient_temperature <= hottest:
            raise InputError(
                f"the ambient of {self.circuit.ambient_temperature:.5g} K is not within its range of {coldest:.5g} to "
                f"{hottest:.5g} K"
            )
        replace(self.circuit, ambient_temperature=coldest)  # which refuses one without a recuperator

    def _check_pressures(self):
        ranges = self.pressure_ranges
        if not (np.all(np.isfinite(ranges)) and np.all(ranges > 0.0) and np.all(ranges[:, 0] <= ranges[:, 1])):
            raise InputError("a pressure range needs a lowest pressure above 0 and not above the highest")
        drops = self.circuit.aftercooler_drop + self.circuit.high_side_drop + self.circuit.low_side_drop
        if not ranges[1, 0] - drops > ranges[0, 1]:
            raise InputError(
                f"the lowest discharge pressure to try, {ranges[1, 0] / 1e5:.4g} bar, less the pressure drops, "
                f"is not above the highest suction pressure, {ranges[0, 1] / 1e5:.4g} bar"
            )

    def _check_bounds(self):
        if not 0.0 <= self.smallest_fraction < 1.0:
            raise InputError(f"smallest_fraction must be at least 0 and below 1, got {self.smallest_fraction}")
        refuse_oxygen_with_fuel(self.gases)
        for bottle in self.bottles:
            if not 0.0 <= bottle.least <= bottle.most <= 1.0:
                raise InputError(
                    f"{bottle.ingredient.name}: fractions from {bottle.least:g} to {bottle.most:g} make no sense; "
                    "they need 0 <= least <= most <= 1"
                )
        required, most = int(self.required.sum()), self.counts[-1]
        if required > most:
            raise InputError(f"{required} bottles have a least fraction above zero, but a blend takes {most}")
        least = self.lowest[self.required].sum()
        if least > 1.0 + ROUNDING:
            raise InputError(f"the least fractions of the bottles add up to {least:.4g}, above 1")
        free = np.sort(self.highest[~self.required])[::-1][: most - required]
        reach = self.highest[self.required].sum() + free.sum()
        if reach < 1.0 - ROUNDING:
            raise InputError(
                f"the greatest fractions of the bottles reach only {reach:.4g} with {most} of them; allow more "
                "bottles or greater fractions"
            )
