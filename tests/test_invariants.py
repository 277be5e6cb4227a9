"""What must hold for the compiled flash whatever its numbers are."""

import numpy as np
import pytest
from blend_samples import COMMON_GASES, SIX_GASES, log_space, random_batch, random_state

from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.flash.columns import OUTPUTS

GRID = np.linspace(80.0, 320.0, 61)
FIELDS = ("enthalpy", "entropy", "molar_volume", "vapour_fraction", "phase_count", "liquid_count", "gibbs")
PRESSURES = (1.5e5, 5e5, 15e5, 25e5)


# Where a sweep stops Newton's method (engine.ALONG) the error left is about its square, 1e-7 of RT or of a fraction.
ALONG = 1e-6


def assert_same(first, second, rtol=1e-9, fields=FIELDS):
    """Two sweeps agree, in what they could not solve too; rtol is relative to the span that each field covers."""
    assert np.array_equal(first.phase_count == 0, second.phase_count == 0)
    for name in fields:
        a, b = np.nan_to_num(getattr(first, name)), np.nan_to_num(getattr(second, name))
        assert a.shape == b.shape
        assert np.max(np.abs(a - b)) <= rtol * max(1.0, np.max(np.abs(a))), name


STATED = 120.0  # K, from which tetrafluoromethane's equation is stated (CoolProp); below, where it is carried on, answers may lack


def extrapolated(z, grid):
    """Which states (n, m) of blends of the common gases are colder than an equation is stated for."""
    holds = z[:, COMMON_GASES.index("tetrafluoromethane"), None] > 0.0
    return holds & (np.asarray(grid) < STATED)


def solved_states(model, rng, z):
    """A random state of each blend (n, c); those extrapolated are left out."""
    states = [(row, *random_state(rng)) for row in z]
    return [
        (row, model.state_tp(row, temperature, pressure))
        for row, temperature, pressure in states
        if not extrapolated(row[None], temperature)[0, 0]
    ]


def log_fugacities(phase):
    """ln (f_i / p) of the gases present."""
    there = phase.composition > 0.0
    return (np.log(phase.composition[there]) + phase.log_fugacity_coefficients[there]), there


def assert_in_equilibrium(state, z, tolerance=1e-8):
    """Phase amounts close the balance and every gas has one fugacity."""
    assert sum(phase.fraction for phase in state.phases) == pytest.approx(1.0, abs=1e-12)
    balance = sum(phase.fraction * phase.composition for phase in state.phases)
    assert np.max(np.abs(balance - z)) < 1e-12
    reference, present = log_fugacities(state.phases[0])
    assert np.array_equal(present, np.asarray(z) > 0.0)
    for phase in state.phases:
        assert 0.0 < phase.fraction <= 1.0
        assert np.max(np.abs(log_fugacities(phase)[0] - reference)) < tolerance


# --- the same blend said in another way


@pytest.mark.parametrize("pressure", PRESSURES)
def test_order_of_the_gases_changes_nothing(model_of, six, six_z, pressure):
    order = [3, 0, 5, 2, 1, 4]
    other = model_of([SIX_GASES[k] for k in order])
    assert_same(six.sweep(six_z, pressure, GRID), other.sweep(six_z[order], pressure, GRID))


def test_a_gas_left_out_gives_the_smaller_blend(model_of, common):
    rng = np.random.default_rng(7)
    for z in random_batch(rng, 12):
        there = np.flatnonzero(z)
        smaller = model_of([COMMON_GASES[k] for k in there])
        pressure = float(rng.choice(PRESSURES))
        whole, part = (model.sweep(x, pressure, GRID, strict=False) for model, x in ((common, z), (smaller, z[there])))
        assert_same(whole, part)
        whole, part = common.state_tp(z, 120.0, pressure), smaller.state_tp(z[there], 120.0, pressure)
        assert whole.phase_text == part.phase_text
        for a, b in zip(whole.phases, part.phases, strict=True):
            assert a.composition[there] == pytest.approx(b.composition, rel=1e-9)
            assert a.log_fugacity_coefficients[there] == pytest.approx(b.log_fugacity_coefficients, rel=1e-9)


def test_a_trace_hardly_matters(six):
    z = np.array([0.4, 0.3, 0.0, 0.3, 0.0, 0.0])
    trace = z * (1.0 - 1e-9) + np.array([0.0, 0.0, 0.0, 0.0, 0.0, 1e-9])
    clean, dirty = six.sweep(z, 5e5, GRID), six.sweep(trace, 5e5, GRID)
    assert np.max(np.abs(clean.enthalpy - dirty.enthalpy)) < 1e-2


