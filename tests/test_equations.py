"""The multi-fluid equation: against CoolProp's evaluation of the same terms, published check values, and itself."""

import ctypes
from functools import cache

import numpy as np
import pytest
from CoolProp import CoolProp
from library_mixture import library_state

from mixjt.compiled import python_entry
from mixjt.constants import GAS_CONSTANT, REFERENCE_TEMPERATURE
from mixjt.fluid.data import build_equations
from mixjt.fluid.flash.coefficients import blend_record, equations, pair
from mixjt.fluid.flash.engine import single_phase
from mixjt.fluid.flash.phase import FUGACITY, MATRIX
from mixjt.fluid.flash.quantities import LIQUID_ALONE
from mixjt.fluid.pair_sets import pair_function
from mixjt.gases.catalogue import gas

SIX = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")
SIX_X = (0.3, 0.3, 0.15, 0.15, 0.05, 0.05)
# Gases whose equations are the library's: powers, exponentials with a factor, Gaussians in density and temperature.
LIBRARYS = ("neon", "krypton", "ethylene", "propylene", "tetrafluoromethane", "trifluoromethane")
PHASES = [
    (SIX, SIX_X, 300.0, 2e5),
    (SIX, SIX_X, 120.0, 15e5),
    (SIX, SIX_X, 250.0, 15e5),
    (("methane", "carbon dioxide", "argon"), (0.02, 0.96, 0.02), 305.0, 70e5),
    (("ethane", "tetrafluoromethane"), (0.4, 0.6), 200.0, 5e5),
    (("neon", "argon"), (0.4, 0.6), 100.0, 20e5),
    (("ethylene", "propylene", "methane"), (0.3, 0.3, 0.4), 150.0, 10e5),
    (("nitrogen", "methane"), (0.9, 0.1), 85.0, 3e5),
]
# EOS-LNG: Thol et al., J. Phys. Chem. Ref. Data 48 (2019) 033102, table 16, 0.6 mol methane: T/K, mol/m3, p/Pa.
LNG_ROWS = [("isobutane", 160.0, 17241.868, 5e6), ("isobutane", 350.0, 100.0, 287076.93)]
# The same, with n-butane: T/K, mol/m3.
LNG_BUTANE = (150.0, 18002.169)
# AGA Report No. 8, part 2 (2017), appendix B: compositions in mole per cent; T/K, mol/m3, p/Pa, cp.
HIGH_NITROGEN = {
    "methane": 81.441, "nitrogen": 13.465, "ethane": 3.3, "propane": 0.605, "isobutane": 0.1,
    "n-butane": 0.104, "carbon dioxide": 0.985,
}  # fmt: skip
HIGH_NITROGEN_ROWS = [
    (150.0, 22000.0, 3436820.0, 64.1005),
    (250.0, 5000.0, 7849300.0, 56.2076),
    (300.0, 100.0, 248428.0, 36.0421),
]
# NIST test data for the equations of AGA Report No. 8, part 2, equimolar: T/K, mol/m3, p/Pa, cp.
BINARY_ROWS = [
    ("methane", "nitrogen", 146.37, 2000.0, 1866384.4, 50.876683),
    ("methane", "nitrogen", 144.20, 19000.0, 3432629.5, 92.090995),
    ("methane", "ethane", 232.15, 1000.0, 1606668.0, 52.050082),
    ("methane", "ethane", 203.17, 18000.0, 2829770.3, 74.976732),
    ("methane", "propane", 293.65, 1000.0, 2012765.0, 69.283891),
    ("methane", "propane", 170.47, 18000.0, 1338797.8, 73.095152),
    ("nitrogen", "ethane", 231.62, 1000.0, 1694810.7, 44.986837),
    ("nitrogen", "ethane", 165.19, 20000.0, 10932981.0, 64.249234),
    ("nitrogen", "propane", 298.13, 1000.0, 2193853.5, 58.645778),
]
_evaluate = python_entry(
    "mixjt.fluid.flash.phase.evaluate", None, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_double, ctypes.c_int64
)


