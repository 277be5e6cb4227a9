"""What is special about precooled circuits and circuits with a separator: figures, tables and text."""

from __future__ import annotations

from collections.abc import Mapping

from mixjt.circuit.layouts.precooled import PrecooledResult
from mixjt.circuit.layouts.separator import SeparatorResult
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR
from mixjt.report.figure import Figure, curve, print_figures, record_of
from mixjt.studies.against_plain import PrecoolingStudy
from mixjt.studies.band import Band
from mixjt.studies.precooling import PrecoolingGain

STAGE, PARTED = "Precooler", "Separator"
BOUGHT = "What it buys over the plain circuit with this blend"


def kind_of(result: CircuitResult) -> str:
    """"plain", "precooled" or "separator"."""
    if isinstance(result, PrecooledResult):
        return PRECOOLED
    return SEPARATOR if isinstance(result, SeparatorResult) else PLAIN


def _section(number: int, result: PrecooledResult | SeparatorResult):
    return result.sections[number] if number < len(result.sections) else None


def _conductance(number: int, result: PrecooledResult | SeparatorResult) -> float | None:
    section = _section(number, result)
    return section and section.conductance * result.molar_flow


def _approach(number: int, result: PrecooledResult | SeparatorResult) -> float | None:
    section = _section(number, result)
    return section and section.smallest_approach


def _length(number: int, result: PrecooledResult) -> float | None:
    sections = result.rating.sections if result.rating else ()
    return sections[number].length if number < len(sections) else None


def _swept_flow(result: PrecooledResult) -> float | None:
    return result.stage and result.precooler_duty * result.stage.swept_per_heat


def _sections(table: str) -> tuple[Figure, ...]:
    return (
        Figure("cold_section_conductance_W_per_K", lambda result: _conductance(0, result),
               "UA of each section; their sum is `recuperator_conductance_W_per_K`. null without such a section",
               "cold section UA", table),
        Figure("cold_section_approach_K", lambda result: _approach(0, result), "smallest approach of each"),
        Figure("warm_section_conductance_W_per_K", lambda result: _conductance(1, result), "", "warm section UA", table),
        Figure("warm_section_approach_K", lambda result: _approach(1, result)),
    )  # fmt: skip


