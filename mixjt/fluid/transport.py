"""Viscosity and thermal conductivity of one phase of a blend, liquid or vapour; surface tension of its liquid.

Corresponding states with the molar volume as input, one method for both phases and both properties:

    T* = 1.2593 Tr;   y = Vc / (6 v);   G1 = (1 - y/2) / (1 - y)^3
    eta    = 36.344e-7 (M Tc)^(1/2) / Vc^(2/3) [ T*^(1/2) / Omega Fc (1/G2 + E6 y) + eta** ]
    lambda = 31.2 eta0 Psi / M' (1/G2' + B6 y) + q B7 y^2 Tr^(1/2) G2'

with M in g/mol, M' in kg/mol, Vc in cm3/mol; Ei and Bi are linear in the acentric factor, and a mixture is
one fluid whose size, energy and mass parameters come from its gases by mixing rules. The dipole terms of the
method are left out: of our gases only trifluoromethane has a strong dipole, and its liquid comes out twice too
conductive with them, closer without (docs/transport.md).

Source: T.-H. Chung, M. Ajlan, L. L. Lee, K. E. Starling, Ind. Eng. Chem. Res. 27 (1988) 671,
doi:10.1021/ie00076a024, in the form of Poling, Prausnitz & O'Connell, The Properties of Gases and Liquids,
5th ed. (2001), chapters 9 and 10. Coefficients of the conductivity as in `chemicals.Chung_dense`; those of
the viscosity from memory, confirmed by CoolProp's viscosity of isopentane, which is this method (tests).

How far off it is for pure gases: docs/transport.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from mixjt.constants import GAS_CONSTANT, REFERENCE_TEMPERATURE
from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.states import Phase, State
from mixjt.gases import gas, gas_names

# E_i = a + b omega, and B_i likewise
VISCOSITY_COEFFICIENTS = np.array(
    [
        (6.324, 50.412),
        (1.210e-3, -1.154e-3),
        (5.283, 254.209),
        (6.623, 38.096),
        (19.745, 7.630),
        (-1.900, -12.537),
        (24.275, 3.450),
        (0.7972, 1.117),
        (-0.2382, 0.06770),
        (0.06863, 0.3479),
    ]
)
CONDUCTIVITY_COEFFICIENTS = np.array(
    [
        (2.4166, 0.74824),
        (-0.50924, -1.5094),
        (6.6107, 5.6207),
        (14.543, -8.9139),
        (0.79274, 0.82019),
        (-5.8634, 12.801),
        (91.089, 128.11),
    ]
)


@dataclass(frozen=True)
class _Fluid:
    """What the method needs of a fluid; arrays of shape (n,), one entry a composition."""

    critical_temperature: np.ndarray  # K
    critical_volume: np.ndarray  # cm3/mol
    molar_mass: np.ndarray  # g/mol, that of the energy-weighted mixing rule
    acentric: np.ndarray


def transport(gases: Sequence[str], phase: Phase, temperature: float, pressure: float) -> tuple[float, float]:
    """Viscosity [Pa s] and thermal conductivity [W/(m K)] of one phase of a blend.

    Parameters
    ----------
    gases : sequence of str
        The property model's gases, in its order.
    phase : Phase
        Its composition and molar volume are used; liquid or vapour.
    temperature : float
        [K]
    pressure : float
        [Pa]; not needed by the method, which takes the molar volume instead.

    Raises
    ------
    InputError
        For values that are not positive and finite, or a molar volume too small for the method.

    Source: Chung et al. (1988), see the module.
    """
    viscosity, conductivity = transport_arrays(
        gases, np.asarray(phase.composition)[None, :], np.array([temperature]), np.array([phase.molar_volume])
    )
    return float(viscosity[0]), float(conductivity[0])


def transport_arrays(gases: Sequence[str], compositions, temperatures, molar_volumes):
    """Viscosities [Pa s] and conductivities [W/(m K)] of n single-phase states.

    Parameters
    ----------
    gases : sequence of str
        c names.
    compositions : array (n, c) or (c,)
        Mole fractions of the phase.
    temperatures, molar_volumes : array (n,)
        [K], [m3/mol]

    Returns
    -------
    tuple of array (n,)

    Raises
    ------
    InputError
        As in `transport`.
    """
    temperatures, volumes = np.broadcast_arrays(
        np.atleast_1d(np.asarray(temperatures, float)), np.atleast_1d(np.asarray(molar_volumes, float))
    )
    x = np.broadcast_to(np.asarray(compositions, float), (temperatures.size, len(gases)))
    fluid = _one_fluid(tuple(gases), x)
    _check(temperatures, volumes, fluid.critical_volume)
    dilute, dense = _viscosity(fluid, temperatures, volumes * 1e6)
    masses = np.array([gas(name).molar_mass for name in gases])
    conductivity = _conductivity(
        fluid, temperatures, volumes * 1e6, dilute, x @ masses, _ideal_cv(tuple(gases), x, temperatures)
    )
    return dense, conductivity


def surface_tension(gases: Sequence[str], liquid: Phase, vapour: Phase) -> float:
    """Surface tension [N/m] between a liquid and a vapour of a blend.

    sigma^(1/4) = sum of P_i (x_i / v_liquid - y_i / v_vapour), P_i the parachor. It fades to nought at the
    mixture's own critical point, and takes gases above their critical temperature as they come.

    Parameters
    ----------
    gases : sequence of str
    liquid, vapour : Phase
        Two phases in equilibrium.

    Raises
    ------
    InputError
        Where the vapour is the denser of the two.

    Source: C. F. Weinaug & D. L. Katz, Ind. Eng. Chem. 35 (1943) 239, doi:10.1021/ie50398a028. The parachors
    are fitted so that each pure gas meets CoolProp's surface tension (A. Mulero et al., J. Phys. Chem. Ref.
    Data 41 (2012) 043105) at 0.7 of its critical temperature.
    """
    difference = np.asarray(liquid.composition) / liquid.molar_volume
    difference = difference - np.asarray(vapour.composition) / vapour.molar_volume
    root = float(np.array([parachor(name) for name in gases]) @ difference)
    if not np.isfinite(root) or liquid.molar_volume >= vapour.molar_volume:
        raise InputError("surface tension needs a liquid that is denser than its vapour")
    return max(root, 0.0) ** 4


@cache
def parachor(name: str) -> float:
    """Parachor [(N/m)^(1/4) m3/mol] of a gas, from CoolProp's surface tension at 0.7 of its Tc."""
    import CoolProp

    state = CoolProp.AbstractState("HEOS", gas(name).cas)
    state.update(CoolProp.QT_INPUTS, 0.0, max(0.7 * state.T_critical(), state.Ttriple()))
    densities = state.saturated_liquid_keyed_output(CoolProp.iDmolar) - state.saturated_vapor_keyed_output(
        CoolProp.iDmolar
    )
    return state.surface_tension() ** 0.25 / densities


