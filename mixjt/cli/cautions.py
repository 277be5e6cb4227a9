"""What may hurt the builder of a circuit; short, because the details belong to local codes."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.gases import gas

AIR_CONDENSES = 95.0  # K; dry air begins to condense at 82 K, oxygen boils at 90 K: with a margin


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
    found = []
    burning = [entry.name for entry in present if entry.flammable]
    if burning:
        found.append(
            f"Flammable: {', '.join(burning)}. Keep the charge small, ventilate, no ignition sources."
        )
    if any(entry.name == "oxygen" for entry in present):
        found.append("Oxygen in a circuit with oil explodes: never charge it on purpose.")
    found.append(
        f"Pressure: {highest_pressure / 1e5:.3g} bar running, and all the charge as gas at standstill; all "
        "parts must be rated for both, with a relief valve."
    )
    found.append("Asphyxiation and cold burns: blends displace air unnoticed, cold parts freeze skin.")
    if coldest < AIR_CONDENSES:
        found.append(
            f"Oxygen enrichment: bare surfaces at {coldest:.0f} K can condense oxygen-rich air; insulate "
            "them gas-tight and keep oil and fuel away."
        )
    found.append("Local codes and licensed refrigeration practice come before anything printed here.")
    return found