def gerg_pair(first, second):
    """The pair as GERG-2008 has it, without EOS-LNG."""
    return build_equations.pair_row(first, second, {"pairs": []})


@cache  # kept alive while the kernels hold its address
def record(gases, pairs=pair):
    return np.array([blend_record(gases, pairs)])


def at_pressure(gases, x, temperature, pressure):
    """A phase on its better root, with everything evaluated."""
    phase = np.array([single_phase(record(gases), np.array(x), temperature, pressure)])
    _evaluate(record(gases).ctypes.data, phase.ctypes.data, pressure, MATRIX)
    return phase[0]


def at_density(gases, x, temperature, density, pairs=pair):
    """A phase at a density, and its pressure [Pa]."""
    blend = record(gases, pairs)
    phase = np.array([single_phase(blend, np.array(x), temperature, 1e5)])
    phase["lr"] = np.log(density)
    r = blend["R"][0]
    for pressure in (1e5, None):  # the second time at the phase's own pressure
        pressure = pressure or float((1.0 + phase["AD"][0]) * density * r * temperature)
        _evaluate(blend.ctypes.data, phase.ctypes.data, pressure, FUGACITY)
    return phase[0], pressure


@pytest.mark.parametrize("name", LIBRARYS)
@pytest.mark.parametrize(("temperature", "reduced_density"), [(0.7, 2.6), (1.1, 1.0), (1.5, 0.1)])
def test_equations_of_the_library(name, temperature, reduced_density):
    library = CoolProp.AbstractState("HEOS", gas(name).cas)
    library.specify_phase(CoolProp.iphase_gas)  # evaluates at the density given, without a flash
    row = equations()["gases"][name]
    density = reduced_density / row["reducing_volume_m3_per_mol"]
    library.update(CoolProp.DmolarT_INPUTS, density, temperature * row["reducing_temperature_K"])
    phase, _ = at_density((name,), (1.0,), temperature * row["reducing_temperature_K"], density)
    delta, tau = library.delta(), library.tau()
    assert phase["A0"] == pytest.approx(library.alphar(), rel=1e-11)
    assert phase["AD"] == pytest.approx(delta * library.dalphar_dDelta(), rel=1e-10)
    assert phase["AT"] == pytest.approx(tau * library.dalphar_dTau(), rel=1e-10)
    assert phase["ADD"] == pytest.approx(delta**2 * library.d2alphar_dDelta2(), rel=1e-9)
    assert phase["ADT"] == pytest.approx(delta * tau * library.d2alphar_dDelta_dTau(), rel=1e-9)
    assert phase["ATT"] == pytest.approx(tau**2 * library.d2alphar_dTau2(), rel=1e-9)


