"""Make sound_limits.json: ``python -m mixjt.fluid.data.build_sound``.

Where the property model splits liquids of two hydrocarbons that mix in truth, found from the model itself,
see mixjt.fluid.soundness.
"""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path

from mixjt.fluid.soundness import MIXING_LIQUIDS, SOUND_FILE, splitting_limit
from mixjt.whole import write_whole

TARGET = Path(__file__).with_name(SOUND_FILE)


def sound_limits() -> dict:
    """The limits [K] of all pairs that have one, with their provenance."""
    found = {}
    for pair in combinations(sorted(MIXING_LIQUIDS), 2):
        limit = splitting_limit(*pair)
        if limit > 0.0:
            found[" + ".join(pair)] = limit
    return {
        "source": "mixjt.fluid.data.build_sound with the coefficients of equations.json",
        "limits_K": found,
    }


def main() -> None:
    """Write the table, whole or not at all."""
    write_whole(TARGET, json.dumps(sound_limits(), indent=2) + "\n")


if __name__ == "__main__":
    main()
