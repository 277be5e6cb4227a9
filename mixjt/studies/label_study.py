"""A rated compressor on a blend: flow, power and current against suction and discharge pressure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.keys import key
from mixjt.parts.compressor.compression import (
    COMPRESSOR_KINDS,
    CompressionResult,
    Compressor,
    compress,
    volumetric_efficiency,
)
from mixjt.parts.compressor.label import RatedCompressor
from mixjt.parts.compressor.limits import LIMITS, exceeded, unknown_current
from mixjt.parts.compressor.polynomials import PolynomialCompressor

Machine = RatedCompressor | PolynomialCompressor
RATIOS = (1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0)
FAR_FROM_STATED = 0.2  # relative difference of a stated displacement that is worth a warning


@dataclass(frozen=True)
class RatingRequest:
    """A machine and the states at which it is asked for; displacement [m3] is that of [compressor], where stated."""

    machine: Machine
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


@dataclass(frozen=True)
class MapPoint:
    """The machine at a pair of pressures [Pa].

    result is None where the machine does not work there, and reason says why; swept_flow is displacement times speed
    [m3/s], with heating and leakage taken off; exceeded names the limits that are passed.
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


def solve_rating(fluid: Fluid, request: RatingRequest) -> RatingResult:
    """Map a rated machine on a blend; parameters and errors as in `compressor_map`."""
    machine = request.machine
    curves = ()
    if isinstance(machine, RatedCompressor):
        curves = tuple(efficiency_curves(machine, RATIOS, machine.at_rating.isentropic_exponent))
    inlet = request.suction_temperature
    at_circuit = map_point(machine, fluid, inlet, *request.circuit_pressures)
    return RatingResult(
        request=request,
        model=fluid.model.name,
        gases=fluid.gases,
        composition=fluid.z,
        limits=machine_limits(machine),
        curves=curves,
        points=compressor_map(machine, fluid, inlet, request.suction_pressures, request.discharge_pressures),
        at_circuit=at_circuit,
        warnings=_warnings(request, at_circuit),
    )


def machine_limits(machine: Machine) -> Compressor:
    """What a machine stands, as a compressor of unit size; what is stated besides the label comes first."""
    labelled = isinstance(machine, RatedCompressor)
    kind, known = (machine.label.kind, machine.limits | machine.label.further) if labelled else (machine.kind, machine.further)
    fields = {"supply_voltage", *(limit.field for limit in LIMITS)}
    return Compressor(kind, 1.0, 1.0, **{field: value for field, value in known.items() if field in fields})


def _warnings(request: RatingRequest, at_circuit: MapPoint) -> tuple[str, ...]:
    machine, notes = request.machine, []
    notes.append("worked back from a label: flows are good to 10 to 20 %, power to 20 %, wear not counted")
    if isinstance(machine, RatedCompressor):
        notes += machine.notes
        effective = machine.swept_volume * machine.curve.filling(machine.rating.ratio)
        stated = request.displacement
        if stated is not None and abs(stated / effective - 1.0) > FAR_FROM_STATED:
            notes.append(
                f"[compressor] states {stated * 1e6:.3g} cm3, the label gives {effective * 1e6:.3g} cm3 less heating and "
                "leakage; the circuit is solved with what is stated"
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
    return tuple(map_point(machine, fluid, suction_temperature, *pair) for pair in pairs)


def map_point(machine, fluid, suction_temperature, suction_pressure, discharge_pressure) -> MapPoint:
    """The machine at one pair of pressures; parameters as in `compressor_map`."""
    suction = fluid.tp(suction_temperature, suction_pressure)
    try:
        fitted = machine.at(suction_pressure, discharge_pressure)
        result = compress(fluid, suction, discharge_pressure, fitted)
    except UnreachableError as error:
        return MapPoint(suction_pressure, discharge_pressure, None, None, None, (), str(error))
    return MapPoint(
        suction_pressure,
        discharge_pressure,
        result,
        fitted.swept_flow,
        fitted.isentropic_efficiency,
        _exceeded(result, fitted),
    )


def _exceeded(result: CompressionResult, fitted: Compressor) -> tuple[str, ...]:
    """Names of the limits that a compression passes."""
    wet = len(result.suction.phases) > 1 or result.suction.vapour_fraction < 1.0
    names = tuple(limit.name for limit in exceeded(result, fitted))
    return ("wet suction", *names) if wet else names


def efficiency_curves(rated: RatedCompressor, ratios: Sequence[float], exponent: float) -> list[tuple]:
    """Rows of pressure ratio, volumetric and isentropic efficiency; exponent n of the clearance gas.

    The volumetric efficiency counts from the geometric swept volume, with heating, leakage and re-expansion.
    """
    clearance = rated.label.clearance
    clearance = COMPRESSOR_KINDS[rated.label.kind].clearance if clearance is None else clearance
    rows = []
    for ratio in ratios:
        filling = rated.curve.filling(ratio) * volumetric_efficiency(clearance, ratio, exponent)
        rows.append((ratio, max(float(filling), 0.0), rated.isentropic_efficiency(ratio)))
    return rows
