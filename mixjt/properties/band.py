"""How far two property models lie apart on cooling: the band within which nine of ten held-out blends lay.

Random blends that no fit has seen were given to every parameter set and to the reference model
(mixjt.properties.calibration.report); the band is the 90th percentile of their deviation in the least
enthalpy difference. It is the spread between two models, one of which was fitted to the other. What the
reference model itself misses against measurement stands on the validation page and comes on top, and so does
what a real machine does otherwise.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from mixjt.properties.reference_sound import distrusted_pairs, estimated_pairs, trusted_from, unfitted_pairs

DATA_FILE = "held_out.json"
SOUND, FULL = "sound", "full"
WORST_SET = "peng-robinson"  # whose band stands for a set that was not tried


@dataclass(frozen=True)
class Band:
    """Relative half width of the band, and in words what it rests on."""

    fraction: float
    basis: str


def cooling_band(name: str, gases, z, coldest: float, difference: float | None = None) -> Band:
    """Band of a blend's cooling by a model.

    Parameters
    ----------
    name : str
        The model's name; for the reference model the band of the default set holds, seen from the other side.
    gases, z
        Names and mole fractions.
    coldest : float
        Temperature of the cold end [K].
    difference : float, optional
        How far the two models are apart on this very blend; a band is never narrower.
    """
    from mixjt.properties.parameters import DEFAULT_SET

    table = held_out_table()["sets"]
    row = table.get(DEFAULT_SET if name == "reference" else name, table[WORST_SET])
    weakness = _weakness(gases, z, coldest)
    found = row[FULL if weakness else SOUND]
    basis = f"nine of ten of {found['blends']} held-out blends lay within {100 * found['ninety']:.0f} %"
    basis += f", those {weakness} included" if weakness else ""
    if difference is None or abs(difference) <= found["ninety"]:
        return Band(found["ninety"], basis)
    return Band(abs(difference), f"the two models differ this much here; {basis}")


def _weakness(gases, z, coldest: float) -> str:
    """Why the wider band of the full span holds; empty where the reference model is sound for the blend."""
    present = [gas for gas, share in zip(gases, z, strict=True) if share > 0.0]
    if estimated_pairs(present) or unfitted_pairs(present):
        return "with pairs of gases that nothing is fitted for"
    if distrusted_pairs(present):
        return "with pairs of gases that the reference model gets wrong"
    if coldest < trusted_from(gases, z):
        return "below the sound range of the reference model"
    return ""


@cache
def held_out_table() -> dict:
    """The held-out comparison as its script wrote it: source, and for each set and span its percentiles."""
    return json.loads(files("mixjt.properties.data").joinpath(DATA_FILE).read_text(encoding="utf-8"))
