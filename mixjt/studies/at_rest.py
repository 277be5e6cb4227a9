"""Pressures of a circuit at rest, for one charge or for several, at ambient and on the hottest day."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.circuit.inventory import Inventory, Volumes, contained
from mixjt.circuit.result import CircuitResult
from mixjt.errors import MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.standstill import HOTTEST_DAY, buffer_volume, standstill_charge, standstill_state
from mixjt.keys import key
from mixjt.parts.oil import Oil
from mixjt.units import apart

UNKNOWN = (
    "charge and pressure at standstill are not known: state all volumes in [volumes], or volume and charge in [standstill]"
)
UNRATED = "no rating stands against the pressure at standstill: state largest_pressure in [standstill]"
TABULATED = (2e5, 5e5, 10e5, 15e5, 20e5)  # Pa at ambient, where no charge is stated


@dataclass(frozen=True)
class StandstillRequest:
    """Volume [m3], charge [kg] or None, temperatures [K], largest allowed pressure [Pa] or None.

    suction_pressure [Pa] is that of the running circuit, at which a buffer holds gas; without it none is found. With volumes
    the charge of a solved circuit is what it holds while it runs, gas in the oil included.
    """

    volume: float = key(
        "volume", "all of the circuit that holds gas, buffer included", within="(0, 1]",
        otherwise="the sum of [volumes]",
    )
    charge: float | None = key(
        "mass", "what is filled in", within="(0, 100]", otherwise="what runs in [volumes], or several are tabulated"
    )
    ambient_temperature: float
    hottest_temperature: float = key(
        "temperature", "of the hottest day the machine may stand through", default=HOTTEST_DAY, within="[250, 370]"
    )
    largest_pressure: float | None = key(
        "pressure", "the lowest rating of a part in the circuit", default=None, within="[1e5, 4e7]",
        otherwise="not checked",
    )
    suction_pressure: float | None = None
    volumes: Volumes | None = None
    oil: Oil | None = None


@dataclass(frozen=True)
class Standstill:
    """One charge at rest: charge [kg], pressures [Pa absolute], phases at ambient.

    buffer [m3] is what must be added to the volume to keep the largest pressure on the hottest day; None where no
    pressure is to be kept or no buffer can.
    """

    charge: float
    ambient_pressure: float
    hottest_pressure: float
    phases: str
    buffer: float | None = None


@dataclass(frozen=True)
class AtRest:
    """The charge of a solved circuit at rest; None where that is not known, and warnings say why.

    inventory is what the circuit holds while it runs, None where its volumes are not known one by one.
    """

    found: Standstill | None
    limit: float | None
    warnings: tuple[str, ...]
    inventory: Inventory | None = None


def at_rest(result: CircuitResult, request: StandstillRequest | None) -> AtRest:
    """What a circuit holds while it runs, and the pressure at which that stands, against the rating of its parts.

    Parameters
    ----------
    result : CircuitResult
    request : StandstillRequest or None
        None where the circuit's volume is not known.
    """
    if request is None:
        return AtRest(None, None, (UNKNOWN,))
    request = replace(request, suction_pressure=result.suction_pressure)
    if request.volumes is None:
        return charge_at_rest(result.fluid, request)
    try:
        inventory = contained(result).inventory(request.volumes, request.oil)
    except MixjtError as error:
        return AtRest(None, request.largest_pressure, (f"the charge is not known: {error}",))
    charge = inventory.charge  # all of it: oil may let go what it holds
    return replace(charge_at_rest(charge.fluid, replace(request, charge=charge.mass)), inventory=inventory)


def charge_at_rest(fluid: Fluid, request: StandstillRequest | None) -> AtRest:
    """The pressure at which the stated charge of a blend stands, against the rating of its parts."""
    if request is None or request.charge is None:
        return AtRest(None, None, (UNKNOWN,))
    try:
        rows = standstill_table(fluid, request)
    except MixjtError as error:
        return AtRest(None, request.largest_pressure, (f"the pressure at standstill is not known: {error}",))
    unrated = [UNRATED] if request.largest_pressure is None else []
    return AtRest(rows[0], request.largest_pressure, (*standstill_warnings(rows, request), *unrated))


def standstill_table(fluid: Fluid, request: StandstillRequest) -> tuple[Standstill, ...]:
    """The stated charge at rest, or else the charges that reach round pressures at ambient.

    Raises
    ------
    UnreachableError
        Where a charge does not fit into the volume below 400 bar.
    """
    if request.charge is not None:
        return (_standstill(fluid, request, request.charge),)
    charges = [
        standstill_charge(fluid, request.ambient_temperature, pressure, request.volume)
        for pressure in TABULATED
    ]
    return tuple(_standstill(fluid, request, charge) for charge in charges)


def standstill_warnings(rows: tuple[Standstill, ...], request: StandstillRequest) -> list[str]:
    """A line where the stated charge stands above the largest pressure, and what volume would do."""
    if request.charge is None or request.largest_pressure is None:
        return []
    (row,) = rows
    if row.hottest_pressure <= request.largest_pressure:
        return []
    stands, most = apart(row.hottest_pressure, request.largest_pressure, "pressure", 3)
    text = (
        f"at standstill on the hottest day the charge stands at {stands}, above the "
        f"largest pressure of {most}: charge less"
    )
    if row.buffer is None:
        return [f"{text}; no buffer volume keeps it with the suction so close to it"]
    return [f"{text}, or add a buffer volume of {1e3 * row.buffer:.2g} L on the suction side, with the gas it holds"]


def _standstill(fluid, request: StandstillRequest, charge: float) -> Standstill:
    molar_volume = request.volume * fluid.molar_mass / charge
    ambient, hottest = (
        standstill_state(fluid, temperature, molar_volume)
        for temperature in (request.ambient_temperature, request.hottest_temperature)
    )
    buffer = _buffer(fluid, request, charge)
    return Standstill(charge, ambient.pressure, hottest.pressure, ambient.phase_text, buffer)


def _buffer(fluid, request: StandstillRequest, charge: float) -> float | None:
    if request.largest_pressure is None or request.suction_pressure is None:
        return None
    molar_mass = fluid.molar_mass
    allowed, held = (
        molar_mass / fluid.tp(temperature, pressure).molar_volume
        for temperature, pressure in (
            (request.hottest_temperature, request.largest_pressure),
            (request.ambient_temperature, request.suction_pressure),
        )
    )
    return buffer_volume(charge, request.volume, allowed, held)
