"""What a comparison of roads is asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.cascade.cascade_records import NOTHING
from mixjt.cascade.design import CascadeRequest
from mixjt.circuit.layouts.precooled import PrecooledCircuit
from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.constants import ZERO_CELSIUS
from mixjt.errors import InputError
from mixjt.keys import TEXT, WHOLE, key
from mixjt.studies.at_rest import StandstillRequest
from mixjt.studies.compare.roads import DEFAULT_EFFORT, DEFAULT_ROADS, EFFORTS, ROADS, Effort
from mixjt.studies.search.charge_limit import ChargeConstraint
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.search_request import COP, SearchRequest

WARMEST = ZERO_CELSIUS - 40.0  # K, where load lines begin
COLDEST = 60.0  # K; no property model of blends is tried below


@dataclass(frozen=True)
class CompareRequest:
    """One load at one temperature, and the machines that may carry it.

    Parameters
    ----------
    load : float
        [W]
    search : SearchRequest, optional
        Of the plain circuit; None where there is nothing to blend.
    precooled : tuple of PrecooledCircuit
        What to try, with a warm recuperator section and without; their precooler unlimited: it grows with the
        machine.
    precooling_temperatures : (float, float)
        Lowest and highest to try [K]; equal where one is stated.
    precooler_capacity : float
        Heat that a precooler at hand takes up at the stated temperature [W]; infinite without a limit.
    precooler_speed : float, optional
        Of its compressor [rev/s].
    conductance : float, optional
        Of the recuperators that all roads are compared with beside their approach [W/K]; by default the least of them.
    separator : SeparatorCircuit, optional
    cascade : CascadeRequest
        Its number of stages does not count.
    standstill : StandstillRequest, optional
        Of the throttle circuits.
    roads : tuple of str
        Of `ROADS`.
    warmest, coldest : float or None
        Ends of the load line [K]; without coldest, as cold as any of the bottles boils.
    steps : int
        Temperatures of the load line; 0 for none.
    effort : Effort

    Raises
    ------
    InputError
    """

    load: float
    search: SearchRequest | None
    precooled: tuple[PrecooledCircuit, ...]
    precooling_temperatures: tuple[float, float]
    separator: SeparatorCircuit | None
    cascade: CascadeRequest
    precooler_capacity: float = float("inf")
    precooler_speed: float | None = None
    conductance: float | None = None
    standstill: StandstillRequest | None = None
    roads: tuple[str, ...] = key(
        TEXT, "what to compare: throttle circuits and cascades of so many stages", default=DEFAULT_ROADS,
        choices=ROADS, many=True,
    )
    warmest: float = key("temperature", "where the load line begins", default=WARMEST, within="[150, 300]")
    coldest: float | None = key(
        "temperature", "where it ends", default=None, within="[60, 300]", otherwise="where the lightest gas boils"
    )
    steps: int = key(WHOLE, "temperatures of the load line; 0 for none", default=9, within="[0, 60]")
    effort: Effort = key(
        TEXT, "how thoroughly blends and fluids are looked for, at the cold end and along the load line",
        default=EFFORTS[DEFAULT_EFFORT], choices=EFFORTS,
    )

    def __post_init__(self):
        if not self.load > 0.0:
            raise InputError(f"a comparison needs a load above 0 W, got {self.load}")
        if not self.roads:
            raise InputError("a comparison needs at least one road")
        unknown = [road for road in self.roads if road not in ROADS]
        if unknown:
            raise InputError(f"there is no road {unknown[0]!r}; choose of {', '.join(ROADS)}")
        if self.coldest is not None and not self.coldest < self.warmest:
            raise InputError(f"the load line cannot go from {self.warmest:.5g} K down to {self.coldest:.5g} K")
        if not self.warmest < self.ambient:
            raise InputError(
                f"the load line begins at {self.warmest:.5g} K, which is not below the ambient {self.ambient:.5g} K"
            )

    @property
    def cold_leak(self) -> float:
        """Heat that the cold end takes up besides the load [W], on every road that of a cascade's coldest stage."""
        return self.cascade.cascade.heat_leaks[0]

    @property
    def coldest_suction(self) -> float:
        """Coldest gas that a compressor may draw in [K], on every road as in a cascade."""
        cascade = self.cascade.cascade
        free = cascade.suction_warming == NOTHING or cascade.suction_temperature is None
        return 0.0 if free else cascade.suction_temperature

    @property
    def ambient(self) -> float:
        """[K]"""
        return self.cascade.cascade.ambient_temperature

    @property
    def cold_temperature(self) -> float:
        """Of the load [K]."""
        return self.cascade.cascade.cold_temperature

    def blends_at(
        self, temperature: float, circuit: ThrottleCircuit | None = None, allowance: float = 0.0
    ) -> SearchRequest:
        """What the search is asked for, for the least power at another cold end [K].

        circuit is that of another kind, by default the plain one. allowance [K] is what a search keeps from freezing
        besides. A blend that freezes does not count as reached,
        whether the search states a freezing margin or not.
        """
        plain = replace(self.search.circuit, cold_temperature=temperature)
        constraints = self.search.constraints
        if isinstance(circuit, SeparatorCircuit):  # whose inventory is not known
            constraints = tuple(item for item in constraints if not isinstance(item, ChargeConstraint))
        if not any(isinstance(item, FreezingConstraint) for item in constraints):
            constraints = (*constraints, FreezingConstraint(plain, 0.0))
        return replace(
            self.search,
            circuit=plain if circuit is None else replace(circuit, cold_temperature=temperature),
            ambient_range=self.search.ambient_range if type(circuit or plain) is ThrottleCircuit else None,
            objective=COP,
            constraints=tuple(
                replace(item, circuit=plain, **({"allowance": allowance} if isinstance(item, FreezingConstraint) else {}))
                for item in constraints
            ),
        )
