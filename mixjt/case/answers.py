"""What the result of a command decides of its case, by (table, key) and in SI, for `mixjt.case.saved_case`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isclose

from mixjt.case.bottles import amounts_from_text, spelled
from mixjt.case.case import Case
from mixjt.case.read import placed
from mixjt.case.recuperator_case import tube_contents
from mixjt.case.tables import BLEND_TABLE
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.parts.compressor.compression import Compressor
from mixjt.studies.label_study import RatingRequest
from mixjt.studies.recuperator_study import RecuperatorRequest, RecuperatorResult
from mixjt.studies.throttle_study import ThrottleRequest, ThrottleResult

EXACT = 1e-9  # relative; what is closer is the same
WORKED_BACK = ("displacement", "speed", "clearance", "motor_efficiency", "power_factor")


Answer = Mapping[tuple[str, str], object]  # values by (table, key); None for a key that the answer makes needless


def search_answer(case: Case, amounts: Mapping[str, float], result: CircuitResult) -> Answer:
    """The blend of these amounts of bottles, and the pressures it is best at.

    A search keeps the compressor that the case's own pressures give; where it has chosen others, that machine
    is stated too, but for an efficiency beside the power on its label, which would contradict it.
    """
    found = {name: getattr(result, name) for name in ("suction_pressure", "discharge_pressure")}
    pressures = placed(ThrottleCircuit, **found)
    kept = all(isclose(getattr(case.circuit, name), value, rel_tol=EXACT) for name, value in found.items())
    labelled = case.tables["rating"]["power"] is not None
    machine = {} if kept else compressor_values(case, case.circuit.compressor, with_efficiency=not labelled)
    return blend_answer(case, amounts) | pressures | machine


def recuperator_answer(case: Case, result: RecuperatorResult, blend_text: str | None) -> Answer:
    """The coil's length, from which its size and drops follow, and its contents where the case has tables for them."""
    length = result.solved.rating.length
    sizes = placed(ThrottleCircuit, recuperator_approach=None, recuperator_conductance=None)
    contents = tube_contents(result.request.tubes, length)
    stated = {place: value for place, value in contents.items() if place[0] in case.raw}
    return _option(case, blend_text) | placed(RecuperatorRequest, length=length) | sizes | stated


def throttle_answer(case: Case, result: ThrottleResult, blend_text: str | None) -> Answer:
    """The capillary: what was stated of it, and what was found."""
    tube = result.solved.tube
    found = placed(ThrottleRequest, diameter=tube.diameter, length=tube.length)
    return _option(case, blend_text) | found


def compressor_answer(case: Case, request: RatingRequest, blend_text: str | None) -> Answer:
    """The rated machine at the circuit's pressures; errors as its own.

    The isentropic efficiency of a label stays with the label, which gives it at any pressures.
    """
    labelled = case.tables["rating"]["capacity"] is not None
    machine = request.machine.at(*request.circuit_pressures)
    return _option(case, blend_text) | compressor_values(case, machine, with_efficiency=not labelled)


def compressor_values(case: Case, machine: Compressor, with_efficiency: bool) -> dict:
    """What [compressor] lacks, or says otherwise, of a machine; without what its kind gives anyhow."""
    usual, stated = Compressor(machine.kind, 1.0, 1.0), case.tables["compressor"]
    told = [
        name for name in WORKED_BACK if stated[name] is not None or getattr(machine, name) != getattr(usual, name)
    ]
    told += ["isentropic_efficiency"] if with_efficiency else []  # which hangs on the pressures
    return placed(Compressor, **{name: getattr(machine, name) for name in told})


def _option(case: Case, blend_text: str | None) -> dict:
    """The blend of the command line, which the result belongs to; nothing where that of the case was taken."""
    return {} if blend_text is None else blend_answer(case, amounts_from_text(blend_text))


def blend_answer(case: Case, amounts: Mapping[str, float]) -> dict:
    """[blend] by the names that the case uses; its entries that are not in the new one become 0.

    So weighing errors stated one for each entry keep their places; further entries get the greatest of them.
    """
    names = spelled(case.raw, amounts)
    written = case.raw.get(BLEND_TABLE, {})
    entries = dict.fromkeys(written, 0.0) | {names[name]: x for name, x in amounts.items()}
    values = {(BLEND_TABLE, name): x for name, x in entries.items()}
    return values | _weighing_errors(case, [name for name in entries if name not in written])


def _weighing_errors(case: Case, added: Iterable[str]) -> dict:
    errors = case.tables["sensitivity"]["weighing_errors"]
    if len(errors) == 1:
        return {}
    return {("sensitivity", "weighing_errors"): errors + tuple(max(errors) for _ in added)}
