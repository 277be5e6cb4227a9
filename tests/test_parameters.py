"""Parameter sets of the cubic equations against thermo, measured equilibria and the critical conditions."""

import json
from importlib.resources import files

import numpy as np
import pytest

from mixjt.errors import InputError, MissingDataError, UnknownGasError
from mixjt.gases import gas, gas_names
from mixjt.properties import parameters
from mixjt.properties.data.build import SETS, pair_file
from mixjt.properties.parameters import (
    DEFAULT_SET,
    critical_constants,
    load_parameters,
    pair,
    pair_source,
    pair_table,
    parameter_sets,
)

R = 8.31446261815324
GASES = ("nitrogen", "methane", "ethane", "propane", "n-butane", "tetrafluoromethane")


# --- constants of the equations


@pytest.mark.parametrize(
    "name, z_critical", [("soave-redlich-kwong", 1 / 3), ("peng-robinson", 0.307401308698704)]
)
def test_constants_meet_the_critical_conditions(name, z_critical):
    # p = RT/(v-b) - a/((v+d1 b)(v+d2 b)) in units of Tc, pc and RTc/pc; the critical compressibility factors
    # are those of Soave, Chem. Eng. Sci. 27 (1972) 1197, and Peng and Robinson, Ind. Eng. Chem. Fundam. 15 (1976) 59.
    p = load_parameters(name, ["propane"])
    v, b = z_critical, p.omega_b
    volume, slope, curvature = _attraction(v + p.delta1 * b, v + p.delta2 * b)
    assert 1 / (v - b) - p.omega_a * volume == pytest.approx(1.0, abs=1e-13)
    assert -1 / (v - b) ** 2 - p.omega_a * slope == pytest.approx(0.0, abs=1e-12)
    assert 2 / (v - b) ** 3 - p.omega_a * curvature == pytest.approx(0.0, abs=1e-11)


def _attraction(first, second):
    """1/(first second) and its first two derivatives where both factors grow with v."""
    value = 1 / (first * second)
    slope = -value * (1 / first + 1 / second)
    curvature = value * ((1 / first + 1 / second) ** 2 + 1 / first**2 + 1 / second**2)
    return value, slope, curvature


def test_constants_equal_those_of_thermo():
    from thermo.eos import PR, SRK

    assert critical_constants(1.0) == pytest.approx((SRK.c1, SRK.c2), rel=1e-15)
    assert critical_constants(1 + 2**0.5) == pytest.approx((PR.c1, PR.c2), rel=2e-15)


@pytest.mark.parametrize("name", SETS)
def test_attraction_and_covolume_equal_those_of_thermo(name):
    p = load_parameters(name, GASES)
    temperature, x = 140.0, np.full(len(GASES), 1 / len(GASES))
    theirs = _thermo_mixture(p, temperature, 2e6, x)
    reduced = temperature / p.critical_temperatures
    assert np.all(p.alpha[:, 0] == 0.0)
    alpha = (1 + p.alpha[:, 1] * (1 - np.sqrt(reduced))) ** 2
    a = p.omega_a * (R * p.critical_temperatures) ** 2 / p.critical_pressures * alpha
    b = p.omega_b * R * p.critical_temperatures / p.critical_pressures
    assert a == pytest.approx(np.array(theirs.a_alphas), rel=1e-12)
    assert b == pytest.approx(np.array(theirs.bs), rel=1e-12)
    attraction = x @ (np.sqrt(np.outer(a, a)) * (1 - p.k0)) @ x
    assert attraction == pytest.approx(theirs.a_alpha, rel=1e-12)


def _thermo_mixture(p, temperature, pressure, x, **options):
    from thermo.eos_mix import PRMIX, SRKMIX

    equation = {"soave-redlich-kwong": SRKMIX, "peng-robinson": PRMIX}[p.name]
    return equation(
        Tcs=p.critical_temperatures.tolist(),
        Pcs=p.critical_pressures.tolist(),
        omegas=p.acentric_factors.tolist(),
        kijs=p.k0.tolist(),
        zs=list(x),
        T=temperature,
        P=pressure,
        **options,
    )


# --- loading


def test_sets_are_listed_with_the_default_first():
    assert parameter_sets()[0] == DEFAULT_SET == "calibrated-srk"
    assert set(SETS) <= set(parameter_sets())
    for name in parameter_sets():  # nothing is listed that cannot be loaded
        assert load_parameters(name, ["nitrogen", "propane"]).name == name


