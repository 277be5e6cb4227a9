"""A rated compressor on a blend: flow, power and current against suction and discharge pressure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import pure_model
from mixjt.keys import key
from mixjt.parts.compressor.compression import CompressionResult, Compressor, compress
from mixjt.parts.compressor.label import ONE, RatedCompressor
from mixjt.parts.compressor.limits import LIMITS, exceeded, unknown_current
from mixjt.parts.compressor.polynomials import PolynomialCompressor
from mixjt.parts.compressor.rating_points import RATING_AMBIENT

Machine = RatedCompressor | PolynomialCompressor
RATIOS = (1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0)
FAR_FROM_STATED = 0.2  # relative difference of a stated displacement that is worth a warning


@dataclass(frozen=True)
class RatingRequest:
    """A machine and the states at which it is asked for; displacement [m3] is that of [compressor], where stated."""

    machine: Machine
    ambient: float  # K
    suction_temperature: float = key(
        "temperature", "at the compressor inlet, for the table on the blend", within="[100, 400]", otherwise="ambient"
    )
    suction_pressures: tuple[float, ...] = key(
        "pressure", "for the table on the blend", within="[1e3, 1e7]", many=True, otherwise="around that of [circuit]"
    )
    discharge_pressures: tuple[float, ...] = key(
        "pressure", "for the table on the blend", within="[1e3, 1e7]", many=True, otherwise="around that of [circuit]"
    )
    circuit_pressures: tuple[float, float]
    displacement: float | None = None
    guesses: dict[str, RatedCompressor] = field(default_factory=dict)  # by name, where only a motor's size is known
    remarks: tuple[str, ...] = ()  # on where the machine comes from


@dataclass(frozen=True)
class MapPoint:
    """The machine at a pair of pressures [Pa].

    result is None where the machine does not work there, and reason says why; swept_flow is displacement times speed
    [m3/s]; isentropic_efficiency is the ideal work from the inlet state over all that the motor draws; exceeded names the limits
    that are passed.
    """

    suction_pressure: float
    discharge_pressure: float
    result: CompressionResult | None
    swept_flow: float | None
    isentropic_efficiency: float | None
    exceeded: tuple[str, ...]
    reason: str = ""


@dataclass(frozen=True)
class RatingResult:
    """A machine, its efficiency curves (none for polynomials) and its map on a blend.

    limits is a compressor of which nothing counts but what it stands.
    """

    request: RatingRequest
    model: str
    gases: tuple[str, ...]
    composition: np.ndarray
    limits: Compressor
    curves: tuple[tuple[float, float, float], ...]
    points: tuple[MapPoint, ...]
    at_circuit: MapPoint
    warnings: tuple[str, ...]
    guesses: tuple[tuple[str, RatedCompressor, MapPoint], ...] = ()  # at the pressures of the circuit


def solve_rating(fluid: Fluid, request: RatingRequest) -> RatingResult:
    """Map a rated machine on a blend; parameters and errors as in `compressor_map`."""
    machine = request.machine
    curves = tuple(efficiency_curves(machine, RATIOS)) if isinstance(machine, RatedCompressor) else ()
    inlet, ambient = request.suction_temperature, request.ambient
    at_circuit = map_point(machine, fluid, inlet, *request.circuit_pressures, ambient)
    return RatingResult(
        request=request,
        model=fluid.model.name,
        gases=fluid.gases,
        composition=fluid.z,
        limits=machine_limits(machine),
        curves=curves,
        points=compressor_map(
            machine, fluid, inlet, request.suction_pressures, request.discharge_pressures, ambient
        ),
        at_circuit=at_circuit,
        warnings=(*request.remarks, *_warnings(request, at_circuit)),
        guesses=tuple(
            (name, one, map_point(one, fluid, inlet, *request.circuit_pressures, ambient)) for name, one in request.guesses.items()
        ),
    )


def machine_limits(machine: Machine) -> Compressor:
    """What a machine stands, as a compressor of which nothing else counts; what is stated besides the label comes first."""
    if isinstance(machine, RatedCompressor):
        return machine.machine
    fields = {"supply_voltage", *(limit.field for limit in LIMITS)}
    return Compressor(machine.kind, 1.0, 1.0, **{field: value for field, value in machine.further.items() if field in fields})


def _warnings(request: RatingRequest, at_circuit: MapPoint) -> tuple[str, ...]:
    machine, notes = request.machine, []
    notes.append("worked back from a label: flows are good to 10 to 20 %, power to 20 %, wear not counted")
    if isinstance(machine, RatedCompressor):
        notes += machine.notes
        stated, swept = request.displacement, machine.machine.displacement
        if stated is not None and abs(stated / swept - 1.0) > FAR_FROM_STATED:
            notes.append(
                f"[compressor] states {stated * 1e6:.3g} cm3, the label gives {swept * 1e6:.3g} cm3; the circuit is solved "
                "with what is stated"
            )
    if at_circuit.result is None:
        notes.append(f"at the pressures of the circuit: {at_circuit.reason}")
    elif at_circuit.exceeded:
        notes.append(f"at the pressures of the circuit the machine is beyond its limit of {', '.join(at_circuit.exceeded)}")
    return tuple(notes + unknown_current(machine_limits(machine)))


def compressor_map(
    machine: Machine,
    fluid: Fluid,
    suction_temperature: float,
    suction_pressures: Sequence[float],
    discharge_pressures: Sequence[float],
    ambient: float,
) -> tuple[MapPoint, ...]:
    """The machine on a blend at every pair of pressures whose second is the higher one.

    Parameters
    ----------
    machine : RatedCompressor or PolynomialCompressor
    fluid : Fluid
    suction_temperature : float
        At the compressor inlet [K].
    suction_pressures, discharge_pressures : sequence of float
        [Pa]
    ambient : float
        Temperature of the room [K].

    Raises
    ------
    InputError
        Where no pair has a discharge pressure above its suction pressure.
    ConvergenceError
        From the property model.
    """
    pairs = [(low, high) for high in discharge_pressures for low in suction_pressures if high > low]
    if not pairs:
        raise InputError("no discharge pressure of the table is above a suction pressure")
    return tuple(map_point(machine, fluid, suction_temperature, *pair, ambient) for pair in pairs)


def map_point(machine, fluid, suction_temperature, suction_pressure, discharge_pressure, ambient) -> MapPoint:
    """The machine at one pair of pressures; parameters as in `compressor_map`."""
    suction = fluid.tp(suction_temperature, suction_pressure)
    try:
        fitted = machine.at(suction_pressure, discharge_pressure)
        result = compress(fluid, suction, discharge_pressure, fitted, ambient)
    except UnreachableError as error:
        return MapPoint(suction_pressure, discharge_pressure, None, None, None, (), str(error))
    return MapPoint(
        suction_pressure,
        discharge_pressure,
        result,
        fitted.swept_flow,
        overall_efficiency(fluid, result),
        _exceeded(result, fitted),
    )


def _exceeded(result: CompressionResult, fitted: Compressor) -> tuple[str, ...]:
    """Names of the limits that a compression passes."""
    wet = len(result.suction.phases) > 1 or result.suction.vapour_fraction < 1.0
    names = tuple(limit.name for limit in exceeded(result, fitted))
    return ("wet suction", *names) if wet else names


def overall_efficiency(fluid: Fluid, result: CompressionResult) -> float:
    """Ideal work from the state at the inlet over all that the motor draws."""
    ideal = fluid.sp(result.suction.entropy, result.discharge.pressure).enthalpy - result.suction.enthalpy
    return ideal / result.electrical_work


def efficiency_curves(rated: RatedCompressor, ratios: Sequence[float]) -> list[tuple]:
    """Rows of pressure ratio, volumetric and overall isentropic efficiency, from the return gas of the rating point on.

    Both efficiencies count from the state at the inlet. Ratios at which the machine does not work are left out.
    """
    fluid, suction = Fluid(pure_model(rated.label.fluid), ONE), rated.rating.suction
    rows = []
    for ratio in ratios:
        try:
            found = compress(fluid, suction, ratio * suction.pressure, rated.machine, RATING_AMBIENT)
        except UnreachableError:
            continue
        rows.append((ratio, found.volumetric_efficiency, overall_efficiency(fluid, found)))
    return rows
