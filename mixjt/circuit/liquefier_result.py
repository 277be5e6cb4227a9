"""What a solved liquefier consists of. SI units; molar quantities per mole of what their name says."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixjt.bounds import require, require_fields
from mixjt.circuit.result import CircuitResult
from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.keys import TEXT, YES_NO, key
from mixjt.parts.places import FLASH_VAPOUR, PRODUCT

DAY = 86400.0  # s
KILOWATT_HOUR = 3.6e6  # J


@dataclass(frozen=True)
class FeedPassage:
    """How the feed runs through the machine.

    Parameters
    ----------
    pressure, temperature : float
        At the recuperator's inlet [Pa, K].
    approach : float
        The feed leaves the evaporator this much above the cold end's temperature [K].
    pressure_drop : float
        Between inlet and the feed's throttle [Pa].
    product_pressure, supply_pressure : float
        Of the liquid, and of the gas that the feed compressor takes in [Pa].
    recover_flash : bool
        Whether the flash vapour returns through the recuperator instead of being vented cold.
    isothermal_efficiency : float
        Least isothermal work over electrical work of the feed's compressor. The default is that of a small
        oil-free piston compressor (common practice, no source).

    Raises
    ------
    InputError
        For values that no passage can have.
    """

    pressure: float = key(
        "pressure", "the gas to be liquefied where it enters the recuperator", at="feed_pressure", within="[1e5, 2e7]"
    )
    temperature: float = key(
        "temperature", "of the feed at the recuperator", at="feed_temperature", within="[200, 350]",
        otherwise="the ambient temperature",
    )
    approach: float = key(
        "temperature_difference", "the liquid feed leaves the evaporator this much above the cold end", default=2.0,
        within="[0, 30]",
    )
    pressure_drop: float = key(
        "pressure_difference", "loss of the feed on its way to its throttle", default=0.0, within="[0, 1e7]"
    )
    product_pressure: float = key(
        "pressure", "of the liquid drawn off", default=ATMOSPHERE, within="[5e4, 2e6]"
    )
    supply_pressure: float = ATMOSPHERE
    recover_flash: bool = key(
        TEXT, "whether flash vapour returns through the recuperator or is vented", default=False, choices=YES_NO
    )
    isothermal_efficiency: float = key(
        "fraction", "least isothermal work of the feed's compressor over its electrical work",
        at="compressor_efficiency", default=0.4, within="(0, 1]",
    )

    def __post_init__(self):
        stated = ("pressure", "temperature", "product_pressure", "supply_pressure")
        require_fields(self, "feed", stated, above=0.0)
        require_fields(self, "feed", ("approach", "pressure_drop"), least=0.0)
        require("the feed compressor's efficiency", self.isothermal_efficiency, above=0.0, most=1.0)
        if not self.throttle_pressure > self.product_pressure:
            raise InputError(
                f"the feed reaches its throttle at {self.throttle_pressure / 1e5:.4g} bar, not above the product's "
                f"{self.product_pressure / 1e5:.4g} bar"
            )

    @property
    def throttle_pressure(self) -> float:
        """Of the feed's throttle inlet [Pa]."""
        return self.pressure - self.pressure_drop


@dataclass(frozen=True)
class LiquefierResult(CircuitResult):
    """A throttle circuit solved for the greatest feed it liquefies.

    The fields of `CircuitResult` describe the blend's circuit: cooling_capacity is all the heat that the
    circuit takes from feed and load, carnot_fraction the exergy of product and load over the electrical work
    of both compressors. feed_points maps the names of `mixjt.parts.places` to states of the feed. feed_ratio is in
    moles of feed per mole of blend; product_fraction and flash_fraction in mol per mole of feed; load in W.
    feed_work is electrical, J per mole of feed; product_least_work in J per mole of product; loss_duty [W] is
    the cold that leaves with vented flash vapour, counted from the supply gas in the room.
    """

    feed_gas: Fluid | None = None
    passage: FeedPassage | None = None
    feed_points: dict[str, State] = field(default_factory=dict)
    feed_ratio: float = 0.0
    load: float = 0.0
    evaporator_duty: float = 0.0  # W
    product_fraction: float = 0.0
    flash_fraction: float = 0.0
    feed_work: float = 0.0
    product_least_work: float = 0.0
    loss_duty: float = 0.0
    feed_bubble_point: float | None = None  # K, at the feed's throttle
    feed_dew_point: float | None = None
    product_bubble_point: float | None = None  # K, of the whole feed at product pressure
    product_dew_point: float | None = None

    @property
    def feed_flow(self) -> float:
        """[mol/s]"""
        return self.feed_ratio * self.molar_flow

    @property
    def product_flow(self) -> float:
        """[mol/s]"""
        return self.feed_flow * self.product_fraction

    @property
    def product_molar_mass(self) -> float:
        """[kg/mol]"""
        return self.feed_gas.of(self.feed_points[PRODUCT].composition).molar_mass

    @property
    def product_density(self) -> float:
        """[kg/m3]"""
        return self.product_molar_mass / self.feed_points[PRODUCT].molar_volume

    @property
    def mass_rate(self) -> float:
        """Of the product [kg/s]."""
        return self.product_flow * self.product_molar_mass

    @property
    def volume_rate(self) -> float:
        """Of the product [m3/s]."""
        return self.product_flow * self.feed_points[PRODUCT].molar_volume

    @property
    def vented_mass_rate(self) -> float:
        """Of flash vapour [kg/s]."""
        if self.flash_fraction == 0.0:
            return 0.0
        vapour = self.feed_gas.of(self.feed_points[FLASH_VAPOUR].composition)
        return self.feed_flow * self.flash_fraction * vapour.molar_mass

    @property
    def feed_power(self) -> float:
        """Electrical power of the feed's compressor [W]."""
        return self.feed_work * self.feed_flow

    @property
    def total_power(self) -> float:
        """Electrical power of both compressors [W]."""
        return self.compressor_power + self.feed_power

    def oxygen(self, place: str) -> float | None:
        """Mole fraction of oxygen of the feed at a place; None where there is no such stream."""
        state = self.feed_points.get(place)
        return None if state is None else self.feed_gas.of(state.composition).fraction("oxygen")
