"""The compiled flash: brute force over compositions, random blends, false densities, and its cache."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import minimize

from mixjt import compiled
from mixjt.errors import ConvergenceError
from mixjt.fluid.flash.coefficients import ENDS, blend_record, equations
from mixjt.fluid.flash.engine import single_phase
from mixjt.fluid.multi_fluid import MultiFluidModel
from mixjt.gases.catalogue import gas

PRACTICAL = (
    "nitrogen", "argon", "methane", "ethane", "propane", "isobutane", "n-butane", "isopentane", "n-pentane", "ethylene",
)  # fmt: skip


def hull_gibbs(gases, share, temperature, pressure, points=600):
    """Gibbs energy over RT of the best one or two phases of a binary, from single phases on a grid of compositions.

    The lower convex hull of the single-phase Gibbs energy at the overall composition: no flash, no stability test.
    """
    record, grid = np.array([blend_record(gases)]), np.linspace(1e-6, 1.0 - 1e-6, points)
    grid = np.sort(np.append(grid, share))
    gibbs = []
    for x in grid:
        y = np.array([x, 1.0 - x])
        gibbs.append(y @ (np.log(y) + single_phase(record, y, temperature, pressure)["ln_phi"][:2]))
    gibbs, here = np.array(gibbs), np.searchsorted(grid, share)
    left, right = np.arange(here), np.arange(here + 1, grid.size)
    weight = (grid[right][None, :] - share) / (grid[right][None, :] - grid[left][:, None])
    chords = weight * gibbs[left][:, None] + (1.0 - weight) * gibbs[right][None, :]
    return min(gibbs[here], chords.min())


@pytest.mark.parametrize(("gases", "temperatures"), [
    (("nitrogen", "ethane"), (85.0, 100.0, 120.0, 130.0, 160.0)),
    (("methane", "propane"), (150.0, 200.0, 250.0)),
    (("nitrogen", "propane"), (95.0, 120.0, 250.0)),
])  # fmt: skip
def test_gibbs_energy_is_the_least_by_brute_force(gases, temperatures):
    model = MultiFluidModel(gases, threads=1)
    for temperature in temperatures:
        for pressure in (1e5, 5e5, 25e5):
            for share in (0.1, 0.5, 0.9):
                z = np.array([share, 1.0 - share])
                found = model.sweep(z, pressure, np.array([temperature])).gibbs[0, 0]
                brute = hull_gibbs(gases, share, temperature, pressure, 150)
                assert found <= brute + 1e-8  # never the higher of two known
                assert found == pytest.approx(brute, abs=2e-3)  # the grid's coarseness


def split_gibbs(record, z, temperature, pressure, shares):
    """Least Gibbs energy over RT of as many phases as shares (k, c) has rows, by a quasi-Newton search from there.

    Unknown are the logarithms of the amounts; the chemical potentials are the slopes (Gibbs and Duhem).
    """

    def energy(unknown):
        part = np.exp(unknown.reshape(shares.shape) - np.max(unknown.reshape(shares.shape), axis=0))
        part /= part.sum(axis=0)
        amounts, potential = np.maximum(part * z, 1e-300), np.zeros(shares.shape)
        for k, row in enumerate(amounts):
            x = row / row.sum()
            phase = single_phase(record, x, temperature, pressure)
            if phase is None:
                return 1e6, np.zeros(unknown.size)
            potential[k] = np.log(x) + phase["ln_phi"][: z.size]
        return np.sum(amounts * potential), (amounts * (potential - np.sum(part * potential, axis=0))).ravel()

    options = {"maxiter": 200, "gtol": 1e-7}
    return minimize(energy, np.log(shares).ravel(), jac=True, method="BFGS", options=options).fun


@pytest.mark.slow
def test_no_search_from_many_starts_finds_less_gibbs_energy():
    """80 states with two liquids or three phases against scipy, which is given nothing but single phases."""
    rng, met, equal = np.random.default_rng(31), 0, 0
    while met < 80:
        gases = tuple(map(str, rng.choice(PRACTICAL, int(rng.integers(2, 7)), replace=False)))
        z = np.maximum(rng.dirichlet(np.ones(len(gases))), 1e-4)
        z, model = z / z.sum(), MultiFluidModel(gases, threads=1)
        temperature, pressure = rng.uniform(75.0, 140.0), float(np.exp(rng.uniform(np.log(5e4), np.log(4e6))))
        state = model.sweep(z, pressure, np.array([temperature]))
        if state.liquid_count[0, 0] < 2 and state.phase_count[0, 0] < 3:
            continue
        met += 1
        record = np.array([blend_record(gases)])
        starts = [np.exp(rng.normal(0.0, 4.0, (int(rng.integers(2, 5)), z.size))) for _ in range(5)]
        found = [split_gibbs(record, z, temperature, pressure, shares) for shares in starts]
        assert state.gibbs[0, 0] <= min(found) + 1e-7, (gases, z, temperature, pressure)
        equal += min(found) < state.gibbs[0, 0] + 1e-5
    assert equal > 40  # the search itself gets there in at least half of them


def test_random_practical_blends_are_solved_and_their_enthalpy_rises():
    """Heat capacity at constant pressure is positive in every stable state, so that h falls along falling T."""
    rng = np.random.default_rng(17)
    for _ in range(60):
        gases = tuple(map(str, rng.choice(PRACTICAL, int(rng.integers(2, 8)), replace=False)))
        z = np.maximum(rng.dirichlet(np.ones(len(gases))), 1e-5)
        pressure = float(np.exp(rng.uniform(np.log(5e4), np.log(4e6))))
        temperatures = np.sort(rng.uniform(80.0, 350.0, 40))
        model = MultiFluidModel(gases, threads=1)
        sweep = model.sweep(z / z.sum(), pressure, temperatures, strict=False)
        assert sweep.phase_count.min() > 0
        assert np.diff(sweep.enthalpy[0]).min() > 0.0


def test_a_test_at_every_point_finds_nothing_lower():
    """Between two tests a sweep follows its phases; a phase that comes meanwhile is found by going back."""
    rng, lower = np.random.default_rng(23), 0
    for _ in range(80):
        gases = tuple(map(str, rng.choice(PRACTICAL, int(rng.integers(2, 8)), replace=False)))
        z = np.maximum(rng.dirichlet(np.ones(len(gases))), 1e-4)
        pressure = float(np.exp(rng.uniform(np.log(5e4), np.log(4e6))))
        model = MultiFluidModel(gases, threads=1)
        temperatures = np.linspace(100.0, 340.0, 48)
        followed = model.sweep(z / z.sum(), pressure, temperatures, strict=False)
        tested = model.careful().sweep(z / z.sum(), pressure, temperatures, strict=False)
        assert np.array_equal(followed.phase_count > 0, tested.phase_count > 0)
        lower += int(np.nansum(tested.gibbs < followed.gibbs - 1e-6))
    assert lower == 0


def test_the_order_of_the_gases_does_not_matter():
    z, temperatures = np.array([0.35, 0.25, 0.25, 0.15]), np.linspace(90.0, 300.0, 40)
    gases = ("nitrogen", "methane", "ethane", "n-butane")
    first = MultiFluidModel(gases).sweep(z, 5e5, temperatures)
    other = MultiFluidModel(gases[::-1]).sweep(z[::-1], 5e5, temperatures)
    assert other.enthalpy == pytest.approx(first.enthalpy, abs=1e-3)
    assert np.array_equal(other.phase_count, first.phase_count)


def test_a_trace_is_found_beside_its_own_liquid():
    """A liquid of 1e-9 moles is a phase like any other; two false ones beside it were taken for the answer."""
    model = MultiFluidModel(("nitrogen", "propane"), threads=1)
    state = model.state_tp(np.array([1.0 - 1e-9, 1e-9]), 83.6777, 2e5)
    assert state.phase_text == "vapour + liquid"
    assert state.phases[1].composition[1] > 0.9


def test_two_equations_end_and_the_others_keep_their_liquids():
    """Trifluoromethane's not below its range as CoolProp states it, tetrafluoromethane's at its triple point, 89.54 K
    (CoolProp's range begins at 120 K); other liquids are followed from 60 K, frozen or not."""
    assert PropsSI("Tmin", "R23") <= ENDS["trifluoromethane"] < PropsSI("Tmin", "R23") + 7.0
    for name in ENDS:
        model = MultiFluidModel(("methane", name))
        assert np.isfinite(model.state_tp(np.array([0.5, 0.5]), ENDS[name], 5e5).enthalpy)
        with pytest.raises(ConvergenceError, match=f"the equation of {name} ends"):
            model.state_tp(np.array([0.5, 0.5]), ENDS[name] - 0.1, 5e5)
    for name in set(equations()["gases"]) - set(ENDS):
        record, warmest = np.array([blend_record((name,))]), 0.7 * gas(name).critical_temperature
        liquids = [single_phase(record, np.ones(1), t, 5e6) for t in np.arange(60.0, warmest, 5.0)]
        densities = [np.nan if each is None else each["delta"] for each in liquids]
        assert np.all(np.diff(densities) < 0.0), name


def test_false_densities_between_vapour_and_liquid_are_no_phases():
    """At 100 bar and 260 K propane + n-butane is far above its bubble pressure of some 1.2 bar (measured: Kayukawa et
    al., J. Chem. Eng. Data 50 (2005) 579); the equation has a root between vapour and liquid with little Gibbs energy."""
    state = MultiFluidModel(("propane", "n-butane")).state_tp(np.array([0.25, 0.75]), 260.0, 1e7)
    assert state.phase_text == "liquid"
    assert 8e-5 < state.molar_volume < 9.5e-5


def test_an_edited_kernel_is_not_taken_from_the_cache(tmp_path, monkeypatch):
    """The stamp of a kernel follows every file that may have copies of its code inlined, and only those."""
    flash = Path("fluid") / "flash"
    shutil.copytree(compiled.ROOT / flash, tmp_path / flash)
    for shared in ("compiled.py", "linked.py", "records.py"):
        shutil.copy(compiled.ROOT / shared, tmp_path)
    files = [flash / f"{name}.py" for name in ("sweep", "newton", "terms", "memory")]

    def stamps() -> list[str]:
        compiled.source_stamp.cache_clear()
        found = [compiled.source_stamp(compiled.ROOT / file) for file in files]
        compiled.source_stamp.cache_clear()
        return found

    before = stamps()
    monkeypatch.setattr(compiled, "ROOT", tmp_path)
    assert stamps() == before
    edited = tmp_path / flash / "terms.py"
    edited.write_text(edited.read_text() + "# edited\n")
    after = stamps()
    assert [file.stem for file, old, new in zip(files, before, after, strict=True) if old != new] == ["sweep", "newton", "terms"]


def test_three_liquids_are_followed_over_wide_steps():
    """The state of least Gibbs energy is the stable one: sweeps by 1 K and by 0.1 K must tell the same fugacities."""
    model = MultiFluidModel(("nitrogen", "methane", "propane", "isobutane")).careful()
    z = np.array([0.23243885, 0.23688968, 0.34107039, 0.18960109])
    z /= z.sum()
    coarse, fine = np.arange(88.0, 95.5, 1.0), np.round(np.arange(88.0, 95.05, 0.1), 6)
    found = [model.log_fugacities(np.tile(z, (t.size, 1)), t, np.full(t.size, 3.15e5)) @ z for t in (coarse, fine)]
    assert found[0] == pytest.approx(found[1][np.isin(fine, coarse)], abs=1e-6)