def test_single_blend_and_batch_of_one(six, six_z):
    assert_same(six.sweep(six_z, 5e5, GRID), six.sweep(six_z[None], np.full((1, GRID.size), 5e5), GRID), 0.0)


# --- the same states asked for in another way


def test_order_of_the_temperatures_changes_nothing(six, six_z):
    order = np.random.default_rng(1).permutation(GRID.size)
    plain, mixed = six.sweep(six_z, 15e5, GRID), six.sweep(six_z, 15e5, GRID[order])
    for name in FIELDS:  # but for rounding: the ideal gases' part is a sum of terms that cancel, several temperatures at a time
        one, other = getattr(plain, name)[:, order], getattr(mixed, name)
        assert np.abs(one - other).max() <= 1e-13 * np.abs(one).max()


def test_a_batch_is_its_blends_one_by_one(common):
    z = random_batch(np.random.default_rng(2), 12)
    pressures = log_space(1e5, 25e5, np.random.default_rng(3), 12)[:, None]
    batch = common.sweep(z, pressures, GRID, strict=False)
    for k, row in enumerate(z):
        alone = common.sweep(row, pressures[k], GRID, strict=False)
        for name in FIELDS:  # to the last digits: sums over gases may run in another order
            assert getattr(batch, name)[k] == pytest.approx(getattr(alone, name)[0], rel=1e-13, abs=1e-9, nan_ok=True)


def test_threads_change_nothing(model_of, common):
    z = random_batch(np.random.default_rng(4), 24)
    one, three = (model.sweep(z, 8e5, GRID, strict=False) for model in (common, model_of(COMMON_GASES, threads=3)))
    assert_same(one, three, 0.0)


def test_a_sweep_is_its_points_one_by_one(common):
    rng = np.random.default_rng(5)
    z = random_batch(rng, 16)
    pressures = log_space(1e5, 25e5, rng, 16)
    sweep = common.sweep(z, pressures[:, None], GRID, strict=False)
    for k, row in enumerate(z):
        for j in np.flatnonzero(sweep.phase_count[k])[::6]:
            state = common.state_tp(row, GRID[j], pressures[k])
            assert len(state.phases) == sweep.phase_count[k, j]
            rt = 8.314 * GRID[j]
            assert state.enthalpy == pytest.approx(sweep.enthalpy[k, j], abs=ALONG * rt)
            assert state.entropy == pytest.approx(sweep.entropy[k, j], abs=ALONG * 8.314)
            assert state.molar_volume == pytest.approx(sweep.molar_volume[k, j], rel=ALONG)
            assert state.vapour_fraction == pytest.approx(sweep.vapour_fraction[k, j], abs=ALONG)


def test_the_grid_changes_nothing(common):
    rng = np.random.default_rng(6)
    z = random_batch(rng, 16)
    pressures = log_space(1e5, 25e5, rng, 16)[:, None]
    coarse = common.sweep(z, pressures, GRID, strict=False)
    fine = common.sweep(z, pressures, np.linspace(GRID[0], GRID[-1], 3 * (GRID.size - 1) + 1), strict=False)
    both = ~extrapolated(z, GRID)
    assert np.isfinite(coarse.gibbs[both]).all() and np.isfinite(fine.gibbs[:, ::3][both]).all()
    assert np.max(np.abs(coarse.gibbs - fine.gibbs[:, ::3])[both]) < 1e-8
    assert np.max(np.abs(coarse.enthalpy - fine.enthalpy[:, ::3])[both]) < 1e-2


def test_default_sweep_misses_no_phase(model_of, common):
    """Stability tested every 16 K or at every point: the same Gibbs energy everywhere, and nothing unsolved."""
    rng = np.random.default_rng(8)
    z = random_batch(rng, 60)
    pressures = log_space(1e5, 25e5, rng, 60)[:, None]
    grid = np.linspace(70.0, 320.0, 64)
    quick = common.sweep(z, pressures, grid, strict=False)
    careful = model_of(COMMON_GASES, check_span=-1.0).sweep(z, pressures, grid, strict=False)
    for sweep in (quick, careful):
        assert not np.any((sweep.phase_count == 0) & ~extrapolated(z, grid))
    wrong = np.argwhere((np.abs(quick.gibbs - careful.gibbs) > 1e-7) & ~extrapolated(z, grid))
    assert [(int(k), round(float(grid[j]), 2)) for k, j in wrong] == []