@pytest.mark.parametrize("name", SETS)
def test_shapes_and_values_of_single_gases(name):
    p = load_parameters(name, ["R-728", "methane", "R-290"])
    assert p.name == name and p.gases == ("nitrogen", "methane", "propane")
    assert p.alpha.shape == (3, 7) and p.k0.shape == p.k1.shape == (3, 3)
    assert p.molar_masses.tolist() == [gas(each).molar_mass for each in p.gases]
    assert p.critical_temperatures.tolist() == [gas(each).critical_temperature for each in p.gases]
    assert p.critical_pressures.tolist() == [gas(each).critical_pressure for each in p.gases]
    assert p.acentric_factors.tolist() == [gas(each).acentric_factor for each in p.gases]
    assert not p.translations.any()
    for row, each in zip(p.ideal_cp, p.gases):
        stored = gas(each).ideal_cp
        assert tuple(row[: len(stored)]) == stored and not row[len(stored) :].any()


@pytest.mark.parametrize("name", SETS)
def test_permuting_the_gases_permutes_the_parameters(name):
    order = [3, 0, 5, 1, 4, 2]
    p, q = load_parameters(name, GASES), load_parameters(name, [GASES[i] for i in order])
    assert np.array_equal(p.k0, p.k0.T) and not np.diag(p.k0).any()
    assert np.array_equal(q.k0, p.k0[np.ix_(order, order)])
    assert np.array_equal(q.alpha, p.alpha[order])


def test_a_parameter_set_may_be_changed_without_harm():
    load_parameters(DEFAULT_SET, GASES).k0[:] = 7.0
    assert load_parameters(DEFAULT_SET, GASES).k0.max() < 1.0


def test_bad_requests():
    with pytest.raises(InputError, match="van-der-waals.*peng-robinson"):
        load_parameters("van-der-waals", GASES)
    with pytest.raises(InputError, match="methane is given twice"):
        load_parameters(DEFAULT_SET, ["methane", "R-50"])
    with pytest.raises(InputError, match="no gas"):
        load_parameters(DEFAULT_SET, [])
    with pytest.raises(UnknownGasError, match="propane"):
        load_parameters(DEFAULT_SET, ["propan"])
    with pytest.raises(MissingDataError, match="methane"):
        pair(DEFAULT_SET, "methane", "methane")


# --- pairs


def test_pairs_of_hydrocarbons_and_nitrogen_equal_thermo_s_table():
    from thermo.interaction_parameters import IPDB

    names = [name for name in gas_names() if "fluoro" not in name]
    numbers = [gas(name).cas for name in names]
    table = np.array(IPDB.get_ip_asymmetric_matrix("ChemSep PR", numbers, "kij"))
    for name in SETS:
        assert np.array_equal(load_parameters(name, names).k0, table)


@pytest.mark.parametrize("name", SETS)
def test_every_pair_has_a_row_and_a_source(name):
    count = len(gas_names())
    rows = pair_table(name)
    assert len(rows) == count * (count - 1) // 2
    for row in rows:
        assert row["source"].strip() and set(row) == {"gas1", "gas2", "k0", "k1", "source"}
        assert pair_source(name, row["gas2"], row["gas1"]) == row["source"]
        assert (row["k0"] == 0.0) == row["source"].startswith("none in the table")


def test_sources_name_table_fit_or_absence():
    assert "ChemSep" in pair_source("peng-robinson", "N2", "methane")
    assert pair_source("peng-robinson", "R-14", "methane") == "fitted to doi:10.1021/je0604030"
    assert pair_source("peng-robinson", "neon", "argon") == "none in the table; set to zero"


@pytest.mark.parametrize("name", SETS)
def test_pair_file_is_what_the_build_writes(name):
    def rows(text):
        return [line.split(",", 4) for line in text.splitlines()]

    stored = rows(files("mixjt.properties.data").joinpath(f"{name}_pairs.csv").read_text())
    built = rows(pair_file(name))
    assert [line[:2] for line in stored] == [line[:2] for line in built]
    assert stored[0] == built[0]
    for old, new in zip(stored[1:], built[1:]):
        assert [float(k) for k in old[2:4]] == pytest.approx(
            [float(k) for k in new[2:4]], rel=1e-9, abs=1e-12
        )


