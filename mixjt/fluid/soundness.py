"""Where the property model is weak, and what is said about it.

A pair without a departure function is described by fitted reducing parameters only. Below a temperature
that depends on the pair the model may also split hydrocarbon liquids that mix in all proportions: methane
dissolves alkanes up to the pentanes completely, and partial miscibility begins with n-hexane (Davenport
and Rowlinson, Trans. Faraday Soc. 59 (1963) 78, from memory). Such a split shows as a fugacity that falls
while the gas's share rises, and the bubble pressure is then not monotone in composition either.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from itertools import pairwise

import numpy as np

from mixjt.fluid.flash.coefficients import COMBINING_RULE, blend_record, pair

MIXING_LIQUIDS = (
    "methane", "ethylene", "ethane", "propylene", "propane", "isobutane", "n-butane", "isopentane", "n-pentane",
)  # fmt: skip
TESTED_PRESSURE = 5e6  # Pa, so that every composition is a liquid at the temperatures tested
TESTED_TEMPERATURES = np.arange(195.0, 59.0, -5.0)  # K; methane's critical temperature is not reached
TESTED_SHARES = np.linspace(0.01, 0.99, 40)
SOUND_FILE = "sound_limits.json"
SMALLEST_SHARE = 1e-3  # a gas below this mole fraction does not make a blend unsound


def estimated_pairs(gases) -> tuple[tuple[str, str], ...]:
    """Pairs of gases for which the library holds no fitted binary parameters."""
    return tuple(two for two in _pairs(gases) if pair(*two)["source"] == COMBINING_RULE)


def pairs_without_departure(gases) -> tuple[tuple[str, str], ...]:
    """Pairs whose reducing parameters are fitted but which have no departure function."""
    known = ((two, pair(*two)) for two in _pairs(gases))
    return tuple(
        two for two, row in known if not row["function"] and not nothing_fitted(row)
    )  # fmt: skip


def unfitted_pairs(gases) -> tuple[tuple[str, str], ...]:
    """Pairs that the library lists with nothing fitted: all reducing parameters 1, no departure function."""
    known = ((two, pair(*two)) for two in _pairs(gases))
    return tuple(two for two, row in known if row["source"] != COMBINING_RULE and nothing_fitted(row))


def nothing_fitted(row) -> bool:
    """Whether a pair has a combining rule, or a published row with all parameters one."""
    ones = row["beta_t"] == row["gamma_t"] == row["beta_v"] == row["gamma_v"] == 1.0
    return row["source"] == COMBINING_RULE or (ones and not row["function"])


def sound_from_pair(first: str, second: str) -> float:
    """Temperature [K] from which the model keeps two mixing hydrocarbons mixed; 0 where it always does.

    From the table that mixjt.fluid.data.build_sound makes with `splitting_limit`.
    """
    return _sound_limits().get(" + ".join(sorted((first, second))), 0.0)


@cache
def _sound_limits() -> dict[str, float]:
    text = files("mixjt.fluid.data").joinpath(SOUND_FILE).read_text(encoding="utf-8")
    return json.loads(text)["limits_K"]


def splitting_limit(first: str, second: str) -> float:
    """Temperature [K] from which two mixing hydrocarbons stay mixed, by the model itself; 0 where always.

    Resolved to 5 K, towards the safe side.
    """
    for above, temperature in pairwise(TESTED_TEMPERATURES):
        if _splits(first, second, temperature):
            return float(above)
    return 0.0


def sound_from(gases, z) -> tuple[float, tuple[str, str] | None]:
    """Temperature [K] above which the model is sound for a blend, and the pair that limits it."""
    present = [name for name, share in zip(gases, z, strict=True) if share >= SMALLEST_SHARE]
    found = [(sound_from_pair(*sorted(two)), two) for two in _pairs(present)]
    worst = max(found, default=(0.0, None), key=lambda each: each[0])
    return worst if worst[0] > 0.0 else (0.0, None)


def notes(gases) -> tuple[str, ...]:
    """One line for each weakness of the model for these gases, whatever the temperature."""
    lines = []
    if estimated := estimated_pairs(gases):
        lines.append(f"parameters of {_listed(estimated)} are estimated by combining rules, not fitted to data")
    if unfitted := unfitted_pairs(gases):
        lines.append(f"nothing is fitted for {_listed(unfitted)}; a plain mixing rule stands in")
    if plain := pairs_without_departure(gases):
        lines.append(f"no departure function for {_listed(plain)}; expect larger errors there")
    return tuple(lines)


def unsound_text(gases, z, lowest_temperature: float) -> str | None:
    """The warning for a blend taken down to lowest_temperature [K]; None where the model is sound."""
    limit, two = sound_from(gases, z)
    if lowest_temperature >= limit:
        return None
    return (
        f"below {limit:g} K the property model splits liquid {two[0]} + {two[1]}, which mix in truth; "
        f"its values from {lowest_temperature:g} K to there are outside its sound range"
    )


def _splits(first, second, temperature) -> bool:
    """Whether the fugacity of the first gas fails to rise with its share in the liquid."""
    from mixjt.fluid.flash.engine import single_phase

    record, logs = np.array([blend_record((first, second))]), []
    for share in TESTED_SHARES:
        phase = single_phase(record, np.array([share, 1.0 - share]), float(temperature), TESTED_PRESSURE)
        logs.append(np.nan if phase is None else np.log(share) + phase["ln_phi"][0])
    return not np.all(np.diff(logs) > 0.0)


def _pairs(gases):
    return [(gases[i], gases[j]) for i in range(len(gases)) for j in range(i + 1, len(gases))]


def _listed(pairs):
    return ", ".join(" + ".join(two) for two in pairs)
