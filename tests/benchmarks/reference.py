"""Time and agreement of the reference model beside CoolProp's blind flash of the same mixtures, in one run.

    python tests/benchmarks/reference.py [--blends 6] [--every 2] [--lowest 80]

Random blends of nitrogen and hydrocarbons on two isobars of 64 temperatures; the blind flash solves every
so many of them. Times are processor times of one thread, without the compilation. A state counts as two
phases where both vapour and liquid, or two liquids, are present.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

HEAVIER = ("ethylene", "ethane", "propylene", "propane", "isobutane", "n-butane")
PRESSURES = (2e5, 15e5)  # Pa
POINTS = 64
SAME_GIBBS = 1e-7  # of G/(RT)
SAME_ENTHALPY = 1e-2  # J/mol


def random_blends(count, seed=20):
    """Gases and mole fractions; nitrogen up to 45 %, pairs that the library has parameters for."""
    from mixjt.properties.reference_sound import estimated_pairs

    rng, blends = np.random.default_rng(seed), []
    while len(blends) < count:
        chosen = rng.choice(HEAVIER, size=int(rng.integers(2, 5)), replace=False)
        gases = ("nitrogen", "methane", *map(str, chosen))
        z = rng.dirichlet(np.ones(len(gases)))
        if z[0] <= 0.45 and not estimated_pairs(gases):
            blends.append((gases, z))
    return blends


def blind_state(state, model, z, temperature, pressure):
    """Residual enthalpy [J/mol] and Gibbs energy over RT of the library's answer; None where it fails."""
    from CoolProp import CoolProp

    state.unspecify_phase()
    try:
        state.update(CoolProp.PT_INPUTS, pressure, temperature)
    except ValueError:
        return None
    enthalpy, quality = state.hmolar(), state.Q()
    phases = [(1.0, z)]
    if 0.0 < quality < 1.0:
        phases = [(quality, np.array(state.mole_fractions_vapor()))]
        phases.append((1.0 - quality, np.array(state.mole_fractions_liquid())))
    gibbs = sum(
        share * np.sum(x * (np.log(x) + model.log_fugacity_coefficients(x / x.sum(), temperature, pressure)))
        for share, x in phases
    )
    state.specify_phase(CoolProp.iphase_gas)
    state.update(CoolProp.DmolarT_INPUTS, 1e-9, temperature)
    return enthalpy - state.hmolar(), gibbs


def blind_time(state, temperature, pressure):
    """Seconds of processor time of one blind flash."""
    from CoolProp import CoolProp

    state.unspecify_phase()
    start = time.process_time()
    try:
        state.update(CoolProp.PT_INPUTS, pressure, temperature)
    except ValueError:
        pass
    return time.process_time() - start


def isobar(model, z, pressure, temperatures):
    """Sweep of an isobar, residual enthalpies, and the best processor time of three."""
    best = np.inf
    for _ in range(3):
        start = time.process_time()
        sweep = model.sweep(z, pressure, temperatures, strict=False)
        best = min(best, time.process_time() - start)
    zeros = np.zeros((1, temperatures.size, 8))
    ideal = model._in_units(zeros, z[None], np.full((1, temperatures.size), pressure), temperatures)
    return sweep, sweep.enthalpy[0] - ideal.enthalpy[0], best


def main():
    """Run and print."""
    from CoolProp import CoolProp

    from mixjt.gases.catalogue import gas
    from mixjt.properties.reference import ReferenceModel

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--blends", type=int, default=6)
    parser.add_argument("--every", type=int, default=2, help="the blind flash solves every so many points")
    parser.add_argument("--lowest", type=float, default=80.0, help="lowest temperature [K]")
    options = parser.parse_args()
    temperatures = np.linspace(options.lowest, 310.0, POINTS)
    ours, blind = {True: [], False: []}, {True: [], False: []}
    tally = dict.fromkeys(("same", "other", "lower", "higher", "failed", "unsolved", "falling"), 0)
    isobars = []
    ReferenceModel(("nitrogen", "methane")).state_tp(np.array([0.5, 0.5]), 200.0, 1e5)  # compile first
    for gases, z in random_blends(options.blends):
        model = ReferenceModel(gases, threads=1)
        state = CoolProp.AbstractState("HEOS", "&".join(gas(name).cas for name in gases))
        state.set_mole_fractions(list(z))
        for pressure in PRESSURES:
            sweep, residual, seconds = isobar(model, z, pressure, temperatures)
            two = sweep.phase_count[0] > 1
            isobars.append((seconds / POINTS, two.mean()))
            tally["unsolved"] += int(np.sum(sweep.phase_count[0] == 0))
            tally["falling"] += int(np.sum(np.diff(sweep.enthalpy[0]) < 0.0))
            for share in (True, False):
                picked = np.sort(temperatures[two == share])
                if picked.size > 2:
                    _, _, spent = isobar(model, z, pressure, picked)
                    ours[share].append((spent, picked.size))
            for k in range(0, POINTS, options.every):
                blind[bool(two[k])].append(blind_time(state, temperatures[k], pressure))
                answer = blind_state(state, model, z, temperatures[k], pressure)
                if answer is None:
                    tally["failed"] += 1
                    continue
                gap = sweep.gibbs[0, k] - answer[1]
                if abs(gap) <= SAME_GIBBS:
                    close = abs(residual[k] - answer[0]) <= SAME_ENTHALPY
                    tally["same" if close else "other"] += 1
                else:
                    tally["lower" if gap < 0.0 else "higher"] += 1
    print(f"mean of whole isobars: {1e3 * np.mean([each[0] for each in isobars]):.3f} ms a point")
    for share, name in ((True, "two-phase"), (False, "single-phase")):
        mine = sum(each[0] for each in ours[share]) / max(1, sum(each[1] for each in ours[share]))
        theirs = np.array(blind[share])
        print(
            f"{name}: ours {1e3 * mine:.3f} ms a point along isobars; blind mean {1e3 * theirs.mean():.1f} ms, "
            f"median {1e3 * np.median(theirs):.1f} ms; ratio of means {theirs.mean() / mine:.0f}"
        )
    print(
        f"points compared: {sum(tally[key] for key in ('same', 'other', 'lower', 'higher', 'failed'))}\n"
        f"  same Gibbs energy and enthalpy within {SAME_ENTHALPY:g} J/mol: {tally['same']}\n"
        f"  same Gibbs energy, other enthalpy: {tally['other']}\n"
        f"  ours lower: {tally['lower']}, ours higher: {tally['higher']}, blind failed: {tally['failed']}\n"
        f"all points: unsolved {tally['unsolved']}, enthalpy falling with temperature {tally['falling']}"
    )


if __name__ == "__main__":
    main()
