"""Time to find the settled pressures of a fixed machine: python tests/benchmarks/settled.py

The demo machine with capillary and charge, from ambient to the cold end, each temperature from scratch and
from its neighbour. Prints seconds; nothing is asserted.
"""

from __future__ import annotations

import time
from pathlib import Path

from mixjt.case.case import read_case
from mixjt.case.cooldown_case import fixed_machine
from mixjt.circuit.settled import settle_machine
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model

CASE = Path(__file__).parents[2] / "mixtures-demo" / "receiver-cooldown.toml"
TEMPERATURES = (295.0, 240.0, 190.0, 150.0, 125.0)  # K


def main() -> None:
    """Print the times."""
    case = read_case(CASE)
    z = case.blend.composition
    model = load_model("multi-fluid", case.blend.gases)
    machine = fixed_machine(case, Fluid(model, z))
    settle_machine(Fluid(model, z), machine, 280.0)  # compiled and warm
    neighbour = None
    for temperature in TEMPERATURES:
        times = []
        for start in (None, neighbour):
            before = time.perf_counter()
            found = settle_machine(Fluid(model, z), machine, temperature, start)
            times.append(time.perf_counter() - before)
        neighbour = found
        low, high = found.suction_pressure / 1e5, found.discharge_pressure / 1e5
        print(f"{temperature:5.0f} K: {low:.2f} to {high:.2f} bar; {times[0]:.2f} s from scratch, {times[1]:.2f} s on")


if __name__ == "__main__":
    main()
