"""Time of the multi-fluid flash over many blends, on one thread and on two, with slopes, and for three to eight gases.

    python tests/benchmarks/flash.py [--blends 2000]

Random blends of six gases on two isobars of 64 falling temperatures, stability tests included; the number of states
that were not solved is part of the result. Times of one thread are processor times, of two wall-clock times of the
same run as their one-thread counterpart. Compilation is not counted. tests/benchmarks/reference.py compares with
another library's blind flash, tests/benchmarks/engine.py times the cubic equations.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane", "argon", "isopentane")
USUAL = 6  # of them
TEMPERATURES = np.linspace(300.0, 90.0, 64)
PRESSURES = (2e5, 15e5)  # Pa


def seconds(threads: int, blends, gradients: bool = False) -> tuple[float, float, int]:
    """Wall-clock and processor seconds for all blends on both isobars, and the states that were not solved."""
    from mixjt.properties.multi_fluid import MultiFluidModel

    model = MultiFluidModel(GASES[: blends.shape[1]], threads=threads)

    def sweep(some, pressure):
        return model.sweep(some, pressure, TEMPERATURES, strict=False, gradients=gradients).phase_count

    sweep(blends[:2], PRESSURES[0])  # compiled and warm
    wall, spent, unsolved = time.perf_counter(), time.process_time(), 0
    for pressure in PRESSURES:
        unsolved += int(np.sum(sweep(blends, pressure) == 0))
    return time.perf_counter() - wall, time.process_time() - spent, unsolved


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--blends", type=int, default=2000)
    count, rng = parser.parse_args().blends, np.random.default_rng(1)
    blends = rng.dirichlet(np.ones(USUAL), count)
    states = count * TEMPERATURES.size * len(PRESSURES)
    wall, spent, unsolved = seconds(1, blends)
    both, _, _ = seconds(2, blends)
    _, with_slopes, _ = seconds(1, blends, gradients=True)
    print(f"{states} states of {USUAL} gases, {unsolved} not solved; one thread {1e6 * spent / states:.1f} us a state")
    print(f"with slopes {1e6 * with_slopes / states:.1f} us; two threads {wall / both:.2f} times as fast")
    for gases in range(3, len(GASES) + 1):
        some = rng.dirichlet(np.ones(gases), max(count // 10, 2))
        _, spent, unsolved = seconds(1, some)
        states = len(some) * TEMPERATURES.size * len(PRESSURES)
        print(f"{gases} gases: {1e6 * spent / states:.1f} us a state, {unsolved} of {states} not solved")


if __name__ == "__main__":
    main()