def _one_fluid(gases: tuple[str, ...], x: np.ndarray) -> _Fluid:
    """Mixing rules of the method: every pair once, sizes and energies by geometric means."""
    size, energy, mass, acentric = _pairs(gases)
    cubed = np.einsum("ni,nj,ij->n", x, x, size**3)
    reach = np.einsum("ni,nj,ij->n", x, x, energy * size**3) / cubed
    weighted = np.einsum("ni,nj,ij->n", x, x, energy * size**2 * np.sqrt(mass))
    return _Fluid(
        critical_temperature=1.2593 * reach,
        critical_volume=cubed / 0.809**3,
        molar_mass=(weighted / (reach * cubed ** (2.0 / 3.0))) ** 2,
        acentric=np.einsum("ni,nj,ij->n", x, x, acentric * size**3) / cubed,
    )


@cache
def _pairs(gases: tuple[str, ...]):
    """sigma_ij [A], (eps/k)_ij [K], M_ij [g/mol], omega_ij, each (c, c)."""
    entries = [gas(name) for name in gases]
    sigma = 0.809 * np.cbrt([_critical_volume(entry.cas) for entry in entries])
    energy = np.array([entry.critical_temperature for entry in entries]) / 1.2593
    mass = 1e3 * np.array([entry.molar_mass for entry in entries])
    acentric = np.array([entry.acentric_factor for entry in entries])
    return (
        np.sqrt(np.outer(sigma, sigma)),
        np.sqrt(np.outer(energy, energy)),
        2.0 * np.outer(mass, mass) / np.add.outer(mass, mass),
        0.5 * np.add.outer(acentric, acentric),
    )


@cache
def _critical_volume(cas: str) -> float:
    """Critical volume [cm3/mol] as the library `chemicals` lists it."""
    from chemicals.critical import Vc

    return Vc(cas) * 1e6


def _linear(coefficients: np.ndarray, acentric: np.ndarray) -> np.ndarray:
    """a + b omega, shape (rows, n)."""
    a, b = coefficients.T[:, :, None]
    return a + b * acentric


def _dense(b, y):
    """G2 of both properties from its first five coefficients: how the packing y slows the molecules."""
    g1 = (1.0 - 0.5 * y) / (1.0 - y) ** 3
    rise = -b[0] * np.expm1(-b[3] * y) / y
    return (rise + b[1] * g1 * np.exp(b[4] * y) + b[2] * g1) / (b[0] * b[3] + b[1] + b[2])


