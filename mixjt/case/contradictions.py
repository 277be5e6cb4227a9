"""Where one case says things of one machine that cannot both be true, or says too little of it."""

from __future__ import annotations

import math

from mixjt.case.case import Case
from mixjt.case.rating_case import guess_warnings
from mixjt.case.recuperator_case import tube_contents

CLOSE = 0.15  # relative; our choice: bends, headers and a ruler are good for that


def contradictions(case: Case) -> list[str]:
    """A sentence for each volume or mass of copper that another table of the case belies, and for a guessed machine.

    The recuperator's volumes and copper are held against its tubes, where [recuperator_tubes] states their length.
    """
    return guess_warnings(case) + [
        f"{place} says {said * scale:.3g} {unit}, but {source} {other * scale:.3g} {unit}: mend one of the two"
        for place, said, source, other, unit, scale, close in _recuperator(case)
        if said is not None and not math.isclose(said, other, rel_tol=close)
    ]


def _recuperator(case: Case):
    if not case.circuit.of_stated_length:
        return
    geometry, length = case.circuit.coil.tubes, case.circuit.coil.length
    for (table, key), true in tube_contents(geometry, length).items():
        values = case.tables[table]
        verb, unit, scale = ("weigh", "kg", 1.0) if table == "cold_mass" else ("hold", "L", 1e3)
        source = f"{length:.4g} m of the tubes in [recuperator_tubes] {verb}"
        yield f"[{table}] {key}", (values and values[key]) or None, source, true, unit, scale, CLOSE
