"""Time of the compiled flash beside thermo, CoolProp's cubic backend and vle-thermo, in one run.

    python tests/benchmarks/engine.py [--blends 2000] [--sample 8]

Everybody solves the same states with the same parameters (Soave-Redlich-Kwong, our kij) on one thread: six
gases on two isobars, 64 temperatures each. The others are slow, so they get the first blends of the batch.
Times are processor times unless said otherwise.
"""

import os

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "RAYON_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
sys.path[:0] = [str(HERE.parents[1]), str(ROOT)]

GASES = ("nitrogen", "methane", "ethylene", "propane", "isobutane", "isopentane")
COOLPROP_NAMES = "Nitrogen&Methane&Ethylene&n-Propane&IsoButane&Isopentane"
EIGHT_GASES = ("nitrogen", "methane", "ethylene", "ethane", "propane", "isobutane", "n-butane", "isopentane")
SET = "soave-redlich-kwong"
PRESSURES = (1.5e5, 15e5)
TEMPERATURES = np.linspace(300.0, 100.0, 64)
SAME_ENTHALPY = 1.0  # J/mol
SAME_AMOUNT = 1e-4
FIRST_SWEEP = """
import time
import numpy as np
from mixjt.properties.models import load_model
start = time.process_time()
load_model("fast", ["nitrogen", "propane"], 1).sweep(np.array([0.5, 0.5]), 1e5, np.array([200.0]))
print(time.process_time() - start)
"""
MEMORY = """
import sys
sys.path.insert(0, "tests/benchmarks")
import engine

before = engine.highest_memory()
bound = engine.model()
engine.our_sweeps(bound, engine.blends(8))
idle = engine.highest_memory()
engine.our_sweeps(bound, engine.blends({count}))
print(before, idle, engine.highest_memory())
"""


def blends(count, gases=GASES, seed=1):
    """Mole fractions with 20 to 50 % nitrogen, the rest spread at random."""
    rng = np.random.default_rng(seed)
    nitrogen = rng.uniform(0.2, 0.5, count)[:, None]
    return np.hstack([nitrogen, rng.dirichlet(np.full(len(gases) - 1, 2.0), count) * (1.0 - nitrogen)])


def timed(function, clock=time.process_time):
    """Seconds and value; processor time, which other work on the machine disturbs little."""
    start = clock()
    value = function()
    return clock() - start, value