def _viscosity(fluid: _Fluid, temperatures, volumes) -> tuple[np.ndarray, np.ndarray]:
    """Viscosity of the dilute gas and at the molar volume [cm3/mol], both [Pa s]."""
    reduced = 1.2593 * temperatures / fluid.critical_temperature
    integral = (
        1.16145 * reduced**-0.14874 + 0.52487 * np.exp(-0.77320 * reduced) + 2.16178 * np.exp(-2.43787 * reduced)
    )
    star = np.sqrt(reduced) / integral * (1.0 - 0.2756 * fluid.acentric)
    e = _linear(VISCOSITY_COEFFICIENTS, fluid.acentric)
    y = fluid.critical_volume / (6.0 * volumes)
    g2 = _dense(e, y)
    collisional = e[6] * y**2 * g2 * np.exp(e[7] + e[8] / reduced + e[9] / reduced**2)
    unit = 36.344e-7 * np.sqrt(fluid.molar_mass * fluid.critical_temperature) / np.cbrt(fluid.critical_volume) ** 2
    return unit * star, unit * (star * (1.0 / g2 + e[5] * y) + collisional)


def _conductivity(fluid: _Fluid, temperatures, volumes, dilute, mean_mass, cv) -> np.ndarray:
    """Conductivity [W/(m K)] from the dilute viscosity [Pa s], mean molar mass [kg/mol], ideal cv [J/(mol K)]."""
    reduced = temperatures / fluid.critical_temperature
    alpha = cv / GAS_CONSTANT - 1.5
    beta = 0.7862 - 0.7109 * fluid.acentric + 1.3168 * fluid.acentric**2
    z = 2.0 + 10.5 * reduced**2
    psi = 1.0 + alpha * (0.215 + 0.28288 * alpha - 1.061 * beta + 0.26665 * z) / (
        0.6366 + beta * z + 1.061 * alpha * beta
    )
    b = _linear(CONDUCTIVITY_COEFFICIENTS, fluid.acentric)
    y = fluid.critical_volume / (6.0 * volumes)
    g2 = _dense(b, y)
    q = 3.586e-3 * np.sqrt(fluid.critical_temperature / mean_mass) / np.cbrt(fluid.critical_volume) ** 2
    return 31.2 * dilute * psi / mean_mass * (1.0 / g2 + b[5] * y) + q * b[6] * y**2 * np.sqrt(reduced) * g2


def _ideal_cv(gases: tuple[str, ...], x, temperatures) -> np.ndarray:
    """Ideal-gas heat capacity at constant volume [J/(mol K)], shape (n,)."""
    t = temperatures / REFERENCE_TEMPERATURE
    cp = np.array([np.polynomial.polynomial.polyval(t, gas(name).ideal_cp) for name in gases])
    return GAS_CONSTANT * (np.einsum("nc,cn->n", x, cp) - 1.0)


def _check(temperatures, volumes, critical_volumes) -> None:
    if not (np.all(np.isfinite(temperatures)) and np.all(temperatures > 0.0)):
        raise InputError(f"transport properties need a positive temperature, got {temperatures}")
    if not (np.all(np.isfinite(volumes)) and np.all(6e6 * volumes > critical_volumes)):
        raise InputError(f"transport properties need a molar volume above a sixth of the critical, got {volumes}")


def phase_transport(model, phase: Phase, temperature: float, pressure: float) -> tuple[float, float]:
    """Viscosity [Pa s] and conductivity [W/(m K)] of a phase, by the best means a property model has.

    A pure fluid brings its own reference equations, where it has them; everything else goes by `transport`.

    Parameters and errors as in `transport`, with the property model in place of its gases.
    """
    single = State(
        temperature=temperature, pressure=pressure, composition=phase.composition, enthalpy=phase.enthalpy,
        entropy=phase.entropy, molar_volume=phase.molar_volume, phases=(replace(phase, fraction=1.0),),
    )  # fmt: skip
    try:
        return model.transport(single) or transport(model.gases, phase, temperature, pressure)
    except ConvergenceError:
        if model.gases[0] not in gas_names():
            raise
        return transport(model.gases, phase, temperature, pressure)


def phase_viscosities(model, states: Sequence[State]) -> list[float]:
    """Viscosities [Pa s] of all phases of several states, one after another, as `phase_transport` gives them."""
    phases = [(phase, state) for state in states for phase in state.phases]
    if model.facts is not None:
        return [phase_transport(model, phase, state.temperature, state.pressure)[0] for phase, state in phases]
    viscosities, _ = transport_arrays(
        model.gases,
        np.array([phase.composition for phase, _ in phases]),
        np.array([state.temperature for _, state in phases]),
        np.array([phase.molar_volume for phase, _ in phases]),
    )
    return [float(value) for value in viscosities]
