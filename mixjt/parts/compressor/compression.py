"""Positive-displacement compressor: flow, work, discharge state, electrical power and current.

Energy balance of a hermetic machine, per mole of gas, with w the work into the gas:

    w     = (h2s - h1) / isentropic_efficiency
    w_el  = w / motor_efficiency                          electrical input
    q_sh  = shell_heat_loss * w_el                        heat lost from the shell to the room
    h2    = h1 + w_el - q_sh                              all the rest leaves with the gas

The motor sits in the gas, so what the shell does not lose the gas carries away. By default the shell
loses exactly the motor's loss, which gives h2 = h1 + w. At the discharge valve the gas has h1 + w in any case: it
is there before the shell takes its loss. Leakage and friction are part of the
isentropic efficiency. Heating of the gas inside the shell *before* the cylinder is not modelled: the
flow is that of gas entering the cylinder in its compressor-inlet state.

Isentropic efficiency and energy balance: any engineering thermodynamics textbook, e.g. Moran & Shapiro,
Fundamentals of Engineering Thermodynamics, chapter on control volumes (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.bounds import require, require_fields
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.keys import TEXT, WHOLE, key

USUAL_RATIO = 5.0  # where a default efficiency is wanted and no pressures are known


@dataclass(frozen=True)
class KindDefaults:
    """What is assumed for a kind of compressor where the user states nothing; see `COMPRESSOR_KINDS`.

    heating and leak take their share of the swept volume of a machine worked back from its label (see
    `mixjt.parts.compressor.label`); best_efficiency, best_ratio and width make the isentropic efficiency.
    """

    clearance: float
    heating: float
    leak: float  # per unit of pressure ratio
    best_efficiency: float
    best_ratio: float
    width: float
    motor_efficiency: float
    largest_pressure_ratio: float

    def filling(self, ratio: float) -> float:
        """What heating and leakage leave of the swept volume."""
        return self.heating * (1.0 - self.leak * (ratio - 1.0))

    def isentropic_efficiency(self, ratio: float = USUAL_RATIO) -> float:
        """Ideal over actual work into the gas: best (1 - width ln(ratio / best_ratio)^2), at least 0.4 best."""
        return self.best_efficiency * max(1.0 - self.width * math.log(ratio / self.best_ratio) ** 2, 0.4)


# The one source of what is assumed, however a case is written. Common practice, no source: orders of magnitude for
# small hermetic machines in good condition, best near a ratio of 3 and a sixth to a quarter worse at 12. The ratio is
# what a single stage of the kind runs at for long (a low-temperature reciprocating machine is rated near 12).
COMPRESSOR_KINDS: dict[str, KindDefaults] = {
    "reciprocating": KindDefaults(0.04, 0.86, 0.005, 0.66, 3.5, 0.10, 0.82, 12.0),
    "rotary": KindDefaults(0.015, 0.95, 0.012, 0.72, 3.0, 0.12, 0.85, 9.0),
    "scroll": KindDefaults(0.0, 0.95, 0.008, 0.72, 3.2, 0.15, 0.88, 8.0),
}
FILLED_IN = ("clearance", "motor_efficiency", "largest_pressure_ratio")
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
        Within (0, 1].
    shell_heat_loss : float, optional
        Fraction of the electrical input lost from the shell; by default 1 - motor_efficiency.
    supply_voltage : float, optional
        [V], line to line where there are three phases; without it no current is given.
    power_factor : float, optional
    supply_phases : int
        1 or 3.
    largest_discharge_temperature, largest_valve_temperature : float
        [K], limits of the discharge line and of the gas at the valve.
    largest_pressure_ratio : float, optional
        What a single stage of this kind stands.
    largest_supply_current, largest_suction_pressure : float, optional
        What the label allows [A], [Pa]; None where nothing is known.

    What is left out is filled in from `COMPRESSOR_KINDS`, the isentropic efficiency at a usual pressure ratio (a case
    file takes it at its own pressures); after construction only supply_voltage, what the label allows and shell_heat_loss can be
    None, and shell_fraction says what is used for the last.

    Raises
    ------
    InputError
        For a value out of its range, or a shell loss so great that the gas would leave colder than
        after an isentropic compression.
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
        "fraction", "ideal over actual work into the gas", default=None, within="(0, 1]", otherwise="by type"
    )
    motor_efficiency: float | None = key(
        "fraction", "work into the gas over electrical power", default=None, within="(0, 1]", otherwise="by type"
    )
    shell_heat_loss: float | None = key(
        "fraction", "heat lost by the shell over electrical power", default=None, within="[0, 1)",
        otherwise="the motor's loss",
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
    largest_supply_current: float | None = None
    largest_suction_pressure: float | None = None

    def __post_init__(self):
        if self.kind not in COMPRESSOR_KINDS:
            raise InputError(f"compressor kind {self.kind!r} is not one of {', '.join(COMPRESSOR_KINDS)}")
        self._fill_in()
        stated = ("displacement", "speed", "largest_discharge_temperature", "largest_valve_temperature")
        require_fields(self, "compressor", stated, above=0.0)
        labelled = ("supply_voltage", "largest_supply_current", "largest_suction_pressure")
        require_fields(self, "compressor", labelled, optional=True, above=0.0)
        efficiencies = ("isentropic_efficiency", "motor_efficiency", "power_factor")
        require_fields(self, "compressor", efficiencies, above=0.0, most=1.0)
        require("compressor clearance", self.clearance, least=0.0, below=1.0)
        require("compressor shell_heat_loss", self.shell_fraction, least=0.0, below=1.0)
        require("compressor largest_pressure_ratio", self.largest_pressure_ratio, above=1.0)
        if self.supply_phases not in (1, 3):
            raise InputError(f"compressor supply_phases must be 1 or 3, got {self.supply_phases}")
        greatest_loss = 1.0 - self.isentropic_efficiency * self.motor_efficiency
        if self.shell_fraction > greatest_loss + 1e-12:
            raise InputError(
                f"compressor shell_heat_loss {self.shell_fraction:g} would cool the gas below an isentropic "
                f"compression; at these efficiencies it can be at most {greatest_loss:.4g}"
            )

    def _fill_in(self):
        defaults = COMPRESSOR_KINDS[self.kind]
        usual = {name: getattr(defaults, name) for name in FILLED_IN}
        usual["isentropic_efficiency"] = defaults.isentropic_efficiency()
        for name, value in usual.items():
            if getattr(self, name) is None:
                object.__setattr__(self, name, value)

    @property
    def shell_fraction(self) -> float:
        """Fraction of the electrical input lost from the shell: as stated, or else the motor's loss."""
        return 1.0 - self.motor_efficiency if self.shell_heat_loss is None else self.shell_heat_loss

    @property
    def swept_flow(self) -> float:
        """Displacement times speed [m3/s]."""
        return self.displacement * self.speed


