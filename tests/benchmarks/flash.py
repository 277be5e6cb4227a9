"""Time of the multi-fluid flash over many blends, on one thread and on two, with slopes, for three to eight gases, and
beside general-purpose libraries.

    python tests/benchmarks/flash.py [--blends 2000]

Random blends of six gases on two isobars of 64 falling temperatures, stability tests included; the number of states
that were not solved is part of the result. Times of one thread are processor times, of two wall-clock times of the
same run as their one-thread counterpart. Compilation is not counted. Evaluations of a phase and tests of stability are
counted too, which no other load on the machine changes. The libraries get a few of the same states, one by one: thermo
with the equation of Peng and Robinson, CoolProp with multi-fluid equations, both without knowing the phases.
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
    from mixjt.fluid.multi_fluid import MultiFluidModel

    model = MultiFluidModel(GASES[: blends.shape[1]], threads=threads)

    def sweep(some, pressure):
        return model.sweep(some, pressure, TEMPERATURES, strict=False, gradients=gradients).phase_count

    sweep(blends[:2], PRESSURES[0])  # compiled and warm
    wall, spent, unsolved = time.perf_counter(), time.process_time(), 0
    for pressure in PRESSURES:
        unsolved += int(np.sum(sweep(blends, pressure) == 0))
    return time.perf_counter() - wall, time.process_time() - spent, unsolved


def counts(blends) -> tuple[float, float]:
    """Evaluations of a phase for each state, and tests of stability for each isobar."""
    from mixjt.fluid.flash import engine
    from mixjt.fluid.flash.coefficients import blend_record

    record, work = np.array([blend_record(GASES[: blends.shape[1]])]), engine._work()
    out = np.empty((TEMPERATURES.size, engine.OUTPUTS + blends.shape[1]))
    work["evaluations"] = work["tests"] = 0
    for z in blends:
        for pressure in PRESSURES:
            engine.solve_states(record, z, TEMPERATURES, np.full(TEMPERATURES.size, pressure), 16.0, engine.ALONG, out)
    sweeps = len(blends) * len(PRESSURES)
    return int(work["evaluations"][0]) / (sweeps * TEMPERATURES.size), int(work["tests"][0]) / sweeps


def cubic(z):
    """Flash of the library thermo with Peng and Robinson's equation, for the usual gases."""
    from thermo import PRMIX, CEOSGas, CEOSLiquid, ChemicalConstantsPackage, FlashVL

    constants, properties = ChemicalConstantsPackage.from_IDs(list(GASES[:USUAL]))
    equation = {"Tcs": constants.Tcs, "Pcs": constants.Pcs, "omegas": constants.omegas}
    gas, liquid = (
        phase(PRMIX, equation, HeatCapacityGases=properties.HeatCapacityGases) for phase in (CEOSGas, CEOSLiquid)
    )
    flasher, fractions = FlashVL(constants, properties, liquid=liquid, gas=gas), z.tolist()
    return lambda temperature, pressure: flasher.flash(T=temperature, P=pressure, zs=fractions)


def blind(z):
    """CoolProp's flash of its own mixture model, for the usual gases."""
    import CoolProp

    names = ("Nitrogen", "Methane", "Ethane", "Propane", "IsoButane", "n-Butane")
    state = CoolProp.AbstractState("HEOS", "&".join(names))
    state.set_mole_fractions(z.tolist())
    return lambda temperature, pressure: state.update(CoolProp.PT_INPUTS, pressure, temperature)


def library(build, blends) -> tuple[float, int, int]:
    """Processor seconds a state, the states asked for, and those that had no answer."""
    spent, asked, unsolved = 0.0, 0, 0
    for z in blends:
        flash = build(z)
        for temperature in TEMPERATURES[::9]:
            for pressure in PRESSURES:
                start = time.process_time()
                try:
                    flash(float(temperature), pressure)
                except Exception:  # noqa: BLE001 - the libraries raise whatever comes
                    unsolved += 1
                spent, asked = spent + time.process_time() - start, asked + 1
    return spent / asked, asked, unsolved


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--blends", type=int, default=2000)
    count, rng = parser.parse_args().blends, np.random.default_rng(1)
    blends = rng.dirichlet(np.ones(USUAL), count)
    states = count * TEMPERATURES.size * len(PRESSURES)
    wall, spent, unsolved = seconds(1, blends)
    ours = spent / states
    both, _, _ = seconds(2, blends)
    _, with_slopes, _ = seconds(1, blends, gradients=True)
    print(f"{states} states of {USUAL} gases, {unsolved} not solved; one thread {1e6 * spent / states:.1f} us a state")
    print(f"with slopes {1e6 * with_slopes / states:.1f} us; two threads {wall / both:.2f} times as fast")
    evaluations, tests = counts(blends[:200])
    print(f"{evaluations:.2f} evaluations of a phase for each state, {tests:.1f} tests of stability for each isobar")
    for name, build in (("thermo, Peng-Robinson", cubic), ("CoolProp, blind", blind)):
        each, asked, failed = library(build, blends[:4])
        print(f"{name}: {1e3 * each:.3g} ms a state, {each / ours:.0f} times ours; {failed} of {asked} not solved")
    for gases in range(3, len(GASES) + 1):
        some = rng.dirichlet(np.ones(gases), max(count // 10, 2))
        _, spent, unsolved = seconds(1, some)
        states = len(some) * TEMPERATURES.size * len(PRESSURES)
        print(f"{gases} gases: {1e6 * spent / states:.1f} us a state, {unsolved} of {states} not solved")


if __name__ == "__main__":
    main()
