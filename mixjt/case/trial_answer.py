"""What the log of a run decides of its case: the values that it has told, in place of what contradicts them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from mixjt.case.answers import Answer, blend_answer, compressor_values
from mixjt.case.bottles import spelled
from mixjt.case.case import Case
from mixjt.case.read import placed
from mixjt.case.recuperator_case import tube_contents
from mixjt.case.tables import BLEND_TABLE, CHARGE_TABLE, HOMES
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.keys import keys_of
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.compressor.sizing import MeasuredPoint
from mixjt.parts.insulation import Insulation
from mixjt.parts.insulation_package import InsulationPackage
from mixjt.parts.oil import Oil
from mixjt.parts.throttle.capillary import flow_of_length, length_of_flow
from mixjt.studies.recuperator_study import RecuperatorRequest
from mixjt.studies.throttle_study import ThrottleRequest
from mixjt.studies.trial.built import (
    AFTERCOOLER,
    AFTERCOOLER_SIZE,
    CONDUCTANCE,
    EFFICIENCY,
    FLOW,
    LEAK,
    SHELL,
    THROTTLE,
    WARMEST_APPROACH,
)
from mixjt.studies.trial.trial import Parameter, Trial

ByName = Mapping[str, Parameter]
Changes = dict[tuple[str, str], tuple]  # value and the one before, by (table, key); a value of None is left out


def trial_answer(case: Case, found: Trial) -> Answer:
    """The fitted values that the log has told; a charge that was not stated is, as other values would change it."""
    return {place: value for place, (value, _) in trial_changes(case, found).items()}


def trial_before(case: Case, found: Trial) -> Answer:
    """What the case had there, stated or not; as written where the new values leave it out."""
    return {place: before for place, (value, before) in trial_changes(case, found).items() if before not in (None, value)}


def trial_changes(case: Case, found: Trial) -> Changes:
    """Values with those before."""
    told, machine = {one.departure.name: one for one in found.parameters if one.told}, found.built.machine
    changes = _recuperator(case, told) | _compressor(case, machine.oil if machine.charge is not None else None, told)
    if LEAK in told:
        changes |= placed(Insulation, conductance=_pair(told[LEAK])) | _without(case, InsulationPackage)
    if AFTERCOOLER in told:
        changes |= placed(ThrottleCircuit, aftercooler_approach=_pair(told[AFTERCOOLER], WARMEST_APPROACH))
    if AFTERCOOLER_SIZE in told:
        changes |= _without(case, AirCoil) | placed(AirCoil, conductance=_pair(told[AFTERCOOLER_SIZE]))
    if THROTTLE in told:
        changes |= placed(ThrottleRequest, length=(_length(found, told[THROTTLE].value), machine.tube.length))
    return changes | _filled(case, found, told, bool(changes))


def not_kept(found: Trial) -> list[str]:
    """Names of what the log has told of the machine and no key of a case can say."""
    kept = {CONDUCTANCE, LEAK, FLOW, EFFICIENCY, SHELL, AFTERCOOLER, AFTERCOOLER_SIZE, THROTTLE}
    return [
        one.departure.name for one in found.parameters
        if one.told and one.departure.gas is None and one.departure.place is None and one.departure.name not in kept
    ]  # fmt: skip


def _pair(one: Parameter, most: float | None = None) -> tuple[float, float]:
    value = max(one.value, 0.0)
    return (value if most is None else min(value, most)), one.prior


def _without(case: Case, cls: type) -> Changes:
    """The stated keys of a class, to be left out."""
    table = HOMES[cls]
    return _gone(case, table, *(one.name for one in keys_of(cls) if not one.table))


def _gone(case: Case, table: str, *keys: str) -> Changes:
    raw = case.raw.get(table, {})
    return {(table, key): (None, raw[key]) for key in keys if key in raw}


def _recuperator(case: Case, told: ByName) -> Changes:
    """Its conductance; a length of tubes would contradict that, but what they hold stays known."""
    if CONDUCTANCE not in told:
        return {}
    changes = placed(ThrottleCircuit, recuperator_conductance=_pair(told[CONDUCTANCE]))
    changes |= _gone(case, "recuperator", "approach")
    coil, volumes = case.circuit.coil, case.tables["volumes"]
    if not case.circuit.of_stated_length:
        return changes
    held = {place: (value, None) for place, value in tube_contents(coil.tubes, coil.length).items()
            if place[0] == "volumes" and volumes and volumes[place[1]] is None}  # fmt: skip
    return changes | held | _gone(case, HOMES[RecuperatorRequest], "length")


def _compressor(case: Case, oil: Oil | None, told: ByName) -> Changes:
    """The fitted machine, whole where it was worked back from a label or a test, which then count no more."""
    compressor, tested = case.circuit.compressor, HOMES[MeasuredPoint]
    sized = {"shell_conductance": compressor.conductance_at(compressor.swept_flow), "idle_power": compressor.idle_at(compressor.swept_flow)}
    found = {}
    if FLOW in told:
        found |= {"displacement": told[FLOW].value / compressor.speed} | sized  # which would go with the displacement
    if EFFICIENCY in told:
        found["isentropic_efficiency"] = min(told[EFFICIENCY].value, 1.0)
    if SHELL in told:
        found["shell_conductance"] = told[SHELL].value
    if not found:
        return {}
    before = {name: getattr(compressor, name) for name in found} | sized
    changes = placed(Compressor, **{name: (value, before[name]) for name, value in found.items()})
    if case.tables["compressor"]["displacement"] is None or tested in case.raw:
        machine = replace(compressor, **found)
        stated = compressor_values(case, machine, with_efficiency=True)
        if machine.shell_conductance is not None:
            stated |= placed(Compressor, shell_conductance=machine.shell_conductance)
        changes = {place: (value, None) for place, value in stated.items()} | changes
    if any(key == "isentropic_efficiency" for _, key in changes):
        changes |= _gone(case, "rating", "power")
    if FLOW in told and oil is not None and not {"mass", "volume"} & case.raw.get(HOMES[Oil], {}).keys():
        changes |= placed(Oil, mass=(oil.mass, None))  # which would go with the displacement, too
    return changes | _without(case, MeasuredPoint)


def _length(found: Trial, share: float) -> float:
    """Of the capillary that passes so many times the flow, where the fitted machine is coldest [m]."""
    machine, settled = found.built.machine, found.settled[found.coldest]
    return length_of_flow(settled.line, share * flow_of_length(settled.line, machine.tube), machine.tube)


def _filled(case: Case, found: Trial, told: ByName, changed: bool) -> Changes:
    """What was weighed in, gas by gas, or without a charge the blend."""
    charged = {one.departure.gas: one for one in found.parameters if one.departure.gas is not None}
    values = {gas: one.value if one.departure.name in told else one.prior for gas, one in charged.items()}
    news = any(one.departure.name in told for one in charged.values())
    gases = found.built.fluid.gases
    names = spelled(case.raw, [gases[gas] for gas in values])
    if found.built.machine.charge is None:
        total = sum(values.values())
        blend = blend_answer(case, {gases[gas]: value / total for gas, value in values.items()}) if news else {}
        before = {(BLEND_TABLE, names[gases[gas]]): one.prior for gas, one in charged.items()}
        return {place: (value, before.get(place)) for place, value in blend.items()}
    if not news and not (changed and case.charge is None):
        return {}
    masses = {(CHARGE_TABLE, names[gases[gas]]): (value, charged[gas].prior) for gas, value in values.items()}
    written = case.raw.get(CHARGE_TABLE, {})
    return masses | {place: pair for place, pair in _gone(case, CHARGE_TABLE, *written).items() if place not in masses}
