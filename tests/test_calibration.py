"""The calibrated parameter set: its files, its smoothness, and measured bubble pressures it must meet."""

import json
from importlib.resources import files

import numpy as np
import pytest

from mixjt.gases import gas_names
from mixjt.properties.calibration.bubble import bubble_pressures
from mixjt.properties.calibration.write import NAME, PLAIN
from mixjt.properties.parameters import load_parameters, pair, pair_table
from mixjt.properties.tables import alpha

# Gases, mole fraction of the first in the liquid, T [K], measured bubble pressure [Pa], DOI.
MEASURED = [
    ("nitrogen", "methane", 0.2952, 129.982, 1.5344e+06, "10.1021/je700210n"),
    ("nitrogen", "methane", 0.1389, 149.972, 2.0512e+06, "10.1021/je700210n"),
    ("nitrogen", "methane", 0.2774, 149.989, 2.9084e+06, "10.1021/je700210n"),
    ("nitrogen", "ethane", 0.0702, 149.97, 1.5788e+06, "10.1021/je700210n"),
    ("nitrogen", "ethane", 0.114, 169.911, 2.9932e+06, "10.1021/je700210n"),
    ("nitrogen", "ethane", 0.0522, 209.93, 2.0607e+06, "10.1021/je700210n"),
    ("argon", "methane", 0.4285, 99.97, 1.7285e+05, "10.1021/acs.jced.8b00280"),
    ("argon", "methane", 0.1949, 119.94, 4.2683e+05, "10.1021/acs.jced.8b00280"),
    ("argon", "methane", 0.5879, 129.89, 1.3284e+06, "10.1021/acs.jced.8b00280"),
    ("methane", "tetrafluoromethane", 0.781, 159.61, 1.326e+06, "10.1021/je0604030"),
    ("methane", "tetrafluoromethane", 0.329, 169.38, 1.326e+06, "10.1021/je0604030"),
    ("methane", "tetrafluoromethane", 0.078, 178.93, 1.016e+06, "10.1021/je0604030"),
    ("methane", "ethane", 0.517, 149.96, 5.804e+05, "10.1021/je700210n"),
    ("methane", "ethane", 0.4731, 180.056, 1.5384e+06, "10.1021/je700210n"),
    ("methane", "ethane", 0.228, 233.15, 2.664e+06, "10.1016/j.fluid.2013.07.008"),
    ("methane", "propane", 0.071, 243.62, 8.91e+05, "10.1021/acs.jced.5b00610"),
    ("methane", "isobutane", 0.23, 243.6, 2.642e+06, "10.1021/acs.jced.5b00610"),
    ("methane", "n-butane", 0.1071, 244.52, 1.311e+06, "10.1021/acs.jced.5b00610"),
    ("methane", "n-pentane", 0.101, 313.15, 2.6e+06, "10.1016/j.fluid.2017.10.023"),
    ("tetrafluoromethane", "ethane", 0.664, 179.68, 6.09e+05, "10.1021/je050525c"),
    ("tetrafluoromethane", "ethane", 0.081, 200.68, 6.68e+05, "10.1021/je050525c"),
    ("tetrafluoromethane", "ethane", 0.155, 210.03, 1.145e+06, "10.1021/je050525c"),
    ("ethane", "trifluoromethane", 0.8853, 183.3, 1.3997e+05, "10.1016/j.fluid.2017.07.002"),
    ("ethane", "trifluoromethane", 0.5753, 198.66, 3.133e+05, "10.1021/je0601107"),
    ("ethane", "trifluoromethane", 0.375, 228.94, 1.0011e+06, "10.1016/j.fluid.2017.07.002"),
    ("trifluoromethane", "propane", 0.203, 283.15, 1.896e+06, "10.1016/j.jct.2009.06.009"),
    ("trifluoromethane", "propane", 0.12, 293.18, 1.8594e+06, "10.1016/j.jct.2016.12.021"),
    ("trifluoromethane", "propane", 0.057, 313.15, 2.0388e+06, "10.1016/j.jct.2016.12.021"),
    ("trifluoromethane", "n-butane", 0.2139, 283.15, 1.673e+06, "10.1016/j.jct.2009.06.009"),
    ("trifluoromethane", "n-butane", 0.1877, 293.15, 1.799e+06, "10.1016/j.jct.2009.06.009"),
    ("trifluoromethane", "n-butane", 0.0597, 313.15, 1.114e+06, "10.1016/j.jct.2009.06.009"),
    ("propylene", "propane", 0.077, 278.15, 5.647e+05, "10.1016/j.fluid.2006.03.009"),
    ("propylene", "propane", 0.167, 293.15, 8.761e+05, "10.1016/j.fluid.2006.03.009"),
    ("propylene", "propane", 0.204, 313.15, 1.4377e+06, "10.1016/j.fluid.2006.03.009"),
    ("propane", "isobutane", 0.75, 260, 2.5e+05, "10.1021/je049671t"),
    ("propane", "isobutane", 0.499, 280, 3.833e+05, "10.1021/je049671t"),
    ("propane", "isobutane", 0.25, 320, 8.621e+05, "10.1021/je049671t"),
    ("propane", "n-butane", 0.727, 273.15, 3.7e+05, "10.1021/je800377b"),
    ("propane", "n-butane", 0.217, 295, 3.5267e+05, "10.1021/acs.jced.5b00308"),
    ("propane", "n-butane", 0.217, 320, 6.7824e+05, "10.1021/acs.jced.5b00308"),
    ("isobutane", "n-butane", 0.5, 280, 1.66e+05, "10.1021/je049671t"),
    ("isobutane", "n-butane", 0.25, 320, 4.988e+05, "10.1021/je049671t"),
]  # fmt: skip
BAND = 0.05
# Points that the set misses by more, and by how much at most (regression values, rounded up): alpha above the critical
# temperature is fitted to enthalpies, which leaves the solubility of nitrogen less exact, and no trusted model reaches
# methane + n-pentane in the cold.
KNOWN_MISSES = {("nitrogen", "ethane", 169.911): 0.08, ("methane", "n-pentane", 313.15): 0.15}
# Normal boiling points [K] of CoolProp's reference equations; one atmosphere by definition.
BOILING = [
    ("nitrogen", 77.355), ("argon", 87.302), ("methane", 111.667), ("ethylene", 169.379), ("ethane", 184.569),
    ("propane", 231.036), ("isobutane", 261.401), ("n-butane", 272.660), ("n-pentane", 309.214),
]  # fmt: skip


