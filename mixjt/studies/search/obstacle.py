"""Why a search found nothing, in a sentence for the one who asked."""

from __future__ import annotations

import numpy as np

from mixjt.studies.search.archive import Find
from mixjt.studies.search.both_ends import COLDEST
from mixjt.studies.search.landscape import Landscape

ADVICE = {
    "suction superheat": "use lighter gases, a lower suction pressure or a smaller superheat",
    "discharge temperature": "lower the pressure ratio, cool the compressor's shell or allow a hotter discharge",
    "valve temperature": "lower the pressure ratio, or let the suction be less superheated",
    "supply current": "lower the pressures, or use a smaller displacement or a stronger motor",
    "electrical power": "lower the pressures, or use a smaller displacement",
    "suction pressure": "allow a lower suction pressure",
    "freezing margin": "use less of the gases that freeze, a warmer cold end or a smaller margin",
    "load": "use a larger compressor, more bottles or wider ranges of the pressures, or let less heat in",
    "precooler duty": "use a stronger precooler, precool less deep or use a smaller compressor",
    "pressure ratio": "allow a higher suction or a lower discharge pressure",
}


def obstacle(landscape: Landscape, finds: list[Find]) -> str:
    """The constraint that the nearest blend misses, or how far the best one is from cooling at all."""
    cold = landscape.request.circuit.cold_temperature
    if not finds:
        return f"no blend of these bottles could be evaluated at {cold:.5g} K; try a slightly different state"
    cooling = [find for find in finds if find.cooling > 0.0]
    if not cooling:
        best = max(finds, key=lambda find: find.cooling)
        return (
            f"no blend of these bottles cools at {cold:.5g} K between these pressures: the best one found, "
            f"{_text(landscape, best)}, falls short by {-best.cooling:.4g} J/mol; try a warmer cold end, a wider "
            "pressure ratio, a smaller recuperator approach or other gases"
        )
    nearest = min(cooling, key=lambda find: find.missed.sum())
    evaluator = landscape.evaluator
    missed = nearest.missed * evaluator.steps
    worst = int(np.argmax(nearest.missed))
    name = evaluator.names[worst]
    advice = ADVICE.get(name.removesuffix(COLDEST), "loosen it or offer other gases")
    return (
        f"blends of these bottles cool at {cold:.5g} K, but none meets every constraint: the nearest one found, "
        f"{_text(landscape, nearest)}, misses the {name} by {missed[worst]:.3g} {evaluator.units[worst]}; {advice}"
    )


def _text(landscape: Landscape, find: Find) -> str:
    names = landscape.request.names
    shares = [f"{100.0 * find.place.amounts[i]:.3g} % {names[i]}" for i in find.place.present]
    return ", ".join(shares)
