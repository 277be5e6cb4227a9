"""A compressor fitted to one measured point: how large it is, how well it works, how its shell loses heat."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import fluid_names, pure_model
from mixjt.fluid.states import State
from mixjt.keys import FLUID, key
from mixjt.parts.compressor.compression import Compressor, require_rise, stroke
from mixjt.parts.compressor.shell import shell_temperature


@dataclass(frozen=True)
class MeasuredPoint:
    """A test run of a compressor on a pure fluid, and what was measured: its shell [K], its flow [kg/s], or both."""

    refrigerant: str = key(FLUID, "what it ran on: the label's refrigerant, nitrogen, propane ...", choices=fluid_names())
    suction_pressure: float = key("pressure", "at the compressor inlet", within="[1e3, 1e7]")
    discharge_pressure: float = key("pressure", "at the compressor outlet", within="[1e3, 1e7]")
    suction_temperature: float = key("temperature", "at the compressor inlet", within="[150, 400]")
    room_temperature: float = key("temperature", "of the air around the compressor", within="[200, 350]")
    shell_temperature: float | None = key(
        "temperature", "measured on the shell, halfway up, when it rises no more", default=None, within="[200, 500]"
    )
    mass_flow: float | None = key("mass_flow", "measured", default=None, within="(0, 10]")

    def corrected(self, compressor: Compressor) -> Compressor:
        """A compressor that does so; errors as `fitted`."""
        if self.shell_temperature is None and self.mass_flow is None:
            raise InputError("give what was measured: shell_temperature, mass_flow or both")
        fluid = Fluid(pure_model(self.refrigerant), (1.0,))
        flow = None if self.mass_flow is None else self.mass_flow / fluid.molar_mass
        suction = fluid.tp(self.suction_temperature, self.suction_pressure)
        point = (fluid, suction, self.discharge_pressure, self.room_temperature)
        return fitted(compressor, *point, molar_flow=flow, shell=self.shell_temperature)


def fitted(
    compressor: Compressor,
    fluid: Fluid,
    suction: State,
    discharge_pressure: float,
    ambient: float,
    *,
    molar_flow: float | None = None,
    power: float | None = None,
    shell: float | None = None,
) -> Compressor:
    """A machine of the same kind that does what was measured.

    Parameters
    ----------
    compressor : Compressor
        Whose parameters hold where nothing measured replaces them.
    fluid, suction, discharge_pressure, ambient
        Of the point, as in `mixjt.parts.compressor.compression.compress`.
    molar_flow : float, optional
        Measured flow [mol/s], which gives the displacement.
    power : float, optional
        Electrical [W], which gives the isentropic efficiency; only with a flow.
    shell : float, optional
        Temperature of the shell [K], which gives its conductance.

    Raises
    ------
    InputError
        For a power without a flow, and a shell not warmer than the room.
    UnreachableError
        Where no machine does that, and as `compress`.
    """
    require_rise(suction.pressure, discharge_pressure)
    if power is not None and molar_flow is None:
        raise InputError("a measured power needs a flow with it")
    if shell is not None and not shell > ambient:
        raise InputError(f"a measured shell is warmer than the room: {shell:.5g} K against {ambient:.5g} K")
    at = shell
    if at is None:
        at = shell_temperature(fluid, suction, discharge_pressure, compressor, ambient, molar_flow, power)
    done = stroke(fluid, suction, discharge_pressure, compressor, at)
    found = compressor
    if molar_flow is not None:
        swept = molar_flow * done.entering.molar_volume / done.filled
        found = replace(found, displacement=swept / found.speed)
    flow = done.filled * found.swept_flow / done.entering.molar_volume
    idle = found.idle_at(found.swept_flow)
    if power is not None:
        work = found.motor_efficiency * (power - idle) / flow
        efficiency = done.ideal / work if work > 0.0 else float("inf")
        if efficiency > 1.0:
            raise UnreachableError(
                f"{power:.4g} W for {1e3 * molar_flow:.4g} mmol/s is less than an ideal machine needs behind a motor of "
                f"{found.motor_efficiency:.0%} that draws {idle:.3g} W at no load"
            )
        found = replace(found, isentropic_efficiency=efficiency)
    if shell is not None:
        found = replace(found, shell_conductance=_conductance(found, fluid, suction, discharge_pressure, done, flow, shell, ambient))
    return found


def _conductance(compressor, fluid, suction, discharge_pressure, done, flow, shell, ambient) -> float:
    """What the shell of that temperature loses to the room [W/K]."""
    work = done.ideal / compressor.isentropic_efficiency
    power = flow * work / compressor.motor_efficiency + compressor.idle_at(compressor.swept_flow)
    valve = fluid.hp(done.entering.enthalpy + work, discharge_pressure).temperature
    outlet = fluid.tp(valve - compressor.discharge_cooling * (valve - shell), discharge_pressure)
    lost = power + flow * (suction.enthalpy - outlet.enthalpy)
    if not lost > 0.0:
        raise UnreachableError(
            f"a shell of {shell:.5g} K does not fit: the gas would carry off more than the {power:.4g} W that the motor draws"
        )
    return lost / (shell - ambient)
