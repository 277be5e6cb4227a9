"""What may hurt the builder of a circuit; short, because the details belong to local codes."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.gases import gas

# K; dew point of dry air at one atmosphere, 81.7 K rounded up; half of the first liquid is oxygen (CoolProp
# 8.0.0, a blend of nitrogen, oxygen and argon)
AIR_CONDENSES = 82.0
ENRICHMENT_WARNED = 95.0  # K; our choice: a machine without its load runs colder than calculated


def cautions(
    gases: Sequence[str], composition: Sequence[float], highest_pressure: float, coldest: float
) -> list[str]:
    """Cautions for a blend in a circuit.

    Parameters
    ----------
    gases, composition
        Names and mole fractions; gases with fraction 0 do not count.
    highest_pressure : float
        [Pa absolute]
    coldest : float
        Lowest temperature of the circuit [K].
    """
    present = [gas(name) for name, share in zip(gases, composition, strict=True) if share > 0.0]
    burning = [entry.name for entry in present if entry.flammable]
    return machine_cautions(burning, highest_pressure, coldest, any(entry.name == "oxygen" for entry in present))


def machine_cautions(
    burning: Sequence[str], highest_pressure: float, coldest: float, oxygen: bool = False
) -> list[str]:
    """The same for a machine in which these burn, by name, and oxygen is or is not."""
    found = []
    if burning:
        found.append(
            f"Flammable: {', '.join(burning)}. Keep the charge small, ventilate, no ignition sources, never run the "
            "compressor on air."
        )
    if oxygen:
        found.append("Oxygen in a circuit with oil explodes: never charge it on purpose.")
    found.append(
        f"Pressure: {highest_pressure / 1e5:.3g} bar running, and all the charge as gas at standstill; all "
        "parts must be rated for both, with a relief valve on each side of the throttle."
    )
    found.append("Asphyxiation and cold burns: blends displace air unnoticed, cold parts freeze skin.")
    if coldest < ENRICHMENT_WARNED:
        found.append(
            f"Oxygen enrichment: below about {AIR_CONDENSES:.0f} K bare surfaces condense air, half of it "
            f"oxygen at first. The coldest point here is at {coldest:.0f} K and gets colder without the load: "
            "insulate gas-tight, keep oil and fuel away."
        )
    found.append(
        "Local codes and licensed refrigeration practice come before anything printed here; docs/bench.md "
        "tells what is usual at the bench."
    )
    return found
