"""Pressures of a circuit at rest, for one charge or for several, at ambient and on the hottest day."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.properties.records import PropertyModel
from mixjt.properties.standstill import standstill_charge, standstill_state
from mixjt.units import apart

TABULATED = (2e5, 5e5, 10e5, 15e5, 20e5)  # Pa at ambient, where no charge is stated


@dataclass(frozen=True)
class StandstillRequest:
    """Volume [m3], charge [kg] or None, temperatures [K], largest allowed pressure [Pa] or None."""

    volume: float
    charge: float | None
    ambient_temperature: float
    hottest_temperature: float
    largest_pressure: float | None = None


@dataclass(frozen=True)
class Standstill:
    """One charge at rest: charge [kg], pressures [Pa absolute], phases at ambient."""

    charge: float
    ambient_pressure: float
    hottest_pressure: float
    phases: str


def standstill_table(model: PropertyModel, z, request: StandstillRequest) -> tuple[Standstill, ...]:
    """The stated charge at rest, or else the charges that reach round pressures at ambient.

    Raises
    ------
    UnreachableError
        Where a charge does not fit into the volume below 400 bar.
    """
    if request.charge is not None:
        return (_standstill(model, z, request, request.charge),)
    charges = [
        standstill_charge(model, z, request.ambient_temperature, pressure, request.volume)
        for pressure in TABULATED
    ]
    return tuple(_standstill(model, z, request, charge) for charge in charges)


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
        f"largest pressure of {most}: charge less, or add a buffer volume"
    )
    return [text]


def _standstill(model, z, request: StandstillRequest, charge: float) -> Standstill:
    molar_volume = request.volume * float(z @ model.molar_masses) / charge
    ambient, hottest = (
        standstill_state(model, z, temperature, molar_volume)
        for temperature in (request.ambient_temperature, request.hottest_temperature)
    )
    return Standstill(charge, ambient.pressure, hottest.pressure, ambient.phase_text)