MEASURED = [  # gases, mole fraction of the first in the liquid, T [K], bubble pressure [Pa], DOI
    ("methane", "R-14", 0.204, 159.61, 735000.0, "10.1021/je0604030"),
    ("methane", "R-14", 0.238, 173.90, 1332000.0, "10.1021/je0604030"),
    ("R-14", "ethane", 0.151, 179.68, 447000.0, "10.1021/je050525c"),
    ("R-14", "ethane", 0.169, 190.14, 670000.0, "10.1021/je050525c"),
    ("R-23", "ethane", 0.4081, 188.31, 191600.0, "10.1021/je0601107"),
    ("R-23", "ethane", 0.6250, 228.94, 1001080.0, "10.1016/j.fluid.2017.07.002"),
    ("R-23", "propane", 0.1142, 283.15, 1470000.0, "10.1016/j.jct.2009.06.009"),
    ("R-23", "n-butane", 0.1123, 283.15, 1099000.0, "10.1016/j.jct.2009.06.009"),
]


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("first, second, x, temperature, pressure, doi", MEASURED)
def test_fitted_pairs_give_measured_bubble_pressures(name, first, second, x, temperature, pressure, doi):
    p = load_parameters(name, [first, second])
    fractions = [x, 1 - x]
    with_fit = _bubble_pressure(p, temperature, fractions, pressure)
    p.k0[:] = 0.0
    without = _bubble_pressure(p, temperature, fractions, pressure)
    assert with_fit == pytest.approx(pressure, rel=0.075)  # a cubic with one constant per pair
    assert abs(without / pressure - 1) > 0.15


def _bubble_pressure(p, temperature, x, guess):
    """Bubble pressure by successive substitution with thermo's equation of state."""
    pressure, y = guess, None
    wilson = np.exp(5.373 * (1 + p.acentric_factors) * (1 - p.critical_temperatures / temperature))
    k_values = p.critical_pressures / pressure * wilson
    for _ in range(200):
        total = float(k_values @ x)
        y = k_values * x / total
        pressure *= min(max(total, 0.7), 1.4)
        liquid = _thermo_mixture(p, temperature, pressure, x, only_l=True)
        vapour = _thermo_mixture(p, temperature, pressure, y, only_g=True)
        k_values = np.exp(np.array(liquid.lnphis_l) - np.array(vapour.lnphis_g))
        if abs(k_values @ x - 1) < 1e-8 and abs(total - 1) < 1e-6:
            return pressure
    raise AssertionError("bubble pressure did not converge")


# --- a set with exceptions


@pytest.fixture
def custom_set(tmp_path, monkeypatch):
    """A parameter set on disk with a Twu alpha function, a translation and a kij that varies with T."""
    source = files("mixjt.properties").joinpath("data")
    for item in source.iterdir():
        if item.name.endswith((".json", ".csv")):
            (tmp_path / item.name).write_text(item.read_text())
    definition = json.loads((tmp_path / "peng-robinson.json").read_text())
    twu = {"kind": "twu", "parameters": [0.1, 0.9, 2.0, 0.3, 1.5]}
    definition["gases"] = {"methane": {"alpha": twu, "translation": -2e-6, "source": "invented"}}
    definition.update(name="custom", pairs="custom_pairs.csv")
    (tmp_path / "custom.json").write_text(json.dumps(definition))
    (tmp_path / "custom_pairs.csv").write_text(
        "gas1,gas2,k0,k1,source\nmethane,nitrogen,0.03,0.01,invented\n"
    )
    caches = (parameters.parameter_sets, parameters._definition, parameters._pairs)
    monkeypatch.setattr(parameters, "_data", lambda: tmp_path)
    for cached in caches:
        cached.cache_clear()
    yield "custom"
    for cached in caches:
        cached.cache_clear()


def test_exceptions_of_a_set_reach_the_arrays(custom_set):
    assert custom_set in parameter_sets()
    p = load_parameters(custom_set, ["nitrogen", "methane"])
    assert p.alpha[1].tolist() == [1.0, 0.1, 0.9, 2.0, 0.3, 1.5, 0.0]
    assert p.alpha[0, 0] == 0.0 and p.alpha[0, 1] == load_parameters("peng-robinson", ["N2"]).alpha[0, 1]
    assert p.translations.tolist() == [0.0, -2e-6]
    assert p.k0[0, 1] == p.k0[1, 0] == 0.03 and p.k1[0, 1] == p.k1[1, 0] == 0.01
    assert pair_source(custom_set, "nitrogen", "methane") == "invented"


def test_a_pair_the_set_lacks_is_refused(custom_set):
    with pytest.raises(MissingDataError, match="nitrogen"):
        load_parameters(custom_set, ["nitrogen", "propane"])
