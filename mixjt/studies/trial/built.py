"""The machine that was built: that of the case with a few departures, which a log of its run may tell.

A departure is a number that is 0 where the machine is as the case says: the logarithm of a ratio, or a difference in SI. Its
spread is what is expected of a machine built with care, before it has run. The spreads are common practice, no source: tube is
soldered and wound by hand, labels give the least, capillaries are good to 20-30 % (docs/throttle.md), a kitchen scale to a
gram. What a cooling figure is worth (`mixjt.studies.band`) is a departure too, else it would be put down to the recuperator.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.fluid.fluid import Fluid
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.insulation import Insulation
from mixjt.parts.slip import NONE, ZIVI
from mixjt.studies.trial.log import PLACES, MeasuringPlace

CONDUCTANCE, LEAK, FLOW = "recuperator conductance", "heat leak", "compressor flow"
EFFICIENCY, SHELL = "compressor efficiency", "shell heat loss"
AFTERCOOLER, AFTERCOOLER_SIZE = "aftercooler approach", "aftercooler conductance"
THROTTLE, HELD_BACK, COOLING = "throttle flow", "liquid not held back", "cooling of the blend"
CHARGE, OFFSET = "charge of", "offset of"
WARMEST_APPROACH = 60.0  # K, the most that a case may state
LEAST_LEAK_SPREAD = 0.05  # W/K
LEAK_SPREAD = 0.4  # of the leak that is stated
CHARGE_SPREAD = 0.03  # of what was weighed in of a gas
LEAST_CHARGE = 1e-3  # kg, to which nobody weighs closer
COOLING_SPREAD = 0.08  # where the case's own band is not known
MODEL_ERRORS = {"pressure": 0.02, "temperature": 1.5, "power": 0.03, "current": 0.05}  # of what a good machine's readings are off
HOT_ERRORS = {"discharge line": 4.0, "shell": 5.0, "suction line": 3.0, "throttle inlet": 3.0}  # K, where lines lose heat or mix badly


@dataclass(frozen=True)
class Departure:
    """name, and what 0 stands for: value [unit] as the case says, of which a departure is the logarithm of a ratio, or the difference.

    spread is its standard deviation before the run. of_machine: whether states change with it, or only what they must satisfy.
    gas and place say whose charge or sensor it is.
    """

    name: str
    value: float
    unit: str
    spread: float
    ratio: bool = True
    of_machine: bool = False
    gas: int | None = None
    place: str | None = None
    least: float = -math.inf
    most: float = math.inf

    def at(self, departure: float) -> float:
        """The value at a departure, within what a machine can have: least and most."""
        value = self.value * math.exp(departure) if self.ratio else self.value + departure
        return min(max(value, self.least), self.most)


@dataclass(frozen=True, eq=False)
class BuiltMachine:
    """The machine of the case, what it cools, and how well its cooling figure is known (relative standard deviation).

    fluid is what circulates, or with a charge a blend to start from.
    """

    fluid: Fluid
    machine: FixedMachine
    mass: ColdMass | None = None
    cooling_spread: float = COOLING_SPREAD

    @property
    def other_slip(self) -> str:
        """The slip towards which liquid is held back less, or more where the case has none."""
        return ZIVI if self.machine.volumes.slip == NONE else NONE


def departures(built: BuiltMachine, measured: Mapping[str, float]) -> tuple[Departure, ...]:
    """All that a log may tell; measured holds the standard error of each place of which there are readings (SI)."""
    machine, circuit = built.machine, built.machine.circuit
    compressor = circuit.compressor
    leak = circuit.insulation.conductance if circuit.insulation else 0.0
    shell = compressor.conductance_at(compressor.swept_flow)
    found = [
        Departure(CONDUCTANCE, machine.conductance, "W/K", 0.15, of_machine=True),
        Departure(LEAK, leak, "W/K", max(LEAK_SPREAD * leak, LEAST_LEAK_SPREAD), ratio=False, of_machine=True, least=0.0),
        Departure(FLOW, compressor.swept_flow, "m3/s", 0.06, of_machine=True),
        Departure(EFFICIENCY, compressor.isentropic_efficiency, "", 0.06, of_machine=True, most=1.0),
        Departure(SHELL, shell, "W/K", 0.3, of_machine=True),
        _of_aftercooler(circuit),
        Departure(COOLING, 1.0, "", built.cooling_spread),
    ]
    if machine.tube is not None:
        found.append(Departure(THROTTLE, 1.0, "", 0.2))
    found += _of_blend(built)
    return (*found, *(_offset(place, measured[place.name]) for place in PLACES if place.name in measured))


def _of_aftercooler(circuit: ThrottleCircuit) -> Departure:
    """Its approach, or its conductance to the air where its size is stated."""
    if circuit.aftercooler is None:
        return Departure(AFTERCOOLER, circuit.aftercooler_approach, "K", 3.0, ratio=False, of_machine=True, least=0.0, most=WARMEST_APPROACH)
    size = circuit.aftercooler.to_ambient(circuit.ambient_temperature)
    return Departure(AFTERCOOLER_SIZE, size, "W/K", 0.25, of_machine=True)


def _of_blend(built: BuiltMachine) -> list[Departure]:
    """Of the gases charged, and of slip; without a charge of the blend that circulates."""
    machine, gases = built.machine, built.fluid.gases
    if machine.charge is None:
        return [
            Departure(f"{CHARGE} {gases[i]}", float(x), "mol/mol", CHARGE_SPREAD, of_machine=True, gas=i)
            for i, x in enumerate(built.fluid.z) if x > 0.0
        ]  # fmt: skip
    masses = machine.charge * built.fluid.model.molar_masses
    charged = [
        Departure(f"{CHARGE} {gases[i]}", float(mass), "kg", max(CHARGE_SPREAD, LEAST_CHARGE / mass), gas=i)
        for i, mass in enumerate(masses) if mass > 0.0
    ]  # fmt: skip
    return [*charged, Departure(HELD_BACK, 0.0, "", 0.5, ratio=False)]


def _offset(place: MeasuringPlace, error: float) -> Departure:
    """Of a sensor, and of what it is taken for: relative but for temperatures."""
    own = MODEL_ERRORS[place.kind] if place.name not in HOT_ERRORS else HOT_ERRORS[place.name]
    unit = "K" if place.kind == "temperature" else "of it"
    return Departure(f"{OFFSET} {place.name}", 0.0, unit, math.hypot(error, own), ratio=False, place=place.name)


def changed(built: BuiltMachine, known: tuple[Departure, ...], theta: np.ndarray) -> BuiltMachine:
    """The machine with its departures (k,), but for those that only change what its states must satisfy."""
    at = {one.name: one.at(float(x)) for one, x in zip(known, theta, strict=True) if one.of_machine}
    machine, circuit = built.machine, built.machine.circuit
    swept = circuit.compressor.swept_flow
    compressor = replace(
        circuit.compressor,
        displacement=circuit.compressor.displacement * at[FLOW] / swept,
        isentropic_efficiency=at[EFFICIENCY],
        shell_conductance=at[SHELL],
        idle_power=circuit.compressor.idle_at(swept),
    )
    leak = at[LEAK]
    insulation = replace(circuit.insulation, conductance=leak) if circuit.insulation else Insulation(leak)
    circuit = replace(circuit, compressor=compressor, insulation=insulation, coil=None)
    if circuit.aftercooler is None:
        circuit = replace(circuit, aftercooler_approach=at[AFTERCOOLER])
    else:
        circuit = replace(circuit, aftercooler=AirCoil(at[AFTERCOOLER_SIZE]))
    machine = replace(machine, circuit=circuit, conductance=at[CONDUCTANCE])
    return replace(built, fluid=_changed_blend(built.fluid, known, at), machine=machine)


def _changed_blend(fluid: Fluid, known, at: Mapping[str, float]) -> Fluid:
    shares = {one.gas: at[one.name] for one in known if one.gas is not None and one.of_machine}
    if not shares:
        return fluid
    z = np.array([shares.get(i, 0.0) for i in range(fluid.z.size)])
    return fluid.of(z / z.sum())