@pytest.fixture(scope="module")
def everything():
    return load_parameters(NAME, gas_names())


def test_every_gas_and_every_pair_names_its_source():
    text = files("mixjt.properties.data").joinpath(f"{NAME}.json").read_text(encoding="utf-8")
    gases = json.loads(text)["gases"]
    assert set(gases) == set(gas_names())
    assert all("CoolProp" in entry["source"] for entry in gases.values())
    rows = pair_table(NAME)
    assert len(rows) == len(gas_names()) * (len(gas_names()) - 1) // 2
    assert all(row["source"].startswith(("fitted to ", "plain set's value: ", "estimate: ")) for row in rows)


def test_pairs_without_data_keep_the_plain_value():
    for row in pair_table(NAME):
        if row["source"].startswith("plain set's value"):
            assert row["k0"] == pair(PLAIN, row["gas1"], row["gas2"]).k0 and row["k1"] == 0.0


def test_alpha_and_its_slope_are_continuous_at_the_critical_temperature(everything):
    for k, tc in enumerate(everything.critical_temperatures):
        value, slope = alpha(everything, np.array([tc * (1.0 - 1e-9), tc * (1.0 + 1e-9)]))
        assert value[:, k] == pytest.approx(1.0, abs=1e-8)
        assert slope[0, k] == pytest.approx(slope[1, k], rel=1e-7)


def test_alpha_is_positive_and_falls(everything):
    value, slope = alpha(everything, np.linspace(60.0, 500.0, 200))
    assert np.all(value > 0.0) and np.all(slope < 0.0)


def test_slope_of_alpha_is_its_derivative(everything):
    t = np.array([70.0, 130.0, 210.0, 333.0])
    up, down = alpha(everything, t * 1.00001)[0], alpha(everything, t * 0.99999)[0]
    assert alpha(everything, t)[1] == pytest.approx((up - down) / 2e-5, rel=1e-6, abs=1e-7)


def test_interaction_stays_moderate_over_the_span(everything):
    for t in (80.0, 320.0):
        kij = everything.k0 + everything.k1 * (150.0 / t - 1.0)
        assert np.abs(kij).max() < 0.3


@pytest.mark.parametrize("name, temperature", BOILING)
def test_normal_boiling_points(name, temperature):
    from mixjt.properties.fast import FastModel

    model = FastModel(load_parameters(NAME, [name]))
    assert model.bubble_pressure([1.0], temperature) == pytest.approx(101325.0, rel=0.015)


@pytest.mark.parametrize("first, second, x, temperature, pressure, doi", MEASURED)
def test_measured_bubble_pressures(first, second, x, temperature, pressure, doi):
    p = load_parameters(NAME, [first, second])
    found = bubble_pressures(p, np.array([temperature]), [[x, 1.0 - x]], [0.9 * pressure])
    miss = abs(found[0] / pressure - 1.0)
    if (first, second, temperature) in KNOWN_MISSES:
        assert miss > BAND, "no longer a miss: take it off the list"
    assert miss <= KNOWN_MISSES.get((first, second, temperature), BAND)
