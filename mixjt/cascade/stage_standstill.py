"""What a stage's fluid does in its closed volume when everything has warmed up.

The volume V holds the mass m at one temperature: the pressure follows from the density m/V on the equation of
state, one phase or two. A fluid below its critical temperature cannot exceed its vapour pressure unless liquid
fills the whole volume; one above it can reach anything.

An expansion vessel of volume W joins the low side, where it holds gas at suction pressure and ambient
temperature while the stage runs. That gas adds to the charge, so at standstill

    m + W rho(T0, p_suction) = (V + W) rho(T, p_limit)

    W = (m - V rho_limit) / (rho_limit - rho_suction)

Where no charge is stated it is estimated from what is filled while running: liquid_volume with liquid of the
condenser outlet, the rest with gas, half of it at suction and half at discharge density (an estimate, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.bounds import require_fields
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.standstill import buffer_volume
from mixjt.keys import key
from mixjt.parts import places as place
from mixjt.parts.stage_fluid import StageFluid
from mixjt.parts.vapour_stage import StageResult

WEIGHED, ESTIMATED = "stated", "estimated"


@dataclass(frozen=True)
class StageInventory:
    """Volume of a stage's circuit [m3], and either its charge [kg] or the volume that liquid fills [m3].

    Raises
    ------
    InputError
    """

    volume: float = key(
        "volume", "everything of a stage that holds fluid", at="system_volume", within="(0, 1]", many=True,
        otherwise="no standstill",
    )
    charge: float | None = key(
        "mass", "the charge of a stage, where it is known", default=None, within="(0, 100]", many=True
    )
    liquid_volume: float | None = key(
        "volume", "what of it liquid fills while it runs, to estimate the charge", default=None, within="(0, 1]",
        many=True,
    )

    def __post_init__(self):
        require_fields(self, "stage", ("volume",), above=0.0)
        require_fields(self, "stage", ("charge", "liquid_volume"), optional=True, above=0.0)
        if (self.charge is None) == (self.liquid_volume is None):
            raise InputError("a stage needs either its charge or the volume that liquid fills while it runs")
        if self.liquid_volume is not None and self.liquid_volume > self.volume:
            raise InputError(
                f"liquid fills {1e6 * self.liquid_volume:.4g} cm3, more than the {1e6 * self.volume:.4g} cm3 "
                "of the whole stage"
            )


@dataclass(frozen=True)
class StageStandstill:
    """A stage warm and at rest. Pressures in Pa, charge in kg, vessel in m3.

    charge_source says whether the charge is "stated" or "estimated". limit is the greatest pressure allowed;
    vessel the expansion vessel that keeps the hottest day under it: 0.0 where none is needed, None without a
    limit or where no vessel can (the limit is not above the pressure in the vessel while running).
    """

    charge: float
    charge_source: str
    volume: float
    ambient_pressure: float
    hottest_pressure: float
    limit: float | None
    vessel: float | None


def stage_standstill(
    result: StageResult, inventory: StageInventory, ambient: float, hottest: float, limit: float | None = None
) -> StageStandstill:
    """Pressure of a stage at rest, at ambient and on the hottest day, and the vessel that keeps a limit.

    Parameters
    ----------
    result : StageResult
        The running stage: its fluid, suction pressure, and densities for the estimate of the charge.
    inventory : StageInventory
    ambient, hottest : float
        [K]
    limit : float, optional
        [Pa]

    Raises
    ------
    UnreachableError
        Where the charge does not go into the volume.
    """
    fluid = result.fluid
    charge = inventory.charge if inventory.charge is not None else _estimated_charge(result, inventory)
    molar_volume = inventory.volume * fluid.molar_mass / charge
    pressures = [fluid.pressure_at(temperature, molar_volume) for temperature in (ambient, hottest)]
    vessel = None
    if limit is not None:
        vessel = _vessel(result, inventory.volume, charge, ambient, hottest, limit, pressures[1])
    return StageStandstill(
        charge=charge,
        charge_source=ESTIMATED if inventory.charge is None else WEIGHED,
        volume=inventory.volume,
        ambient_pressure=pressures[0],
        hottest_pressure=pressures[1],
        limit=limit,
        vessel=vessel,
    )


def _estimated_charge(result: StageResult, inventory: StageInventory) -> float:
    gas = 0.5 * sum(1.0 / result.points[at].molar_volume for at in (place.COMPRESSOR_INLET, place.COMPRESSOR_OUTLET))
    liquid = 1.0 / result.points[place.CONDENSER_OUTLET].molar_volume
    filled = inventory.liquid_volume
    return result.fluid.molar_mass * (filled * liquid + (inventory.volume - filled) * gas)


def _vessel(
    result: StageResult,
    volume: float,
    charge: float,
    ambient: float,
    hottest: float,
    limit: float,
    present: float,
) -> float | None:
    if present <= limit:
        return 0.0
    fluid = result.fluid
    allowed = fluid.molar_mass / _gas_volume(fluid, hottest, limit)
    held = fluid.molar_mass / _gas_volume(fluid, ambient, result.cycle.suction_pressure)
    return buffer_volume(charge, volume, allowed, held)


def _gas_volume(fluid: StageFluid, temperature: float, pressure: float) -> float:
    """Of a mole of gas [m3]; of saturated vapour where the fluid would be liquid at that pressure."""
    try:
        dew = fluid.dew_state(temperature)
    except UnreachableError:  # above the critical temperature
        return fluid.tp(temperature, pressure).molar_volume
    return dew.molar_volume if pressure >= dew.pressure else fluid.tp(temperature, pressure).molar_volume