def test_three_hundred_states_of_the_librarys_mixture_model():
    """The same coefficients in CoolProp's mixture model: pressure and residual enthalpy at given densities."""
    gases = ("nitrogen", "argon", "methane", "ethane", "propane")
    rng, library = np.random.default_rng(3), library_state(gases)
    library.specify_phase(CoolProp.iphase_gas)
    for _ in range(300):
        x = rng.dirichlet(np.ones(len(gases)))
        temperature, density = rng.uniform(80.0, 350.0), np.exp(rng.uniform(np.log(10.0), np.log(25000.0)))
        library.set_mole_fractions(list(x))
        library.update(CoolProp.DmolarT_INPUTS, density, temperature)
        phase, pressure = at_density(gases, x, temperature, density)
        assert pressure == pytest.approx(library.p(), rel=1e-9, abs=1.0)
        r = record(gases)["R"][0]
        assert phase["h"] * r * temperature == pytest.approx(library.hmolar_residual(), rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(("gases", "x", "temperature", "pressure"), PHASES)
def test_derivatives_of_fugacity_coefficients(gases, x, temperature, pressure):
    n = len(x)
    analytic, numerical = at_pressure(gases, x, temperature, pressure)["M"][:n, :n], np.empty((n, n))
    for j in range(n):
        step = 1e-5 * x[j]
        sides = []
        for sign in (1.0, -1.0):
            amounts = np.array(x)
            amounts[j] += sign * step
            sides.append(at_pressure(gases, amounts / amounts.sum(), temperature, pressure)["ln_phi"][:n].copy())
        numerical[:, j] = (sides[0] - sides[1]) / (2.0 * step)
    assert analytic == pytest.approx(numerical, abs=1e-6)
    assert analytic == pytest.approx(analytic.T, abs=1e-10)


@pytest.mark.parametrize(("gases", "x", "temperature", "pressure"), PHASES)
def test_partial_enthalpies_are_slopes_of_fugacity_coefficients(gases, x, temperature, pressure):
    n, step = len(x), 1e-3
    warm, cold = (at_pressure(gases, x, temperature + sign * step, pressure)["ln_phi"][:n] for sign in (1.0, -1.0))
    phase = at_pressure(gases, x, temperature, pressure)
    assert phase["hi"][:n] == pytest.approx(-temperature * (warm - cold) / (2.0 * step), abs=1e-5)
    assert phase["hi"][:n] @ np.array(x) == pytest.approx(phase["h"], abs=1e-9)


@pytest.mark.parametrize(("second", "temperature", "density", "pressure"), LNG_ROWS)
def test_check_values_of_eos_lng(second, temperature, density, pressure):
    _, found = at_density(("methane", second), (0.6, 0.4), temperature, density)
    assert found == pytest.approx(pressure, rel=1e-6)


def test_check_value_of_eos_lng_with_butane():
    """The row's density is the paper's; that it stands for 10 MPa is from memory."""
    eos_lng = pair_function("eos-lng-n-butane")
    _, found = at_density(("methane", "n-butane"), (0.6, 0.4), *LNG_BUTANE, eos_lng)
    assert found == pytest.approx(1e7, rel=1e-5)


def ideal_heat_capacity(name, temperature):
    powers = np.arange(len(gas(name).ideal_cp))
    return GAS_CONSTANT * np.array(gas(name).ideal_cp) @ (temperature / REFERENCE_TEMPERATURE) ** powers


def check_row(gases, x, temperature, density, pressure, cp):
    phase, found = at_density(gases, x, temperature, density, gerg_pair)
    assert found == pytest.approx(pressure, rel=2e-6)
    # The tables' ideal-gas heat capacities are GERG-2008's; the catalogue's differ by up to 0.3 %.
    ideal = sum(share * ideal_heat_capacity(name, temperature) for name, share in zip(gases, x, strict=True))
    assert ideal + phase["cp"] * record(gases)["R"][0] == pytest.approx(cp, rel=3e-3)


@pytest.mark.parametrize(("temperature", "density", "pressure", "cp"), HIGH_NITROGEN_ROWS)
def test_natural_gas_of_aga8(temperature, density, pressure, cp):
    x = tuple(share / 100.0 for share in HIGH_NITROGEN.values())
    check_row(tuple(HIGH_NITROGEN), x, temperature, density, pressure, cp)


@pytest.mark.parametrize(("first", "second", "temperature", "density", "pressure", "cp"), BINARY_ROWS)
def test_binaries_of_aga8(first, second, temperature, density, pressure, cp):
    check_row((first, second), (0.5, 0.5), temperature, density, pressure, cp)


def test_liquid_root_above_the_vapour_pressure_of_a_cold_liquid():
    """At 50 bar the ideal-gas density lies inside the loops of the isotherm, where roots are spurious."""
    for share in (0.05, 0.5, 0.95):
        phase = at_pressure(("n-butane", "isopentane"), (share, 1.0 - share), 200.0, 5e6)
        ends = [
            1.0 / CoolProp.PropsSI("Dmolar", "T", 200.0, "P", 5e6, name) for name in ("n-Butane", "Isopentane")
        ]
        assert phase["delta"] > LIQUID_ALONE
        assert np.exp(-phase["lr"]) == pytest.approx(share * ends[0] + (1.0 - share) * ends[1], rel=5e-3)
