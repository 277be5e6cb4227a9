"""Time of the multi-fluid flash over many blends, on one thread and on two, in one run.

    python tests/benchmarks/flash.py [--blends 2000]

Random blends of six gases on two isobars of 64 falling temperatures, stability tests included; the number of states
that were not solved is part of the result. Compilation is not counted. tests/benchmarks/reference.py compares with
another library's blind flash, tests/benchmarks/engine.py times the cubic equations.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")
TEMPERATURES = np.linspace(300.0, 90.0, 64)
PRESSURES = (2e5, 15e5)  # Pa


def seconds(threads: int, blends) -> tuple[float, int]:
    """Wall-clock seconds for all blends on both isobars, and the states that were not solved."""
    from mixjt.properties.multi_fluid import MultiFluidModel

    model = MultiFluidModel(GASES, threads=threads)
    model.sweep(blends[:2], PRESSURES[0], TEMPERATURES, strict=False)  # compiled and warm
    start, unsolved = time.perf_counter(), 0
    for pressure in PRESSURES:
        unsolved += int(np.sum(model.sweep(blends, pressure, TEMPERATURES, strict=False).phase_count == 0))
    return time.perf_counter() - start, unsolved


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--blends", type=int, default=2000)
    blends = np.random.default_rng(1).dirichlet(np.ones(len(GASES)), parser.parse_args().blends)
    states = len(blends) * TEMPERATURES.size * len(PRESSURES)
    one, unsolved = seconds(1, blends)
    two, _ = seconds(2, blends)
    print(f"{states} states, {unsolved} not solved; one thread {1e6 * one / states:.1f} us a state")
    print(f"two threads {1e6 * two / states:.1f} us a state, {one / two:.2f} times as fast")


if __name__ == "__main__":
    main()
