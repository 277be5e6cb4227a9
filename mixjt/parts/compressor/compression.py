"""Positive-displacement compressor: flow, work, discharge state, electrical power and current.

How warm the shell gets, and with it the gas before and after the cylinder, is found in `mixjt.parts.compressor.shell`,
whose equations hold here; h2 = h1 + w_el - UA (T_shell - T_ambient) / flow closes the balance of the whole.

Isentropic efficiency and energy balance: any engineering thermodynamics textbook, e.g. Moran & Shapiro,
Fundamentals of Engineering Thermodynamics, chapter on control volumes (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

from mixjt.bounds import require, require_fields
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.keys import TEXT, WHOLE, key
from mixjt.parts.compressor.shell import filling, hottest_enthalpy, ideal_work, shell_temperature


@dataclass(frozen=True)
class KindDefaults:
    """What is assumed for a kind of compressor where the user states nothing; see `COMPRESSOR_KINDS`.

    Fields are those of `Compressor`, but idle_power and shell_conductance are per swept flow [J/m3], [J/(m3 K)].
    """

    clearance: float
    suction_heating: float
    discharge_cooling: float
    leakage: float
    isentropic_efficiency: float
    motor_efficiency: float
    idle_power: float
    shell_conductance: float
    largest_pressure_ratio: float


# The one source of what is assumed, however a case is written. Common practice, no source: orders of magnitude for
# small hermetic machines in good condition. A machine of 7 cm3 at 2900 rpm idles with 14 W and loses 1.7 W/K: 0.1 m2 of shell in
# air that a fan moves a little. Shells are at suction pressure, whose gas cools motor and pump, but that of a rotary
# machine is full of discharge gas. The ratio is what a single stage of the kind runs at for long (a low-temperature
# reciprocating machine is rated near 12).
COMPRESSOR_KINDS: dict[str, KindDefaults] = {
    "reciprocating": KindDefaults(0.03, 0.65, 0.75, 0.005, 0.74, 0.82, 4e4, 7e3, 12.0),
    "rotary": KindDefaults(0.015, 0.12, 1.00, 0.012, 0.78, 0.85, 4e4, 5e3, 9.0),
    "scroll": KindDefaults(0.0, 0.40, 0.20, 0.010, 0.76, 0.88, 4e4, 5e3, 8.0),
}
SIZED = ("idle_power", "shell_conductance")  # these grow with the swept flow, where they are not stated
FILLED_IN = tuple(name for name in KindDefaults.__dataclass_fields__ if name not in SIZED)
# Common practice, no source: mineral and ester oils begin to carbonise on valves at 150 degC; a discharge line of
# 107 degC (225 degF), measured on the tube a hand's breadth outside the shell, is what goes with that.
LARGEST_DISCHARGE_TEMPERATURE = 380.15  # K
LARGEST_VALVE_TEMPERATURE = 423.15  # K
DEFAULT_POWER_FACTOR = 0.9  # common practice, no source: small motor with a run capacitor


@dataclass(frozen=True)
class Compressor:
    """A positive-displacement compressor.

    Parameters
    ----------
    kind : str
        "reciprocating", "rotary" or "scroll".
    displacement : float
        Swept volume [m3 per revolution].
    speed : float
        [rev/s].
    clearance : float, optional
        Volume left at the end of the stroke over swept volume.
    isentropic_efficiency, motor_efficiency : float, optional
        Within (0, 1]; the first counts from the gas as it enters the cylinder.
    suction_heating, discharge_cooling : float, optional
        Share of the way to the shell's temperature that the gas goes before and after the cylinder.
    leakage : float, optional
        Swept volume lost, per unit of pressure ratio above 1.
    idle_power : float, optional
        Electrical power that does not go with the load [W].
    shell_conductance : float, optional
        From the shell to the room [W/K].
    supply_voltage : float, optional
        [V], line to line where there are three phases; without it no current is given.
    power_factor : float, optional
    supply_phases : int
        1 or 3.
    largest_discharge_temperature, largest_valve_temperature : float
        [K], limits of the discharge line and of the gas at the valve.
    largest_pressure_ratio : float, optional
        What a single stage of this kind stands.
    largest_supply_current, largest_electrical_power, largest_suction_pressure : float, optional
        What label, supply or user allow [A], [W], [Pa]; None where nothing is known.

    What is left out is filled in from `COMPRESSOR_KINDS`; after construction only supply_voltage, these three,
    idle_power and shell_conductance can be None, and for the last two idle_at and conductance_at say what holds.

    Raises
    ------
    InputError
        For a value out of its range.
    """

    kind: str = key(TEXT, "the kind of compressor", at="type", choices=tuple(COMPRESSOR_KINDS))
    displacement: float = key(
        "volume", "the swept volume per revolution", within="(0, 1e-2]", otherwise="needed, or from [rating]"
    )
    speed: float = key("frequency", "the speed of the shaft", within="(0, 500]", otherwise="needed, or from [rating]")
    clearance: float | None = key(
        "fraction", "dead volume over swept volume", default=None, within="[0, 0.5]", otherwise="by type"
    )
    isentropic_efficiency: float | None = key(
        "fraction", "ideal over actual work into the gas that the cylinder takes in", default=None, within="(0, 1]",
        otherwise="by type",
    )
    motor_efficiency: float | None = key(
        "fraction", "work into the gas over electrical power less idle_power", default=None, within="(0, 1]",
        otherwise="by type",
    )
    suction_heating: float | None = key(
        "fraction", "how far the shell warms the gas before the cylinder: share of the way to its temperature",
        default=None, within="[0, 1]", otherwise="by type",
    )
    discharge_cooling: float | None = key(
        "fraction", "how far the gas from the valve comes to the shell's temperature before it leaves",
        default=None, within="[0, 1]", otherwise="by type",
    )
    leakage: float | None = key(
        "fraction", "swept volume that leaks back, per unit of pressure ratio above 1", default=None, within="[0, 0.2]",
        otherwise="by type",
    )
    idle_power: float | None = key(
        "power", "electrical power that does not go with the load: idling motor, friction", default=None,
        within="[0, 1e4]", otherwise="by type and swept flow",
    )
    shell_conductance: float | None = key(
        "heat_conductance", "heat that the shell loses to the room, per kelvin", default=None, within="[0, 1e3]",
        otherwise="by type and swept flow",
    )
    supply_voltage: float | None = key(
        "voltage", "the supply voltage; without it no current is given", at="voltage", default=None, within="(0, 1000]"
    )
    power_factor: float = key(
        "fraction", "the power factor of the motor", default=DEFAULT_POWER_FACTOR, within="(0, 1]",
        otherwise=f"{DEFAULT_POWER_FACTOR:g}, or from the current of [rating]",
    )
    supply_phases: int = key(WHOLE, "1 or 3", default=1, within="[1, 3]")
    largest_discharge_temperature: float = key(
        "temperature", "what oil and valves stand, measured on the discharge line outside the shell",
        default=LARGEST_DISCHARGE_TEMPERATURE, within="[300, 450]",
    )
    largest_valve_temperature: float = key(
        "temperature", "what they stand of the gas at the discharge valve, before the shell has its loss",
        default=LARGEST_VALVE_TEMPERATURE, within="[300, 500]",
    )
    largest_pressure_ratio: float | None = key(
        "number", "what a single stage of this type stands", default=None, within="(1, 100]", otherwise="by type"
    )
    largest_supply_current: float | None = key(
        "current", "the largest current that motor or supply stand for long; needs voltage", at="largest_current",
        default=None, within="(0, 1000]", otherwise="from [rating]",
    )
    largest_electrical_power: float | None = key(
        "power", "the largest electrical power that the compressor may draw", at="largest_power", default=None,
        within="(0, 1e5]", otherwise="no limit",
    )
    largest_suction_pressure: float | None = None

    def __post_init__(self):
        if self.kind not in COMPRESSOR_KINDS:
            raise InputError(f"compressor kind {self.kind!r} is not one of {', '.join(COMPRESSOR_KINDS)}")
        self._fill_in()
        stated = ("displacement", "speed", "largest_discharge_temperature", "largest_valve_temperature")
        require_fields(self, "compressor", stated, above=0.0)
        allowed = ("largest_supply_current", "largest_electrical_power", "largest_suction_pressure")
        require_fields(self, "compressor", ("supply_voltage", *allowed), optional=True, above=0.0)
        efficiencies = ("isentropic_efficiency", "motor_efficiency", "power_factor")
        require_fields(self, "compressor", efficiencies, above=0.0, most=1.0)
        require("compressor clearance", self.clearance, least=0.0, below=1.0)
        require_fields(self, "compressor", ("suction_heating", "discharge_cooling"), least=0.0, most=1.0)
        require("compressor leakage", self.leakage, least=0.0, below=1.0)
        require_fields(self, "compressor", SIZED, optional=True, least=0.0)
        require("compressor largest_pressure_ratio", self.largest_pressure_ratio, above=1.0)
        if self.supply_phases not in (1, 3):
            raise InputError(f"compressor supply_phases must be 1 or 3, got {self.supply_phases}")

    def _fill_in(self):
        for name in FILLED_IN:
            if getattr(self, name) is None:
                object.__setattr__(self, name, getattr(COMPRESSOR_KINDS[self.kind], name))

    @property
    def swept_flow(self) -> float:
        """Displacement times speed [m3/s]."""
        return self.displacement * self.speed

    def idle_at(self, swept_flow):
        """Power that does not go with the load [W] of the machine made for a swept flow [m3/s]."""
        return self._sized("idle_power", swept_flow)

    def conductance_at(self, swept_flow):
        """From the shell to the room [W/K], of the machine made for a swept flow [m3/s]."""
        return self._sized("shell_conductance", swept_flow)

    def heated(self, inlet, shell):
        """Temperature of the gas that enters the cylinder [K], from those of inlet and shell."""
        return inlet + self.suction_heating * (shell - inlet)

    def of_size(self, displacement: float, speed: float) -> Compressor:
        """The same machine in another size: what is stated in watts and watts per kelvin goes with the swept flow."""
        grown = displacement * speed / self.swept_flow
        stated = {name: getattr(self, name) for name in SIZED}
        changed = {name: value * grown for name, value in stated.items() if value is not None}
        return replace(self, displacement=displacement, speed=speed, **changed)

    def _sized(self, name: str, swept_flow):
        value = getattr(self, name)
        return getattr(COMPRESSOR_KINDS[self.kind], name) * swept_flow if value is None else value


@dataclass(frozen=True)
class CompressionResult:
    """One compression of a fluid. Works and heats per mole of gas [J/mol].

    valve_enthalpy and discharge_enthalpy [J/mol] are those of the states valve and discharge, which are looked for when
    they are asked for: many circuits are solved for their flow alone. entering is the gas as the cylinder takes it in; work goes into the gas; electrical_work is all that the motor draws;
    shell_heat is what the shell loses to the room; valve is the gas at the discharge valve, before the shell has its share;
    volumetric_efficiency is the gas moved, as it arrives, over the swept volume, and leakage what leaks back over what is
    moved; supply_current is None where no supply voltage is stated.
    """

    fluid: Fluid
    suction: State
    entering: State
    isentropic: State
    valve_enthalpy: float
    discharge_enthalpy: float
    shell_temperature: float  # K
    work: float
    electrical_work: float
    shell_heat: float
    isentropic_exponent: float
    volumetric_efficiency: float
    leakage: float
    molar_flow: float  # mol/s
    mass_flow: float  # kg/s
    electrical_power: float  # W
    supply_current: float | None  # A

    @cached_property
    def valve(self) -> State:
        """The gas at the discharge valve."""
        return _beyond(self.fluid.hp, self.valve_enthalpy, self.isentropic.pressure)

    @cached_property
    def discharge(self) -> State:
        """The gas that leaves."""
        return _beyond(self.fluid.hp, self.discharge_enthalpy, self.isentropic.pressure)

    @property
    def valve_temperature(self) -> float:
        """Of the gas at the discharge valve [K]."""
        return self.valve.temperature

    @property
    def discharge_temperature(self) -> float:
        """Of the discharge line [K]."""
        return self.discharge.temperature

    @property
    def suction_pressure(self) -> float:
        """[Pa]"""
        return self.suction.pressure

    @property
    def pressure_ratio(self) -> float:
        """Discharge over suction pressure."""
        return self.isentropic.pressure / self.suction.pressure


@dataclass(frozen=True)
class Stroke:
    """What the cylinder does with a mole of the gas that a shell of some temperature has warmed.

    filled is what comes out over the swept volume, in the state of entering; ideal the isentropic work per mole that leaves [J/mol].
    """

    entering: State
    isentropic: State
    exponent: float
    filled: float
    ideal: float


def stroke(fluid: Fluid, suction: State, discharge_pressure: float, compressor: Compressor, shell: float) -> Stroke:
    """The gas in a cylinder whose shell has a temperature [K]; parameters and errors as in `compress`."""
    ratio = discharge_pressure / suction.pressure
    entering = suction
    if compressor.suction_heating > 0.0:
        entering = fluid.tp(compressor.heated(suction.temperature, shell), suction.pressure)
    isentropic = _beyond(fluid.sp, entering.entropy, discharge_pressure)
    exponent = isentropic_exponent(entering, isentropic)
    filled = filling(compressor, ratio, exponent)
    if not filled > 0.0:
        raise UnreachableError(
            f"the compressor moves no gas at a pressure ratio of {ratio:.3g}: what is left in its clearance "
            f"of {compressor.clearance:.3g} expands, and gas leaks back, over the whole stroke; lower the ratio or the clearance"
        )
    ideal = float(ideal_work(compressor, ratio, filled, isentropic.enthalpy - entering.enthalpy))
    return Stroke(entering, isentropic, exponent, filled, ideal)


def compress(
    fluid: Fluid, suction: State, discharge_pressure: float, compressor: Compressor, ambient: float
) -> CompressionResult:
    """Compress a blend from its suction state to the discharge pressure.

    Parameters
    ----------
    fluid : Fluid
    suction : State
        At the compressor inlet. A wet suction is computed as it stands; the caller warns.
    discharge_pressure : float
        [Pa]
    compressor : Compressor
    ambient : float
        Temperature of the room that takes the heat of the shell [K].

    Raises
    ------
    InputError
        Where the discharge pressure is not above the suction pressure.
    UnreachableError
        Where the gas left in the clearance fills the whole stroke, or shell or discharge are hotter than the
        property model reaches.
    """
    require_rise(suction.pressure, discharge_pressure)
    shell = shell_temperature(fluid, suction, discharge_pressure, compressor, ambient)
    done = stroke(fluid, suction, discharge_pressure, compressor, shell)
    swept = compressor.swept_flow
    flow = done.filled * swept / done.entering.molar_volume
    work = done.ideal / compressor.isentropic_efficiency
    electrical_work = work / compressor.motor_efficiency + compressor.idle_at(swept) / flow
    shell_heat = compressor.conductance_at(swept) * (shell - ambient) / flow
    power = electrical_work * flow
    ratio = discharge_pressure / suction.pressure
    found = CompressionResult(
        fluid=fluid,
        suction=suction,
        entering=done.entering,
        isentropic=done.isentropic,
        valve_enthalpy=done.entering.enthalpy + work,
        discharge_enthalpy=suction.enthalpy + electrical_work - shell_heat,
        shell_temperature=shell,
        work=work,
        electrical_work=electrical_work,
        shell_heat=shell_heat,
        isentropic_exponent=done.exponent,
        volumetric_efficiency=flow * suction.molar_volume / swept,
        leakage=compressor.leakage * (ratio - 1.0) / done.filled,
        molar_flow=flow,
        mass_flow=flow * fluid.molar_mass,
        electrical_power=power,
        supply_current=supply_current(power, compressor),
    )
    if max(found.valve_enthalpy, found.discharge_enthalpy) > hottest_enthalpy(fluid, suction, discharge_pressure, ambient):
        found.valve, found.discharge  # noqa: B018  # where the model has none, that is said at once
    return found


def require_rise(suction_pressure: float, discharge_pressure: float) -> None:
    """Refuse a discharge pressure [Pa] that is not above the suction pressure."""
    if not discharge_pressure > suction_pressure:
        raise InputError(
            f"discharge pressure {discharge_pressure:.6g} Pa is not above the suction pressure {suction_pressure:.6g} Pa"
        )


def _beyond(find_state, target: float, pressure: float) -> State:
    """A compressed state; where the model has none, say that the discharge is the reason."""
    try:
        return find_state(target, pressure)
    except UnreachableError as error:
        raise UnreachableError(
            f"the compressor's discharge is far too hot for the property model ({error}); lower the pressure "
            "ratio, or state a better isentropic efficiency"
        ) from error


def isentropic_exponent(suction: State, isentropic: State) -> float:
    """Mean exponent n of p v^n = constant between two states of equal entropy.

    n = ln(p2 / p1) / ln(v1 / v2); for an ideal gas of constant heat capacities it is cp/cv.
    """
    return math.log(isentropic.pressure / suction.pressure) / math.log(
        suction.molar_volume / isentropic.molar_volume
    )


def supply_current(power: float, compressor: Compressor) -> float | None:
    """Current in each supply line [A] at a true power [W]; None where no voltage is stated."""
    if compressor.supply_voltage is None:
        return None
    volt_ampere = power / compressor.power_factor
    return volt_ampere / (compressor.supply_voltage * math.sqrt(compressor.supply_phases))