@dataclass(frozen=True)
class CompressionResult:
    """One compression. Works and heats per mole of gas [J/mol].

    work goes into the gas; electrical_work = work / motor efficiency; shell_heat is what the shell
    loses to the room; valve is the gas at the discharge valve, before the shell has its loss;
    supply_current is None where no supply voltage is stated.
    """

    suction: State
    isentropic: State
    valve: State
    discharge: State
    work: float
    electrical_work: float
    shell_heat: float
    isentropic_exponent: float
    volumetric_efficiency: float
    molar_flow: float  # mol/s
    mass_flow: float  # kg/s
    electrical_power: float  # W
    supply_current: float | None  # A

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
        return self.discharge.pressure / self.suction.pressure


def compress(
    fluid: Fluid, suction: State, discharge_pressure: float, compressor: Compressor
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

    Raises
    ------
    InputError
        Where the discharge pressure is not above the suction pressure.
    UnreachableError
        Where the gas left in the clearance fills the whole stroke, or the discharge is hotter than the
        property model reaches.
    """
    ratio = discharge_pressure / suction.pressure
    if not ratio > 1.0:
        raise InputError(
            f"discharge pressure {discharge_pressure:.6g} Pa is not above the suction pressure "
            f"{suction.pressure:.6g} Pa"
        )
    isentropic = _beyond(fluid.sp, suction.entropy, discharge_pressure)
    work = (isentropic.enthalpy - suction.enthalpy) / compressor.isentropic_efficiency
    electrical_work = work / compressor.motor_efficiency
    shell_heat = compressor.shell_fraction * electrical_work
    valve = discharge = _beyond(fluid.hp, suction.enthalpy + work, discharge_pressure)
    if compressor.shell_heat_loss is not None:
        hot = suction.enthalpy + electrical_work - shell_heat
        discharge = _beyond(fluid.hp, hot, discharge_pressure)

    exponent = isentropic_exponent(suction, isentropic)
    filling = volumetric_efficiency(compressor.clearance, ratio, exponent)
    if not filling > 0.0:
        raise UnreachableError(
            f"the compressor moves no gas at a pressure ratio of {ratio:.3g}: what is left in its clearance "
            f"of {compressor.clearance:.3g} expands over the whole stroke; lower the ratio or the clearance"
        )
    molar_flow = filling * compressor.swept_flow / suction.molar_volume
    power = electrical_work * molar_flow
    return CompressionResult(
        suction=suction,
        isentropic=isentropic,
        valve=valve,
        discharge=discharge,
        work=work,
        electrical_work=electrical_work,
        shell_heat=shell_heat,
        isentropic_exponent=exponent,
        volumetric_efficiency=filling,
        molar_flow=molar_flow,
        mass_flow=molar_flow * fluid.molar_mass,
        electrical_power=power,
        supply_current=supply_current(power, compressor),
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


def volumetric_efficiency(clearance, pressure_ratio, exponent):
    """Clearance volumetric efficiency 1 + C - C (p2/p1)^(1/n) [m3/m3].

    The gas left in the clearance C expands again to suction pressure and takes up part of the stroke;
    valve losses and leakage are not in it. Arguments may be arrays. May be negative: then no gas flows.

    Source: Stoecker & Jones, Refrigeration and Air Conditioning, 2nd ed. (1982), chapter 11 on
    compressors (from memory).
    """
    return 1.0 + clearance - clearance * pressure_ratio ** (1.0 / exponent)


def supply_current(power: float, compressor: Compressor) -> float | None:
    """Current in each supply line [A] at a true power [W]; None where no voltage is stated."""
    if compressor.supply_voltage is None:
        return None
    volt_ampere = power / compressor.power_factor
    return volt_ampere / (compressor.supply_voltage * math.sqrt(compressor.supply_phases))
