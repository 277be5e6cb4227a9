"""Where one case says things of one machine that cannot both be true."""

from __future__ import annotations

import math

from mixjt.case.case import Case

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
    if not case.circuit.of_stated_length:
        return
    geometry, length = case.circuit.coil.tubes, case.circuit.coil.length
    source = f"{length:.4g} m of the tubes in [recuperator_tubes] hold"
    volumes, mass = case.tables["volumes"], case.tables["cold_mass"]
    for side in ("high", "low"):
        said = None if volumes is None else volumes[f"recuperator_{side}"]
        held = getattr(geometry, side).flow_area * length
        yield f"[volumes] recuperator_{side}", said, source, held, "L", 1e3, CLOSE
    if geometry.material == "copper" and mass is not None:
        said, weighed = mass["recuperator_copper"] or None, geometry.mass * length
        source = f"{length:.4g} m of the tubes in [recuperator_tubes] weigh"
        yield "[cold_mass] recuperator_copper", said, source, weighed, "kg", 1.0, CLOSE


def _charge(case: Case):
    volumes = case.tables["volumes"]
    if volumes is not None:
        said = case.tables["sensitivity"]["charge"]
        yield "[sensitivity] charge", said, "[volumes] charge", volumes["charge"], "g", 1e3, SAME