@pytest.mark.parametrize(
    "gases, z, pressure, temperature",
    [
        (("n-butane", "isopentane", "n-pentane"), (0.9364, 0.0019, 0.0617), 1.21e5, 279.5),
        (("tetrafluoromethane", "ethylene"), (0.464, 0.536), 1.78e5, 166.2),
        (("nitrogen", "argon"), (0.607, 0.393), 1.07e5, 81.2),
        (("propylene", "isobutane"), (0.335, 0.665), 1.11e5, 251.2),
    ],
)
def test_a_narrow_two_phase_region_between_two_checks(model_of, gases, z, pressure, temperature):
    # narrower than the span between two stability tests, and met by one point of the grid only
    model, z = model_of(gases), np.array(z)
    state = model.state_tp(z, temperature, pressure)
    assert state.phase_text == "vapour + liquid"
    for above in (12, 13, 14):
        grid = temperature + 4.05 * np.arange(above, -4, -1)
        swept = model.sweep(z, pressure, grid)
        assert swept.enthalpy[0, above] == pytest.approx(state.enthalpy, abs=1e-3)


# --- enthalpy as a function of temperature


def test_enthalpy_is_continuous_along_an_isobar(six, six_z):
    # through dew point, third phase and bubble point: halving the step halves the largest change
    for pressure in PRESSURES:
        changes = []
        for points in (6001, 12001):
            sweep = six.sweep(six_z, pressure, np.linspace(80.0, 340.0, points))
            assert {1, 2} <= set(sweep.phase_count[0])
            changes.append(np.max(np.abs(np.diff(sweep.enthalpy[0]))))
        assert changes[1] == pytest.approx(0.5 * changes[0], rel=0.05)


def test_enthalpy_and_entropy_rise_with_temperature(common):
    rng = np.random.default_rng(9)
    z, grid = random_batch(rng, 12, without="tetrafluoromethane"), np.linspace(80.0, 320.0, 241)
    sweep = common.sweep(z, log_space(1e5, 25e5, rng, 12)[:, None], grid)
    assert np.min(np.diff(sweep.enthalpy)) > 0.0
    assert np.min(np.diff(sweep.entropy)) > 0.0


# --- equilibrium


def test_balance_and_fugacities(common):
    rng = np.random.default_rng(10)
    seen = set()
    for z, state in solved_states(common, rng, random_batch(rng, 150)):
        assert_in_equilibrium(state, z)
        volumes = [phase.molar_volume for phase in state.phases]
        assert volumes == sorted(volumes, reverse=True)
        seen.add(state.phase_text)
    assert {"vapour", "vapour + liquid", "liquid + liquid", "vapour + liquid + liquid"} <= seen


def test_bulk_values_are_the_sum_over_the_phases(six, six_z):
    for temperature in (90.0, 105.0, 150.0, 300.0):
        state = six.state_tp(six_z, temperature, 10e5)
        for name in ("enthalpy", "entropy", "molar_volume"):
            total = sum(phase.fraction * getattr(phase, name) for phase in state.phases)
            assert getattr(state, name) == pytest.approx(total, rel=1e-12)


