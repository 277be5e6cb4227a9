"""CPU time of circuits, compressors and studies after compilation: python tests/benchmarks/circuits.py [NAME ...]

One circuit with nothing that takes rounds, with leak, stated conductance and both, and with tubes, each also as a
multiple of the first; a compressor on a pure fluid; the studies of the demo. Prints seconds; nothing is asserted.
"""

from __future__ import annotations

import contextlib
import io
import sys
import time
from dataclasses import replace
from pathlib import Path

from mixjt.case.case import read_case
from mixjt.circuit.solve import solve_circuit
from mixjt.cli.app import main as command
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.compressor.compression import Compressor, compress
from mixjt.parts.stage_fluid import pure_fluid

DEMO = Path(__file__).parents[2] / "mixtures-demo"
REPEATS, COMPRESSIONS = 3, 200


def cpu(call, repeats: int = REPEATS) -> float:
    """Least of some runs [s]."""
    times = []
    for _ in range(repeats):
        before = time.process_time()
        call()
        times.append(time.process_time() - before)
    return min(times)


def circuits() -> None:
    """Kinds of rounds."""
    case, tubes = (read_case(DEMO / f"receiver-{name}.toml") for name in ("120K", "tubes"))
    plain = replace(case.circuit, insulation=None)
    enough = 1.4 * solve_circuit(_fluid(case), plain).recuperator_conductance
    kinds = {
        "plain": (case, plain),
        "leak": (case, case.circuit),
        "conductance": (case, replace(plain, recuperator_conductance=enough)),
        "leak and conductance": (case, replace(case.circuit, recuperator_conductance=enough)),
        "tubes": (tubes, tubes.circuit),
    }
    first = None
    for name, (of, circuit) in kinds.items():
        fluid = _fluid(of)
        taken = cpu(lambda: solve_circuit(fluid, circuit))  # noqa: B023
        first = first or taken
        print(f"circuit, {name:32s} {taken:8.3f} s   {taken / first:5.2f}")


def compressor() -> None:
    """Propane, isobars known and anew."""
    fluid, rotary = pure_fluid("propane"), Compressor("rotary", 6.4e-6, 48.3)
    suction, high = fluid.superheated(250.0, 20.0), fluid.bubble_state(310.0).pressure

    def run(step: float) -> None:
        for k in range(COMPRESSIONS):
            compress(fluid, suction, high + step * k, rotary, 298.15)

    for name, step in (("the same", 0.0), ("other pressures", 10.0)):
        print(f"compressor, {name:29s} {1e3 * cpu(lambda: run(step), 1) / COMPRESSIONS:8.3f} ms")  # noqa: B023


def studies() -> None:
    """Commands on demo cases."""
    for words in ("search receiver-120K", "cascade preamp-cascade", "cooldown receiver-cooldown", "sensitivity receiver-120K"):
        verb, name = words.split()
        with contextlib.redirect_stdout(io.StringIO()):
            taken = cpu(lambda: command([verb, str(DEMO / f"{name}.toml"), "--json"]), 1)  # noqa: B023
        print(f"{words:41s} {taken:8.1f} s")


def _fluid(case) -> Fluid:
    fluid = Fluid(load_model("multi-fluid", case.blend.gases), case.blend.composition)
    fluid.tp(300.0, 1e5)  # compiled
    return fluid


if __name__ == "__main__":
    for part in (circuits, compressor, studies):
        if part.__name__ in sys.argv[1:] or len(sys.argv) == 1:
            part()
