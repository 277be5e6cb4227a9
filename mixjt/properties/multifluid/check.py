"""Comparison of a blend's coefficients with the installed library: other versions may hold other ones."""

from __future__ import annotations

import numpy as np

from mixjt.errors import MissingDataError
from mixjt.gases.catalogue import gas
from mixjt.properties.multifluid.mixture import Mixture
from mixjt.properties.multifluid.sweep import OUTPUTS, H, V, phase_values

TEMPERATURE, PRESSURE = 350.0, 5e6  # a dense gas, where departure functions show
TOLERANCE = 1e-8  # of the residual enthalpy


def refuse_other_coefficients(mixture: Mixture, gases: tuple[str, ...]) -> None:
    """Raise MissingDataError where CoolProp evaluates an equimolar blend differently."""
    import CoolProp

    x = np.full(len(gases), 1.0 / len(gases))
    out = np.empty(OUTPUTS)
    phase_values(mixture, TEMPERATURE, PRESSURE, x, np.empty(x.size), out)
    rt = mixture.gas_constant * TEMPERATURE
    state = CoolProp.AbstractState("HEOS", "&".join(gas(name).cas for name in gases))
    if x.size > 1:
        state.set_mole_fractions(list(x))
    state.specify_phase(CoolProp.iphase_gas)
    try:
        state.update(CoolProp.DmolarT_INPUTS, PRESSURE / (out[V] * rt), TEMPERATURE)
    except ValueError as error:
        text = f"CoolProp {CoolProp.__version__} cannot evaluate {' + '.join(gases)} ({error}); use the fast model"
        raise MissingDataError(text) from None
    if not abs(state.hmolar_residual() - out[H] * rt) <= TOLERANCE * abs(out[H] * rt):
        raise MissingDataError(
            f"CoolProp {CoolProp.__version__} has other coefficients for {' + '.join(gases)} than the reference "
            "model, which was made with version 8.0.0; use the fast model"
        )
