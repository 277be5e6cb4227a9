"""Precooled circuits and circuits with a separator: from a case to a solved one, and how it is shown."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.circuit_case import case_circuit, precooling_request
from mixjt.cli.circuit_view import print_figures
from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.cycles.records import CircuitResult
from mixjt.cycles.separator_result import SeparatorResult
from mixjt.cycles.solve import PLAIN, PRECOOLED, solve_circuit
from mixjt.files.kind_records import gain_record, kind_record, precooling_table, separated_record
from mixjt.properties.records import PropertyModel
from mixjt.studies.kinds import Precooled, plain_or_none, solve_precooling

PRECOOLER = (
    ("cools the high side to", "precooler_temperature_K", "K", 1),
    ("heat taken up", "precooler_duty_W", "W", 1),
    ("electrical power", "precooler_power_W", "W", 1),
    ("power of both compressors", "total_power_W", "W", 1),
    ("evaporating temperature", "precooler_evaporating_temperature_K", "K", 1),
    ("condensing temperature", "precooler_condensing_temperature_K", "K", 1),
    ("suction pressure", "precooler_suction_pressure_Pa", "bar abs", 1e5),
    ("discharge pressure", "precooler_discharge_pressure_Pa", "bar abs", 1e5),
    ("discharge temperature, line", "precooler_discharge_temperature_K", "K", 1),
    ("  gas at the valve", "precooler_valve_temperature_K", "K", 1),
    ("swept flow needed", "precooler_swept_flow_m3_per_s", "cm3/s", 1e-6),
)
SECTIONS = (
    ("cold section UA", "cold_section_conductance_W_per_K", "W/K", 1),
    ("warm section UA", "warm_section_conductance_W_per_K", "W/K", 1),
)
SEPARATOR = (
    ("separator", "separator_temperature_K", "K", 1),
    ("leaves it as vapour", "separator_vapour_fraction", "mol%", 0.01),
    ("liquid joins the return at", "intermediate_temperature_K", "K", 1),
)
GAIN = (
    ("plain: cooling power", "plain_cooling_power_W", "W", 1),
    ("plain: COP", "plain_cop", "W/W", 1),
    ("plain: recuperator UA", "plain_recuperator_conductance_W_per_K", "W/K", 1),
    ("cooling per mole, over plain", "cooling_capacity_over_plain", "", 1),
    ("cooling power, over plain", "cooling_power_over_plain", "", 1),
    ("total power, over plain", "total_power_over_plain", "", 1),
    ("COP, over plain", "cop_over_plain", "", 1),
    ("UA, over plain", "conductance_over_plain", "", 1),
    ("UA per cooling power, over plain", "conductance_per_cooling_over_plain", "", 1),
)
FIGURES = {
    "Precooler": (PRECOOLER, SECTIONS),
    "Separator": (SEPARATOR, SECTIONS),
    "What it buys over the plain circuit with this blend": (GAIN,),
}


def solved_kind(
    case: Case, kind: str, model: PropertyModel, z, with_curve: bool
) -> tuple[ThrottleCircuit, CircuitResult, dict, Precooled | None]:
    """The circuit of a kind, its result, what the record says besides, and the study of a precooled one."""
    if kind == PRECOOLED:
        request = precooling_request(case)
        study = solve_precooling(
            model, z, case.circuit, request.circuit, request.temperatures, request.aim,
            best=not request.stated, with_curve=with_curve,
        )  # fmt: skip
        record = kind_record(study.result) | gain_record(study.gain, study.plain)
        return request.circuit, study.result, record, study
    circuit = case_circuit(case, kind)
    result = solve_circuit(model, z, circuit)
    record = kind_record(result)
    if isinstance(result, SeparatorResult):
        plain = plain_or_none(model, z, case.circuit)
        record |= separated_record(result) | gain_record(_gain(result, plain), plain)
    return circuit, result, record, None


def print_kind(record: dict) -> None:
    """What is special about the circuit; nothing for a plain one."""
    if record.get("circuit", PLAIN) == PLAIN:
        return
    for title, groups in FIGURES.items():
        figures = [figure for group in groups for figure in group]
        if figures[0][1] in record:
            print_figures(title, figures, record)


def precooling_tables(study: Precooled | None) -> dict:
    """Over the precooling temperature, where there is a curve."""
    if study is None or study.curve is None:
        return {}
    return {"precooling": precooling_table(study.curve)}


def precooling_pictures(study: Precooled | None) -> dict:
    """The same as a picture."""
    if study is None or study.curve is None:
        return {}
    from mixjt.plots.precooling import precooling_figure

    return {"precooling": lambda: precooling_figure(study.result, study.curve, study.plain)}


def _gain(result: CircuitResult, plain: CircuitResult | None):
    from mixjt.studies.precooling import precooling_gain

    return precooling_gain(result, plain)
