"""One sentence of advice from the figures of all roads, with its reasons.

The road of least power wins unless a simpler one costs little more. What counts as little is our choice, no
source: a quarter more power for each compressor spared, a tenth for a circuit with fewer parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR

PER_COMPRESSOR, PER_PARTS = 0.25, 0.10
LITTLE_RESERVE = 5.0  # K
PARTS = {PLAIN: 0, SEPARATOR: 1, PRECOOLED: 1}  # besides compressors, condenser and one recuperator or evaporator


@dataclass(frozen=True)
class Option:
    """What advice looks at: power [W], compressors, pressures [Pa], lowest temperature [K], band (relative).

    power is None where the road does not work, and obstacle says why, or where it was not looked_for. standing, lowest
    and band are None where they are not known. own is what the case's own compressor carries and draws [W].
    """

    road: str
    label: str
    power: float | None
    compressors: int = 0
    running: float = 0.0
    standing: float | None = None
    lowest: float | None = None
    band: float | None = None
    obstacle: str = ""
    looked_for: bool = True
    own: tuple[float, float] | None = None

    @property
    def parts(self) -> int:
        """Complexity besides compressors; a cascade condenser between every two stages."""
        return PARTS.get(self.road, self.compressors - 1)


def chosen(options: Sequence[Option]) -> Option | None:
    """The option to build; None where none works."""
    working = [one for one in options if one.power is not None]
    if not working:
        return None
    least = min(working, key=lambda one: one.power)
    good = [one for one in working if one.power <= _allowed(one, least)]
    return min(good, key=lambda one: (one.compressors, one.parts, one.power))


def advice(options: Sequence[Option], cold_temperature: float, interrupted: bool = False) -> str:
    """One sentence: what to build, against what, and why.

    Parameters
    ----------
    options : sequence of Option
    cold_temperature : float
        Of the load [K].
    interrupted : bool
        Whether roads, or better ones, may be missing.
    """
    best = chosen(options)
    unknown = [one.label for one in options if not one.looked_for]
    lost = [one for one in options if one.power is None and one.looked_for]
    if best is None:
        why = "; ".join(f"{one.label}: {one.obstacle}" for one in lost)
        if unknown:
            rest = f", and of the others none carries the load ({why})" if lost else ""
            return f"No advice: {_listed(unknown)} {_were(unknown)} not looked for to the end{rest}."
        return f"None of these roads carries the load at {cold_temperature:.5g} K ({why})."
    working = [one for one in options if one.power is not None and one is not best]
    first = "Of what was found before the interruption, build" if interrupted else "Build"
    parts = [f"{first} the {best.label}: {best.power:.3g} W with {_compressors(best)}{_own(best)}"]
    if working:
        parts.append(_against(best, min(working, key=lambda one: one.power)))
    parts += [_pressures(best), *_reserve(best, cold_temperature), *_doubt(best, working)]
    if lost:
        parts.append(f"{_listed([one.label for one in lost])} {'does' if len(lost) == 1 else 'do'} not get there")
    if unknown:
        parts.append(f"{_listed(unknown)} {_were(unknown)} not looked for to the end")
    return "; ".join(parts) + "."


def _allowed(simpler: Option, least: Option) -> float:
    """Power [W] up to which an option is worth having for its simplicity."""
    spared = least.compressors - simpler.compressors
    if spared > 0:
        return least.power * (1.0 + PER_COMPRESSOR * spared)
    fewer = spared == 0 and simpler.parts < least.parts
    return least.power * (1.0 + (PER_PARTS if fewer else 0.0))


def _against(best: Option, other: Option) -> str:
    change = 100.0 * (other.power / best.power - 1.0)
    if abs(change) < 0.05:
        return f"the {other.label} needs as much with {_compressors(other)}"
    word = "more" if change > 0.0 else "less"
    text = f"the {other.label} needs {abs(change):.2g} % {word} ({other.power:.3g} W) with {_compressors(other)}"
    if change < 0.0:
        text += ", which does not pay for its further parts"
    return text


def _pressures(best: Option) -> str:
    text = f"its highest pressure is {best.running / 1e5:.3g} bar running"
    if best.standing is None:
        return f"{text}, and standing not known until [volumes] states volumes and charge"
    return f"{text} and {best.standing / 1e5:.3g} bar standing on the hottest day"


def _reserve(best: Option, cold_temperature: float) -> list[str]:
    if best.lowest is None:
        return []
    text = f"it reaches {best.lowest:.4g} K"
    little = cold_temperature - best.lowest < LITTLE_RESERVE
    return [f"{text}, hardly colder than the load needs" if little else text]


def _doubt(best: Option, working: Sequence[Option]) -> list[str]:
    """Where a blend's band is wider than the gap to a road of the other kind, the order may be the other way round."""
    bands = {one.label: one.band or 0.0 for one in (best, *working)}
    close = [
        one.label for one in working
        if abs(one.power / best.power - 1.0) < max(bands[best.label], bands[one.label])
        and (one.band is None) != (best.band is None)
    ]  # fmt: skip
    if not close:
        return []
    return [f"the gap to the {_listed(close)} is within the band of the blend's cooling"]


def _own(best: Option) -> str:
    """What the machine at hand does, which is not scaled to the load."""
    if best.own is None:
        return ""
    each = "the case's own" if best.road in PARTS else "the case's own in every stage"
    return f" scaled to the load ({each} carries {best.own[0]:.3g} W and draws {best.own[1]:.3g} W)"


def _were(names: Sequence[str]) -> str:
    return "was" if len(names) == 1 else "were"


def _compressors(option: Option) -> str:
    return f"{option.compressors} compressor{'s' if option.compressors != 1 else ''}"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
