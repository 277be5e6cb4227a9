"""The compiled multi-fluid equation against CoolProp's own evaluation and against published tables."""

import numpy as np
import pytest
from CoolProp import CoolProp

from mixjt.errors import MissingDataError
from mixjt.gases.catalogue import gas
from mixjt.properties.multifluid import phase
from mixjt.properties.multifluid import sweep as kernel
from mixjt.properties.multifluid.check import refuse_other_coefficients
from mixjt.properties.multifluid.helmholtz import DELTA, ON_LIQUID_ROOT, RHO_R, buffers
from mixjt.properties.multifluid.mixture import build_mixture
from mixjt.properties.reference import ReferenceModel

SIX = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")
SIX_X = (0.3, 0.3, 0.15, 0.15, 0.05, 0.05)
# Terms of every kind: departure functions, Gaussian, exponential with a factor, not analytic.
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
# AGA Report No. 8, part 2 (2017), appendix B: compositions in mole per cent; T/K, mol/m3, p/Pa, cp, w.
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


def evaluated(gases, x, temperature, pressure):
    mixture = build_mixture(gases, False)
    buf, log_phi = buffers(mixture, 1), np.empty(len(gases))
    phase.log_phi(mixture, temperature, pressure, np.array(x), buf, phase.FIRST, phase.ANY_ROOT, log_phi)
    return mixture, buf, log_phi


@pytest.mark.parametrize(("gases", "x", "temperature", "pressure"), PHASES)
def test_equation_is_the_librarys(gases, x, temperature, pressure):
    mixture, buf, log_phi = evaluated(gases, x, temperature, pressure)
    density = buf.slots[0, DELTA] * buf.slots[0, RHO_R]
    library = CoolProp.AbstractState("HEOS", "&".join(gas(name).cas for name in gases))
    library.set_mole_fractions(x)
    library.specify_phase(CoolProp.iphase_gas)  # evaluates at the density given, without a flash
    library.update(CoolProp.DmolarT_INPUTS, density, temperature)
    assert library.p() == pytest.approx(pressure, rel=1e-9)
    h = phase.residual_enthalpy(buf, phase.FIRST) * mixture.gas_constant * temperature
    assert h == pytest.approx(library.hmolar_residual(), abs=1e-8)
    expected = [np.log(library.fugacity_coefficient(i)) for i in range(len(x))]
    assert log_phi == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("gases", "x", "temperature", "pressure"), PHASES)
def test_derivatives_of_fugacity_coefficients(gases, x, temperature, pressure):
    mixture, buf, _ = evaluated(gases, x, temperature, pressure)
    analytic, numerical = np.empty((len(x), len(x))), np.empty((len(x), len(x)))
    phase.log_phi_derivatives(mixture, buf, phase.FIRST, analytic)
    for j in range(len(x)):
        step = 1e-5 * x[j]
        sides = []
        for sign in (1.0, -1.0):
            n = np.array(x)
            n[j] += sign * step
            sides.append(evaluated(gases, n / n.sum(), temperature, pressure)[2])
        numerical[:, j] = (sides[0] - sides[1]) / (2.0 * step)
    assert analytic == pytest.approx(numerical, abs=1e-7)
    assert analytic == pytest.approx(analytic.T, abs=1e-12)


def test_other_coefficients_are_refused():
    mixture = build_mixture(("methane", "nitrogen"), False)
    refuse_other_coefficients(mixture, ("methane", "nitrogen"))
    other = mixture._replace(weights=1.01 * mixture.weights)
    with pytest.raises(MissingDataError, match="other coefficients"):
        refuse_other_coefficients(other, ("methane", "nitrogen"))


def single_phase(model, z, temperature, pressure):
    """Molar volume and heat capacity of one phase, without a flash: the table crosses phase boundaries."""
    present = model._present(z)[0]
    step = 0.01

    def phase_at(t):
        return model._phase(present, z, 1.0, t, pressure)

    cp = (phase_at(temperature + step).enthalpy - phase_at(temperature - step).enthalpy) / (2.0 * step)
    return phase_at(temperature).molar_volume, cp


# The tables were computed with short equations for the pure gases, the library uses the reference
# equations; Kunz and Wagner (2012) give 0.1 % in density and 1-2 % in heat capacity for either.
def check_row(model, z, temperature, density, pressure, cp):
    volume, found_cp = single_phase(model, z, temperature, pressure)
    assert 1.0 / volume == pytest.approx(density, rel=2e-3)
    assert found_cp == pytest.approx(cp, rel=1e-2)


@pytest.mark.parametrize(("temperature", "density", "pressure", "cp"), HIGH_NITROGEN_ROWS)
def test_natural_gas_of_aga8(temperature, density, pressure, cp):
    model = ReferenceModel(tuple(HIGH_NITROGEN))
    check_row(model, np.array(list(HIGH_NITROGEN.values())) / 100.0, temperature, density, pressure, cp)


@pytest.mark.parametrize(("first", "second", "temperature", "density", "pressure", "cp"), BINARY_ROWS)
def test_binaries_of_aga8(first, second, temperature, density, pressure, cp):
    check_row(ReferenceModel((first, second)), np.array([0.5, 0.5]), temperature, density, pressure, cp)


def test_liquid_root_above_the_vapour_pressure_of_a_cold_liquid():
    """At 50 bar the ideal-gas density lies inside the loops of the isotherm, where roots are spurious."""
    for share in (0.05, 0.5, 0.95):
        _, buf, _ = evaluated(("n-butane", "isopentane"), (share, 1.0 - share), 200.0, 5e6)
        volume = 1.0 / (buf.slots[0, DELTA] * buf.slots[0, RHO_R])
        ends = [
            1.0 / CoolProp.PropsSI("Dmolar", "T", 200.0, "P", 5e6, name) for name in ("n-Butane", "Isopentane")
        ]
        assert buf.slots[0, ON_LIQUID_ROOT] == 1.0
        assert volume == pytest.approx(share * ends[0] + (1.0 - share) * ends[1], rel=5e-3)


def test_phase_values_of_a_pure_liquid():
    """Nitrogen at 90 K and 5 bar: the library's own single-fluid equation."""
    mixture = build_mixture(("nitrogen",), False)
    log_phi, out = np.empty(1), np.empty(kernel.OUTPUTS)
    kernel.phase_values(mixture, 90.0, 5e5, np.ones(1), log_phi, out)
    density = CoolProp.PropsSI("Dmolar", "T", 90.0, "P", 5e5, "Nitrogen")
    assert 5e5 / (out[kernel.V] * mixture.gas_constant * 90.0) == pytest.approx(density, rel=1e-10)
