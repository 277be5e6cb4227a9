"""Where one case says things of one machine that cannot both be true."""

from __future__ import annotations

import math

from mixjt.case.case import Case
from mixjt.case.recuperator_case import recuperator_request, tube_contents
from mixjt.studies.recuperator_study import RecuperatorResult

CLOSE = 0.15  # relative; our choice: bends, headers and a ruler are good for that
SAME = 0.01  # relative, of what is weighed


def contradictions(case: Case) -> list[str]:
    """A sentence for each volume, mass of copper or charge that another table of the case belies.

    The recuperator's volumes and copper are held against its tubes, where [recuperator_tubes] states their length.
    """
    pairs = [*_recuperator(case), *_charge(case)]
    return [
        f"{place} says {said * scale:.3g} {unit}, but {source} {other * scale:.3g} {unit}: mend one of the two"
        for place, said, source, other, unit, scale, close in pairs
        if said is not None and not math.isclose(said, other, rel_tol=close)
    ]


def _recuperator(case: Case):
    tubes = case.tables["recuperator_tubes"]
    if tubes is None or tubes["length"] is None:
        return
    geometry, length = recuperator_request(case).tubes, tubes["length"]
    for (table, key), true in tube_contents(geometry, length).items():
        values = case.tables[table]
        verb, unit, scale = ("weigh", "kg", 1.0) if table == "cold_mass" else ("hold", "L", 1e3)
        source = f"{length:.4g} m of the tubes in [recuperator_tubes] {verb}"
        yield f"[{table}] {key}", (values and values[key]) or None, source, true, unit, scale, CLOSE


def _charge(case: Case):
    volumes = case.tables["volumes"]
    if volumes is not None:
        said = case.tables["sensitivity"]["charge"]
        yield "[sensitivity] charge", said, "[volumes] charge", volumes["charge"], "g", 1e3, SAME


def missed_approach(case: Case, result: RecuperatorResult) -> list[str]:
    """A sentence where a coil of stated length misses the approach that the case's other commands count on."""
    stated, reached = case.circuit.recuperator_approach, result.solved.rating.smallest_approach
    if case.table("recuperator_tubes")["length"] is None or reached <= (1.0 + CLOSE) * stated:
        return []
    return [
        (f"the other commands count on an approach of {stated:.3g} K ([recuperator]), but this coil reaches only "
        f"{reached:.3g} K: mend one of the two")
    ]
