"""The flashes of the thermo library, set up with the parameters of one of our cubic equations.

thermo: C. Bell and contributors, Thermodynamics and Phase Equilibrium component of ChEDL,
https://github.com/CalebBell/thermo. It shares no code with the compiled kernels.
"""

from __future__ import annotations

import numpy as np
import thermo

from mixjt.constants import GAS_CONSTANT, REFERENCE_TEMPERATURE

EQUATIONS = {"soave-redlich-kwong": thermo.SRKMIX, "peng-robinson": thermo.PRMIX}
IDEAL_SPAN = (50.0, 600.0)  # K

# Sum of squares of relative fugacity errors. Its default, 1e-13, leaves fugacities apart by 3e-7, which next
# to a plait point moves phase amounts by 1e-5; with this one they agree with ours to 1e-8.
SUBSTITUTION_TOLERANCE = 1e-20


def thermo_flashes(parameters) -> dict:
    """{"two phases": FlashVL, "several phases": FlashVLN} for a CubicParameters without T-dependent kij."""
    assert not parameters.k1.any(), "thermo's kij do not depend on temperature"
    heat_capacities = [_heat_capacity(row) for row in parameters.ideal_cp]
    constants = thermo.ChemicalConstantsPackage(
        Tcs=parameters.critical_temperatures.tolist(),
        Pcs=parameters.critical_pressures.tolist(),
        omegas=parameters.acentric_factors.tolist(),
        MWs=(1e3 * parameters.molar_masses).tolist(),
    )
    correlations = thermo.PropertyCorrelationsPackage(
        constants, HeatCapacityGases=heat_capacities, skip_missing=True
    )
    values = {
        "Tcs": constants.Tcs,
        "Pcs": constants.Pcs,
        "omegas": constants.omegas,
        "kijs": parameters.k0.tolist(),
    }
    equation = EQUATIONS[parameters.name]
    gas = thermo.CEOSGas(equation, values, HeatCapacityGases=heat_capacities)
    liquid = thermo.CEOSLiquid(equation, values, HeatCapacityGases=heat_capacities)
    flashes = {
        "two phases": thermo.FlashVL(constants, correlations, liquid=liquid, gas=gas),
        "several phases": thermo.FlashVLN(constants, correlations, liquids=[liquid, liquid], gas=gas),
    }
    for flash in flashes.values():
        flash.PT_SS_TOL = SUBSTITUTION_TOLERANCE
        flash.PT_SS_MAXITER = 20000
    return flashes


def _heat_capacity(row):
    """cp0/R = sum a_k (T / 298.15 K)^k as a polynomial in T, highest power first."""
    powers = REFERENCE_TEMPERATURE ** np.arange(row.size)
    return thermo.HeatCapacityGas(poly_fit=(*IDEAL_SPAN, (GAS_CONSTANT * row / powers)[::-1].tolist()))