def test_three_phases(six, six_z):
    grid = np.arange(95.0, 130.0, 0.05)
    sweep = six.sweep(six_z, 10e5, grid)
    inside = np.flatnonzero((sweep.phase_count[0] == 3) & (sweep.vapour_fraction[0] > 0.0))
    assert inside.size > 5
    state = six.state_tp(six_z, grid[inside[inside.size // 2]], 10e5)
    assert state.phase_text == "vapour + liquid + liquid"
    assert_in_equilibrium(state, six_z)


def test_gibbs_energy_of_a_sweep(six, six_z):
    sweep = six.sweep(six_z, 10e5, GRID)
    for j in range(0, GRID.size, 5):
        state = six.state_tp(six_z, GRID[j], 10e5)
        terms = (p.fraction * p.composition @ log_fugacities(p)[0] for p in state.phases)
        assert sweep.gibbs[0, j] == pytest.approx(sum(terms), abs=1e-9)


# --- states by enthalpy or entropy


def test_state_by_enthalpy_or_entropy_gives_back_the_temperature(common):
    rng = np.random.default_rng(11)
    for z, state in solved_states(common, rng, random_batch(rng, 12, without="tetrafluoromethane")):
        temperature, pressure = state.temperature, state.pressure
        for found in (
            common.state_hp(z, state.enthalpy, pressure),
            common.state_sp(z, state.entropy, pressure),
        ):
            assert found.temperature == pytest.approx(temperature, abs=1e-6)
            assert found.phase_text == state.phase_text
            assert found.enthalpy == pytest.approx(state.enthalpy, abs=1e-3)
            assert_in_equilibrium(found, z)


@pytest.mark.parametrize("gas, pressure", [("nitrogen", 2e5), ("propane", 9e5)])
@pytest.mark.parametrize("share", [0.01, 0.37, 0.99])
def test_pure_gas_between_liquid_and_vapour(model_of, gas, pressure, share):
    model, one = model_of((gas,)), np.ones(1)
    boiling = model.bubble_temperature(one, pressure)
    ends = [model.state_tp(one, boiling * (1.0 + sign * 1e-9), pressure) for sign in (-1.0, 1.0)]
    for quantity, solve in (("enthalpy", model.state_hp), ("entropy", model.state_sp)):
        low, high = (getattr(end, quantity) for end in ends)
        state = solve(one, low + share * (high - low), pressure)
        assert state.phase_text == "vapour + liquid"
        assert state.temperature == pytest.approx(boiling, rel=1e-8)
        assert state.vapour_fraction == pytest.approx(share, abs=1e-5)
        assert_in_equilibrium(state, one, tolerance=1e-7)


def test_two_gases_in_three_phases_by_enthalpy(model_of):
    """Two gases in three phases have one temperature at a pressure: enthalpy jumps there, and picks amounts."""
    model, z, pressure = model_of(("nitrogen", "ethane")), np.array([0.6, 0.4]), 10e5
    jump = model.bubble_temperature(z, pressure)
    low, high = (model.state_tp(z, jump * (1.0 + sign * 1e-6), pressure).enthalpy for sign in (-1.0, 1.0))
    state = model.state_hp(z, 0.5 * (low + high), pressure)
    assert state.enthalpy == pytest.approx(0.5 * (low + high), abs=1e-3)
    assert state.phase_text == "vapour + liquid + liquid"
    assert_in_equilibrium(state, z, tolerance=2e-7)  # phases of both sides of the jump, JUMP_WIDTHS apart


@pytest.mark.parametrize("heavy", [1e-2, 1e-4, 1e-6, 1e-9])
@pytest.mark.parametrize("gas", ["methane", "propane", "n-pentane"])
def test_next_to_pure(model_of, gas, heavy):
    """The states of nitrogen with a trace of something heavier run into those of pure nitrogen."""
    model, pure = model_of(("nitrogen", gas)), model_of(("nitrogen",))
    z, pressure = np.array([1.0 - heavy, heavy]), 2e5
    boiling = pure.bubble_temperature(np.ones(1), pressure)
    grid = boiling + np.concatenate([np.linspace(-8.0, -1.0, 8), np.linspace(-0.2, 0.2, 81), [1.0, 20.0]])
    mixed, alone = model.sweep(z, pressure, grid), pure.sweep(np.ones(1), pressure, grid)
    away = np.abs(grid - boiling) > 0.9
    if heavy <= 1e-4:
        close = 1e5 * heavy + 1e-6  # J/mol: a mole of liquid propane is some 3e4 J/mol below its vapour
        assert np.max(np.abs(mixed.enthalpy - alone.enthalpy)[0, away]) < close
    for temperature in grid:
        assert_in_equilibrium(model.state_tp(z, float(temperature), pressure), z)


def test_enthalpies_next_to_pure(model_of):
    model, z, pressure = model_of(("nitrogen", "propane")), np.array([0.9999, 0.0001]), 2e5
    low, high = (model.state_tp(z, t, pressure).enthalpy for t in (80.0, 90.0))
    for share in (0.1, 0.5, 0.9):
        state = model.state_hp(z, low + share * (high - low), pressure)
        assert state.enthalpy == pytest.approx(low + share * (high - low), abs=1e-3)
        assert_in_equilibrium(state, z, tolerance=1e-7)


# --- one thermodynamic surface


STATES = [(95.0, 15e5), (104.5, 10e5), (130.0, 5e5), (180.0, 15e5), (250.0, 2e5), (300.0, 25e5)]


@pytest.mark.parametrize("temperature, pressure", STATES)
def test_heat_capacity_by_enthalpy_and_by_entropy(six, six_z, temperature, pressure):
    # dh = T ds along an isobar, in every phase region
    step = 1e-3
    low, high = (six.state_tp(six_z, temperature + s, pressure) for s in (-step, step))
    assert low.phase_text == high.phase_text
    by_enthalpy = (high.enthalpy - low.enthalpy) / (2.0 * step)
    by_entropy = temperature * (high.entropy - low.entropy) / (2.0 * step)
    assert by_entropy == pytest.approx(by_enthalpy, rel=1e-6)


@pytest.mark.parametrize("temperature, pressure", STATES)
def test_volume_is_the_slope_of_the_gibbs_energy(six, six_z, temperature, pressure):
    # dg = v dp along an isotherm, g = h - T s
    step = 1e-4 * pressure
    low, middle, high = (six.state_tp(six_z, temperature, pressure + s) for s in (-step, 0.0, step))
    gibbs = [state.enthalpy - temperature * state.entropy for state in (low, high)]
    assert (gibbs[1] - gibbs[0]) / (2.0 * step) == pytest.approx(middle.molar_volume, rel=1e-5)


def test_fugacities_are_slopes_of_the_gibbs_energy(six, six_z):
    # d(n g)/d(n_i) = mu_i^0 + R T ln f_i: moving gas between two mole fractions changes g by their difference
    temperature, pressure, shift = 300.0, 2e5, 1e-5
    middle = six.state_tp(six_z, temperature, pressure)
    logs = log_fugacities(middle.phases[0])[0]
    gibbs = []
    for sign in (-1.0, 1.0):
        z = six_z.copy()
        z[0], z[3] = z[0] + sign * shift, z[3] - sign * shift
        gibbs.append(six.sweep(z, pressure, np.array([temperature])).gibbs[0, 0])
    assert (gibbs[1] - gibbs[0]) / (2.0 * shift) == pytest.approx(logs[0] - logs[3], rel=1e-6)


def test_ideal_gas_limit(six, six_z):
    # zero of enthalpy and entropy: the ideal gas at 298.15 K and 101325 Pa, plus the entropy of mixing
    state = six.state_tp(six_z, 298.15, 1.0)
    assert state.enthalpy == pytest.approx(0.0, abs=0.05)
    mixing = -8.31446261815324 * np.sum(six_z * np.log(six_z))
    assert state.entropy == pytest.approx(mixing + 8.31446261815324 * np.log(101325.0), abs=1e-3)


# --- bad input


BAD = {
    "sum": (np.array([0.4, 0.3, 0.1, 0.1, 0.05, 0.0]), 150.0, 5e5),
    "negative": (np.array([0.5, 0.6, -0.1, 0.0, 0.0, 0.0]), 150.0, 5e5),
    "not a number": (np.array([0.5, 0.5, np.nan, 0.0, 0.0, 0.0]), 150.0, 5e5),
    "too few": (np.array([0.5, 0.5]), 150.0, 5e5),
    "cold": (None, 20.0, 5e5),
    "hot": (None, 2000.0, 5e5),
    "no temperature": (None, np.nan, 5e5),
    "no pressure": (None, 150.0, 0.0),
    "below nothing": (None, 150.0, -1e5),
    "pressure unknown": (None, 150.0, np.nan),
    "pressure without end": (None, 150.0, np.inf),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_refused_in_one_line(six, six_z, case):
    z, temperature, pressure = BAD[case]
    z = six_z if z is None else z
    calls = [
        lambda: six.state_tp(z, temperature, pressure),
        lambda: six.sweep(z, pressure, np.array([temperature])),
        lambda: six.isotherm(z, temperature, np.array([pressure])),
    ]
    if np.isfinite(temperature) and 60.0 <= temperature <= 600.0:
        calls += [
            lambda: six.state_hp(z, 0.0, pressure),
            lambda: six.state_sp(z, 0.0, pressure),
            lambda: six.bubble_temperature(z, pressure),
            lambda: six.dew_temperature(z, pressure),
        ]
    if 0.0 < pressure < 1e7:
        calls += [lambda: six.bubble_pressure(z, temperature), lambda: six.dew_pressure(z, temperature)]
    for call in calls:
        with pytest.raises(InputError) as caught:
            call()
        assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize("enthalpy", [-1e6, 1e6, np.nan])
def test_an_enthalpy_out_of_reach(six, six_z, enthalpy):
    with pytest.raises((UnreachableError, InputError)) as caught:
        six.state_hp(six_z, enthalpy, 5e5)
    assert len(str(caught.value).splitlines()) == 1


def test_a_failed_flash_is_an_error_not_a_number(six, six_z, monkeypatch):
    def nothing(z, pressures, temperatures, gradients):
        return np.zeros((*temperatures.shape, OUTPUTS)), None

    monkeypatch.setattr(six, "_raw_sweep", nothing)
    with pytest.raises(ConvergenceError, match="nitrogen 0.36"):
        six.sweep(six_z, 5e5, GRID)