def highest_memory():
    """Largest resident memory of this process so far [MB]; Linux only."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024.0
    return float("nan")


def model(gases=GASES, threads=1):
    from mixjt.properties.models import load_model

    return load_model(SET, gases, threads)


def our_sweeps(bound, z):
    """One Sweep per isobar; unsolved states are NaN."""
    return [bound.sweep(z, pressure, TEMPERATURES, strict=False) for pressure in PRESSURES]


def stacked(sweeps, name):
    """Field of the sweeps as (blends, isobars, temperatures)."""
    return np.stack([getattr(sweep, name) for sweep in sweeps], axis=1)


# --- the others: seconds, enthalpies (blends, isobars, temperatures) with NaN where they gave up


def by_thermo(z, label):
    from thermo_models import thermo_flashes

    flash = thermo_flashes(model().parameters)[label]
    flash.PT_SS_TOL, flash.PT_SS_MAXITER = 1e-13, 5000  # its defaults
    return point_by_point(z, lambda row, t, p: flash.flash(T=t, P=p, zs=row.tolist()).H())


def by_coolprop(z):
    import CoolProp

    parameters = model().parameters
    state = CoolProp.AbstractState("SRK", COOLPROP_NAMES)
    for i in range(len(GASES)):
        for j in range(len(GASES)):
            if i != j:
                state.set_binary_interaction_double(i, j, "kij", float(parameters.k0[i, j]))

    def enthalpy(row, temperature, pressure):
        state.set_mole_fractions(row.tolist())
        state.update(CoolProp.PT_INPUTS, pressure, temperature)
        return state.hmolar()

    return point_by_point(z, enthalpy)


def point_by_point(z, enthalpy):
    values = np.full((len(z), len(PRESSURES), TEMPERATURES.size), np.nan)

    def run():
        for k, i, j in np.ndindex(values.shape):
            try:
                values[k, i, j] = enthalpy(z[k], float(TEMPERATURES[j]), PRESSURES[i])
            except (ArithmeticError, ValueError):
                continue

    return timed(run)[0], values


def by_vle(z):
    """Vapour fractions only: its batch flash returns no enthalpy."""
    import vle

    p = model().parameters
    system = vle.System.from_arrays(
        tcs=p.critical_temperatures.tolist(),
        pcs=(p.critical_pressures / 1e3).tolist(),
        omegas=p.acentric_factors.tolist(),
        names=list(GASES),
        eos="SRK",
        kij=p.k0,
    )
    values = np.full((len(z), len(PRESSURES), TEMPERATURES.size), np.nan)

    def run():
        for k, i in np.ndindex(values.shape[:2]):
            kilopascal = np.full(TEMPERATURES.size, PRESSURES[i] / 1e3)
            batch = system.flash_pt_batch(TEMPERATURES, kilopascal, z[k].tolist(), parallel=False)
            values[k, i] = np.where(batch.converged, np.clip(batch.beta, 0.0, 1.0), np.nan)

    return timed(run)[0], values


# --- the tables


def row(name, seconds, states, ours, note):
    each = 1e6 * seconds / states
    print(f"{name:<34}{states:>9}{each:>12.2f}{each / ours:>9.1f}  {note}")


def differences(values, expected, tolerance, unit):
    """How many states fail, and how many of the others differ from ours."""
    solved = np.isfinite(values) & np.isfinite(expected)
    off = np.sum(np.abs(values - expected)[solved] > tolerance)
    return f"{np.sum(~np.isfinite(values))} unsolved, {off} differ by more than {tolerance:g} {unit}"


def comparison(count, sample):
    z, bound = blends(count), model()
    our_sweeps(bound, z[:8])  # compile
    seconds, sweeps = timed(lambda: our_sweeps(bound, z))
    states = count * len(PRESSURES) * TEMPERATURES.size
    ours = 1e6 * seconds / states
    h, vapour = stacked(sweeps, "enthalpy"), stacked(sweeps, "vapour_fraction")
    counts = stacked(sweeps, "phase_count")
    two_liquids, three = int(np.sum(stacked(sweeps, "liquid_count") == 2)), int(np.sum(counts == 3))
    print(f"{'one thread':<34}{'states':>9}{'us/state':>12}{'times':>9}")
    note = f"{np.sum(counts == 0)} unsolved; two liquids in {two_liquids} states, three phases in {three}"
    row("mixjt, batch", seconds, states, ours, note)
    bounds = model(threads=1), model(threads=2)
    walls = [timed(lambda m=each: our_sweeps(m, z), time.perf_counter)[0] for each in bounds]
    print(f"two threads: {walls[0] / walls[1]:.2f} times as fast as one by the clock on the wall")

    few = slice(0, sample)
    each = sample * len(PRESSURES) * TEMPERATURES.size
    for name, label in (("thermo FlashVL", "two phases"), ("thermo FlashVLN", "several phases")):
        seconds, values = by_thermo(z[few], label)
        row(name, seconds, each, ours, differences(values, h[few], SAME_ENTHALPY, "J/mol"))
    seconds, values = by_coolprop(z[few])
    zeros = reference_shift(z[few])
    row(
        "CoolProp, cubic backend",
        seconds,
        each,
        ours,
        differences(values - zeros, h[few], SAME_ENTHALPY, "J/mol"),
    )
    try:
        seconds, values = by_vle(z[few])
    except ImportError:
        print("vle-thermo is not installed: pip install mixjt[benchmark]")
        return
    expected = np.where(vapour > 0.0, vapour, np.nan)[few]
    note = differences(values, expected, SAME_AMOUNT, "of vapour fraction")
    row("vle-thermo, batch, no enthalpy", seconds, each, ours, note)


def reference_shift(z):
    """CoolProp's zero of enthalpy against ours, from the thin vapour at 300 K; (blends, 1, 1)."""
    import CoolProp

    state, bound = CoolProp.AbstractState("SRK", COOLPROP_NAMES), model()
    shifts = []
    for fractions in z:
        state.set_mole_fractions(fractions.tolist())
        state.update(CoolProp.PT_INPUTS, 10.0, 300.0)
        shifts.append(state.hmolar() - bound.state_tp(fractions, 300.0, 10.0).enthalpy)
    return np.array(shifts)[:, None, None]


def growth_with_gases(count):
    print(f"\n{'gases':<34}{'':>9}{'us/state':>12}")
    sizes, costs = range(3, 9), []
    for size in sizes:
        gases = EIGHT_GASES[:size]
        z, bound = blends(count, gases), model(gases)
        seconds, _ = timed(lambda m=bound, z=z: our_sweeps(m, z))
        costs.append(1e6 * seconds / (count * len(PRESSURES) * TEMPERATURES.size))
        print(f"{size:<34}{'':>9}{costs[-1]:>12.2f}")
    slope = np.polyfit(np.log(list(sizes)), np.log(costs), 1)[0]
    print(f"time grows with the {slope:.2f} power of the number of gases")


def in_process(code, **environment):
    """Standard output of a fresh interpreter."""
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
    ).stdout


def compilation():
    with tempfile.TemporaryDirectory() as folder:
        cold = float(in_process(FIRST_SWEEP, NUMBA_CACHE_DIR=folder))
        warm = min(float(in_process(FIRST_SWEEP, NUMBA_CACHE_DIR=folder)) for _ in range(3))
    print(f"\nfirst sweep of a process: {cold:.1f} s with compilation, {warm:.2f} s from the cache")


def memory(count):
    before, idle, peak = (float(value) for value in in_process(MEMORY.format(count=count)).split())
    print(f"peak memory: {peak:.0f} MB; {idle:.0f} MB after the first sweep, {before:.0f} MB before it")


def help_time():
    code = "import sys; sys.argv = ['mixjt', '--help']; from mixjt.cli.app import main; main()"
    try:
        best = min(timed(lambda: in_process(code), time.perf_counter)[0] for _ in range(5))
    except subprocess.CalledProcessError as error:
        print(f"mixjt --help failed: {error.stderr.strip().splitlines()[-1]}")
        return
    print(f"mixjt --help: {best:.2f} s, start of the interpreter included")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--blends", type=int, default=2000)
    parser.add_argument("--sample", type=int, default=8, help="blends given to the other libraries")
    options = parser.parse_args()
    comparison(options.blends, options.sample)
    growth_with_gases(max(8, options.blends // 8))
    compilation()
    memory(options.blends)
    help_time()


if __name__ == "__main__":
    main()
