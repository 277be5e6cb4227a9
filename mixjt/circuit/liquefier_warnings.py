"""What is doubtful or dangerous about a feed, in sentences for the builder."""

from __future__ import annotations

from mixjt.circuit.feed_states import NITROGEN_FREEZES
from mixjt.fluid.feed import OXYGEN
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts import places

# More than 23.5 % by volume is an oxygen-enriched atmosphere: 29 CFR 1910.146(b) (from memory).
ENRICHED = 0.235
TRACES = (
    "water and carbon dioxide must be removed from the feed (to about 1 ppm each; common practice, no source): "
    "they freeze in its passage. Nitrogen, oxygen and argon themselves do not freeze at these temperatures"
)
REMAINDER = (
    "hydrocarbons and oil mist, from the feed or through a leak, collect in the oxygen-rich remainder of the liquid, "
    "which can explode: feed compressor without oil, leak test between the passages, analyse the liquid, never boil "
    "it to dryness (common practice, no source)"
)


def feed_warnings(gas: Fluid, points: dict[str, State], touching: bool) -> tuple[str, ...]:
    """About a feed in a solved liquefier.

    Parameters
    ----------
    gas : Fluid
        The feed.
    points : dict
        States of blend and feed by place.
    touching : bool
        Whether the recuperator's streams touch.
    """
    found = []
    coldest = min(state.temperature for place, state in points.items() if place not in places.OF_THE_FEED)
    if coldest < NITROGEN_FREEZES:
        found.append(
            f"the coldest point of the evaporator, {coldest:.1f} K, is below the {NITROGEN_FREEZES:.1f} K where nitrogen "
            "freezes: the feed may block its passage"
        )
    found += _oxygen_warnings(gas, points)
    if touching:
        found.append("the recuperator touches: at zero approach it would have to be infinitely large")
    return (*found, TRACES)


def _oxygen_warnings(gas: Fluid, points: dict[str, State]) -> list[str]:
    liquid, feed = (gas.of(points[place].composition).fraction(OXYGEN) for place in (places.PRODUCT, places.FEED_SUPPLY))
    if not feed:
        return []
    text = (
        f"the liquid holds {100 * liquid:.3g} mol% oxygen, more than the feed's {100 * feed:.3g} mol%, and what is "
        "left after boil-off holds ever more"
    )
    if liquid > ENRICHED:
        text += f": beyond {100 * ENRICHED:.3g} % it is oxygen-enriched, and makes oil, cloth and insulation burn fiercely"
    return [REMAINDER, text]
