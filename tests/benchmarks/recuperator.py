"""Time of a recuperator rating, fast model, after compilation. Run: python tests/benchmarks/recuperator.py"""

import time
from pathlib import Path

import numpy as np

from mixjt.case.case import read_case
from mixjt.circuit.solve import solve_circuit
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts.recuperator.tube_rating import design_recuperator, rate_recuperator, stream_pair

CASE = Path(__file__).parent.parent.parent / "mixtures-demo" / "receiver-tubes.toml"
REPEATS = 5


def timed(name, call):
    call()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        answer = call()
        times.append(time.perf_counter() - start)
    print(f"{name:46s} {min(times):7.3f} s best, {np.median(times):7.3f} s median of {REPEATS}")
    return answer


def main():
    case = read_case(CASE)
    model = load_model("multi-fluid", case.blend.gases)
    z = np.array(case.blend.composition)
    circuit, tubes = case.circuit, case.circuit.coil.tubes
    warm = model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
    cold = model.state_tp(z, circuit.cold_temperature, circuit.evaporator_pressure)
    pair = timed("property tables of both streams", lambda: stream_pair(Fluid(model, z), 0.0237, warm, cold))
    timed("rating of 100 cells, tables at hand", lambda: rate_recuperator(pair, tubes, 30.0))
    timed("rating of 100 cells, tables included",
          lambda: rate_recuperator(stream_pair(Fluid(model, z), 0.0237, warm, cold), tubes, 30.0))  # fmt: skip
    timed("design of 100 cells, tables at hand", lambda: design_recuperator(pair, tubes, 80.0))
    timed("circuit with its recuperator", lambda: solve_circuit(Fluid(model, z), circuit))
    sized = circuit.as_sized(solve_circuit(Fluid(model, z), circuit))
    timed("circuit of the same conductance", lambda: solve_circuit(Fluid(model, z), sized))


if __name__ == "__main__":
    main()
