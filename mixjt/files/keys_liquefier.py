"""Keys of the case file's table [liquefier]."""

from __future__ import annotations

from mixjt.cycles.liquefier_records import FeedPassage
from mixjt.files.schema import TEXT, Key

YES, NO = "yes", "no"

LIQUEFIER = {
    "feed_pressure": Key(
        "pressure", "the gas to be liquefied where it enters the recuperator", True, within="[1e5, 2e7]"
    ),
    "largest_feed_pressure": Key(
        "pressure",
        "up to which the best feed pressure is sought",
        within="[1e5, 2e7]",
        otherwise="only the feed pressure",
    ),
    "feed_temperature": Key(
        "temperature",
        "of the feed at the recuperator",
        within="[200, 350]",
        otherwise="the ambient temperature",
    ),
    "oxygen": Key("fraction", "mole fraction of oxygen in the feed, at most that of air", default=0.0, within="[0, 1]"),
    "argon": Key("fraction", "mole fraction of argon in the feed", default=0.0, within="[0, 0.1]"),
    "approach": Key(
        "temperature_difference",
        "the liquid feed leaves the evaporator this much above the cold end",
        default=FeedPassage.approach,
        within="[0, 30]",
    ),
    "pressure_drop": Key(
        "pressure_difference",
        "loss of the feed on its way to its throttle",
        default=FeedPassage.pressure_drop,
        within="[0, 1e7]",
    ),
    "product_pressure": Key(
        "pressure", "of the liquid drawn off",
        default=FeedPassage.product_pressure, within="[5e4, 2e6]",
    ),
    "recover_flash": Key(
        TEXT,
        "whether flash vapour returns through the recuperator or is vented",
        default=YES if FeedPassage.recover_flash else NO,
        choices=(YES, NO),
    ),
    "compressor_efficiency": Key(
        "fraction",
        "least isothermal work of the feed's compressor over its electrical work",
        default=FeedPassage.isothermal_efficiency,
        within="(0, 1]",
    ),
}
