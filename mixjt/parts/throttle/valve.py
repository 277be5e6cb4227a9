"""A needle valve as a throttle: its flow coefficient Kv, by homogeneous expansion and by the formulas of IEC 60534.

Kv is the flow of cold water in m3/h at 1 bar, so a valve counts as a frictionless nozzle of the effective area
A = Kv / 3600 / sqrt(2 * 1e5 / 1000) m2. Through it flows the greatest flux that the expansion to any pressure down
to that behind the valve allows: liquid, flashing or vapour, choked or not, in one formula. Real liquid flashes late,
so that a short nozzle passes more than the homogeneous model says, up to twice as much for slightly subcooled liquid.

Sources: API 520 part I and ISO 4126-10 for homogeneous expansion in nozzles (from memory); IEC 60534-2-1 (2011) as
in `fluids.control_valve`.
"""

from __future__ import annotations

import math

import numpy as np

from mixjt.bounds import require
from mixjt.constants import ATMOSPHERE, GAS_CONSTANT, ZERO_CELSIUS
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import VAPOUR, State
from mixjt.fluid.transport import phase_transport
from mixjt.gases import gas
from mixjt.parts.throttle.expansion import ExpansionLine

WATER_DENSITY, ONE_BAR = 1000.0, 1e5  # kg/m3 and Pa that define Kv
AREA_PER_KV = 1.0 / 3600.0 / math.sqrt(2.0 * ONE_BAR / WATER_DENSITY)  # m2
NEEDLE_RECOVERY, NEEDLE_RATIO = 0.98, 0.8  # FL and xT of a tapered needle: IEC 60534-2-1, example 4
THIN_GAS = 1e3  # Pa, where a gas is ideal


def valve_flow(line: ExpansionLine, kv: float) -> float:
    """Mass flow [kg/s] through a valve of a Kv [m3/h], homogeneous expansion to the line's last pressure."""
    require("valve Kv", kv, above=0.0)
    return kv * AREA_PER_KV * line.greatest_flux


def kv_of_flow(line: ExpansionLine, mass_flow: float) -> float:
    """Kv [m3/h] at which a valve passes a mass flow [kg/s], homogeneous expansion to the line's last pressure."""
    require("valve mass flow", mass_flow, above=0.0)
    return mass_flow / (AREA_PER_KV * line.greatest_flux)


def chokes(line: ExpansionLine) -> bool:
    """Whether the flow through a valve no longer depends on the pressure behind it."""
    return int(np.argmax(line.nozzle_fluxes())) < len(line.pressures) - 1


def kv_iec(fluid: Fluid, inlet: State, outlet_pressure: float, mass_flow: float) -> float:
    """Kv [m3/h] by IEC 60534-2-1 for an inlet that is all liquid or all vapour.

    Parameters
    ----------
    fluid : Fluid
    inlet : State
    outlet_pressure : float
        [Pa]
    mass_flow : float
        [kg/s]

    Raises
    ------
    InputError
        For a two-phase inlet, which the standard does not cover, or a pressure that does not fall.

    The critical pressure of a blend is the mole-fraction mean of its gases (Kay's rule); cp/cv is that of the thin gas.

    Source: IEC 60534-2-1 (2011), by `fluids.control_valve`, with FL and xT of a tapered needle.
    """
    from fluids.control_valve import size_control_valve_g, size_control_valve_l

    require("valve mass flow", mass_flow, above=0.0)
    if not 0.0 < outlet_pressure < inlet.pressure:
        raise InputError("the pressure after a valve must be below that before it")
    if len(inlet.phases) != 1:
        raise InputError("IEC 60534 covers liquid or gas before the valve, not both: use homogeneous expansion")
    molar_mass = fluid.molar_mass
    viscosity, _ = phase_transport(fluid.model, inlet.phases[0], inlet.temperature, inlet.pressure)
    if inlet.phases[0].kind == VAPOUR:
        return size_control_valve_g(
            T=inlet.temperature, MW=1e3 * molar_mass, mu=viscosity, gamma=_heat_capacity_ratio(fluid, inlet),
            Z=inlet.pressure * inlet.molar_volume / (GAS_CONSTANT * inlet.temperature), P1=inlet.pressure, P2=outlet_pressure, xT=NEEDLE_RATIO, FL=NEEDLE_RECOVERY,
            Q=mass_flow / molar_mass * GAS_CONSTANT * ZERO_CELSIUS / ATMOSPHERE,
        )  # fmt: skip
    return size_control_valve_l(
        rho=molar_mass / inlet.molar_volume, Psat=_bubble_pressure(fluid, inlet), Pc=_critical_pressure(fluid),
        mu=viscosity, P1=inlet.pressure, P2=outlet_pressure, FL=NEEDLE_RECOVERY,
        Q=mass_flow * inlet.molar_volume / molar_mass,
    )  # fmt: skip


def _heat_capacity_ratio(fluid, inlet: State) -> float:
    """cp/cv of the gas at the inlet's temperature and hardly any pressure."""
    warm, cool = (fluid.tp(inlet.temperature + step, THIN_GAS).enthalpy for step in (1.0, -1.0))
    capacity = 0.5 * (warm - cool)
    return capacity / (capacity - GAS_CONSTANT)


def _bubble_pressure(fluid, inlet: State) -> float:
    """Vapour pressure of the liquid at its temperature [Pa]; nought above the two-phase region."""
    found = fluid.bubble_pressure(inlet.temperature)
    return found if math.isfinite(found) else 0.0


def _critical_pressure(fluid) -> float:
    """Critical pressure [Pa] of a pure fluid, or the mean of a blend's gases."""
    if fluid.model.facts is not None:
        return fluid.model.facts.critical_pressure
    return float(sum(share * gas(name).critical_pressure for name, share in zip(fluid.gases, fluid.z, strict=True)))