BOTH = (
    Figure("circuit", kind_of, '"precooled" or "separator"; a plain record has none of these keys'),
    Figure("total_power_W", "total_power",
           "electrical power of all compressors; `cop`, `carnot_fraction` and the exergy refer to it. "
           "`compressor_power_W` is the blend compressor's", "power of both compressors", STAGE, 4),
)  # fmt: skip
PRECOOLED_FIGURES = (
    *BOTH,
    Figure("precooler_temperature_K", "precooler_temperature",
           "of the high side behind the precooler; warmer than stated where the stage is too weak",
           "cools the high side to", STAGE, 1),
    Figure("precooler_heat_J_per_mol", "precooler_heat", "heat it takes up"),
    Figure("precooler_duty_W", "precooler_duty", "", "heat taken up", STAGE, 2),
    Figure("precooler_power_W", "precooler_power", "electrical power, fluid", "electrical power", STAGE, 3),
    Figure("precooler_fluid", "precooler_fluid"),
    Figure("precooler_evaporating_temperature_K", "stage.stage.evaporating_temperature",
           "of the stage; null where it has nothing to do", "evaporating temperature", STAGE),
    Figure("precooler_condensing_temperature_K", "stage.stage.condensing_temperature", "", "condensing temperature",
           STAGE),
    Figure("precooler_suction_pressure_Pa", "stage.suction_pressure", "", "suction pressure", STAGE),
    Figure("precooler_discharge_pressure_Pa", "stage.discharge_pressure", "", "discharge pressure", STAGE),
    Figure("precooler_discharge_temperature_K", "stage.discharge_temperature", "", "discharge temperature, line", STAGE),
    Figure("precooler_valve_temperature_K", "stage.valve_temperature", "", "  gas at the valve", STAGE),
    Figure("precooler_swept_flow_m3_per_s", _swept_flow, "", "swept flow needed", STAGE),
    Figure("precooler_condenser_approach_K", "condenser_approach",
           "of the condensing temperature above ambient, and the conductance from the fluid to air of ambient temperature that "
           "it takes; `null` where the stage has nothing to do", "condenser approach", STAGE),
    Figure("precooler_condenser_conductance_W_per_K", "condenser_conductance", "",
           "condenser conductance to ambient", STAGE),
    *_sections(STAGE),
    Figure("cold_section_length_m", lambda result: _length(0, result),
           "where the tubes in `[recuperator_tubes]` are cut; their sum is `recuperator_length_m`. `null` without tubes, or "
           "without such a section", "cold section, length", STAGE),
    Figure("warm_section_length_m", lambda result: _length(1, result), "", "warm section, length", STAGE),
)  # fmt: skip
SEPARATOR_FIGURES = (
    *BOTH,
    Figure("separator_temperature_K", "warm_temperature", "state in the separator", "separator", PARTED),
    Figure("separator_vapour_fraction", "vapour_fraction", "", "leaves it as vapour", PARTED, unit="mol%", scale=0.01),
    Figure("intermediate_temperature_K", "intermediate_temperature",
           "of the high side where the liquid joins the return", "liquid joins the return at", PARTED),
    *_sections(PARTED),
)  # fmt: skip
PLAIN_FIGURES = (
    Figure("plain_cooling_power_W", "cooling_power",
           "the plain circuit with the same blend; null where it does not cool", "plain: cooling power", BOUGHT),
    Figure("plain_cop", "cop", "", "plain: COP", BOUGHT),
    Figure("plain_recuperator_conductance_W_per_K", "recuperator_conductance", "", "plain: recuperator UA", BOUGHT),
)  # fmt: skip
GAIN_FIGURES = (
    Figure("cooling_capacity_over_plain", "capacity", "relative to it", "cooling per mole, over plain", BOUGHT),
    Figure("cooling_power_over_plain", "cooling_power", "", "cooling power, over plain", BOUGHT),
    Figure("total_power_over_plain", "total_power", "", "total power, over plain", BOUGHT),
    Figure("cop_over_plain", "cop", "", "COP, over plain", BOUGHT),
    Figure("conductance_over_plain", "conductance", "", "UA, over plain", BOUGHT),
    Figure("conductance_per_cooling_over_plain", "conductance_per_cooling", "", "UA per cooling power, over plain",
           BOUGHT),
)  # fmt: skip
SEPARATED_FIGURES = (
    Figure("separator_vapour", lambda result: _shares(result, result.vapour_composition),
           "gas -> mole fraction of each (only in `cycle`)"),
    Figure("separator_liquid", lambda result: _shares(result, result.liquid_composition)),
)  # fmt: skip
KIND_FIGURES = {PLAIN: (), PRECOOLED: PRECOOLED_FIGURES, SEPARATOR: SEPARATOR_FIGURES}
ALL_FIGURES = (*BOTH, *PRECOOLED_FIGURES[2:], *SEPARATOR_FIGURES[2:5], *SEPARATED_FIGURES, *PLAIN_FIGURES, *GAIN_FIGURES)
PRECOOLING = (
    Figure("precooler_temperature_K", "temperatures"),
    Figure("cooling_capacity_J_per_mol", "capacity"),
    Figure("cooling_power_W", "cooling_power"),
    Figure("precooler_duty_W", "precooler_duty"),
    Figure("compressor_power_W", "compressor_power"),
    Figure("precooler_power_W", "precooler_power"),
    Figure("total_power_W", "total_power"),
    Figure("cop", "cop"),
)


def kind_record(result: CircuitResult) -> dict:
    """Figures besides those of a plain circuit, all of them numbers or texts; empty for a plain one."""
    return record_of(KIND_FIGURES[kind_of(result)], result)


def gain_record(gain: PrecoolingGain, plain: CircuitResult | None) -> dict:
    """The plain circuit with the same blend, and the precooled one relative to it."""
    return record_of(PLAIN_FIGURES, plain) | record_of(GAIN_FIGURES, gain)


def print_kind(record: Mapping) -> None:
    """What is special about the circuit; nothing for a plain one."""
    kind = record.get("circuit", PLAIN)
    if kind != PLAIN:
        print_figures(KIND_FIGURES[kind], STAGE if kind == PRECOOLED else PARTED, record)
    if PLAIN_FIGURES[0].key in record:
        print_figures((*PLAIN_FIGURES, *GAIN_FIGURES), BOUGHT, record)


def precooling_tables(study: PrecoolingStudy | None) -> dict:
    """One row a precooling temperature, where there is a curve."""
    return {} if study is None or study.curve is None else {"precooling": curve(PRECOOLING, study.curve)}


def precooling_pictures(study: PrecoolingStudy | None, band: Band | None) -> dict:
    """The same as a picture."""
    if study is None or study.curve is None:
        return {}
    from mixjt.plots.precooling_plot import precooling_figure

    return {"precooling": lambda: precooling_figure(study.result, study.curve, study.plain, band)}


def _shares(result: SeparatorResult, composition) -> dict | None:
    return None if composition is None else dict(zip(result.gases, composition, strict=True))
