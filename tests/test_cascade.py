"""A cascade of given fluids: balances, coupling, standstill, warnings and refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest
from cascade_samples import COMPRESSOR, LIMITS, sample_cascade
from circuit_samples import TEXTBOOK

from mixjt.cascade.cascade_records import WARMINGS
from mixjt.cascade.condenser import couple
from mixjt.cascade.stage_standstill import StageInventory, stage_standstill
from mixjt.cascade.stages import solve_cascade
from mixjt.errors import InputError, UnreachableError
from mixjt.parts import passage
from mixjt.parts import places as place
from mixjt.parts.stage_fluid import StageFluid, pure_fluid
from mixjt.parts.vapour_stage import VapourStage, solve_stage

FLUIDS = ("ethane", "propane")


def solved(*fluids, between=(243.0,), **changed):
    return solve_cascade(sample_cascade(**changed), [pure_fluid(name) for name in fluids or FLUIDS], between)


@pytest.mark.parametrize(
    "fluids, between",
    [
        (("propane",), ()),
        (("ethane", "propane"), (243.0,)),
        (("ethylene", "carbon dioxide", "R-404A"), (225.0, 260.0)),
        (("ethane", "R-32", "R-152a", "isobutane"), (230.0, 252.0, 275.0)),
    ],
)
@pytest.mark.parametrize("suction", [None, 275.0])
def test_energy_and_exergy_close(fluids, between, suction):
    cold = 225.0 if len(fluids) == 1 else 193.15
    result = solved(*fluids, between=between, cold_temperature=cold, suction_temperature=suction)
    assert result.energy_residual < 1e-6 and result.exergy_residual < 1e-6
    assert sum(lost for _, _, lost in result.exergy) == pytest.approx(result.total_power, rel=1e-6)
    assert all(lost > -1e-6 for _, _, lost in result.exergy)
    delivered = result.exergy[-1][2]
    assert result.carnot_fraction == pytest.approx(delivered / result.total_power, rel=1e-12)
    rejected = sum(stage.shell_heat + stage.desuperheater_heat for stage in result.stages)
    rejected += result.stages[-1].condenser_heat
    taken = sum(stage.suction_heat for stage in result.stages) + result.total_power + 30.0 + 3.0 * len(fluids)
    assert rejected == pytest.approx(taken, rel=1e-6)


def test_hot_gas_spares_the_upper_stages_what_the_air_would_bring_in():
    chosen, between = ("methane", "tetrafluoromethane", "ethane", "propane"), (147.0, 188.0, 237.0)
    stated = {"between": between, "cold_temperature": 120.0, "suction_temperature": 233.15}
    by = {way: solved(*chosen, suction_warming=way, **stated) for way in WARMINGS}
    assert by["hot gas"].total_power < by["surroundings"].total_power
    cold, air = (by[way].stages[0] for way in ("hot gas", "surroundings"))
    assert cold.compressor_power == pytest.approx(air.compressor_power, rel=1e-9)
    assert air.condenser_heat - cold.condenser_heat == pytest.approx(air.suction_heat, rel=1e-6)
    for result in by.values():
        assert result.energy_residual < 1e-6 and result.exergy_residual < 1e-6
        assert all(lost > -1e-6 for _, _, lost in result.exergy)
    assert sum(stage.suction_heat for stage in by["hot gas"].stages) == pytest.approx(0.0, abs=1e-6)
    inlets = [stage.points[place.COMPRESSOR_INLET].temperature for stage in by["hot gas"].stages]
    assert min(inlets) >= 233.15 - 1e-6


def test_each_stage_carries_what_the_colder_one_rejects():
    result = solved()
    colder, warmer = result.stages
    assert warmer.load == colder.condenser_heat and warmer.evaporator_heat == warmer.load + 3.0
    assert colder.cycle.stage.condensing_temperature == 243.0 + 5.0
    assert colder.cycle.stage.evaporating_temperature == pytest.approx(193.15 - 5.0)
    assert warmer.cycle.stage.condensing_temperature == pytest.approx(295.15 + 10.0)
    assert warmer.desuperheater_heat == 0.0 and colder.desuperheater_heat > 0.0


def test_without_leaks_and_extras_the_power_is_that_of_two_single_stages():
    plain = {"exchanger_effectiveness": (0.0,), "suction_drops": (0.0,), "discharge_drops": (0.0,),
             "heat_leaks": (0.0,), "desuperheater_approach": None, "inventories": ()}  # fmt: skip
    result = solved(**plain)
    one = solve_stage(pure_fluid("ethane"), VapourStage(188.15, 248.0, COMPRESSOR, 5.0, 2.0, ambient_temperature=295.15), 30.0)
    two = solve_stage(pure_fluid("propane"), VapourStage(243.0, 305.15, COMPRESSOR, 5.0, 2.0, ambient_temperature=295.15), one.condenser_heat)
    assert result.total_power == pytest.approx(one.compressor_power + two.compressor_power, rel=1e-9)


def test_the_second_law_forbids_nothing_it_should_not():
    """An approach of 1 K instead of 15 K draws less power; Carnot is never reached."""
    near = solved(approach=2.0, superheat=1.0, subcooling=0.0, between=(243.0,))
    far = solved(approach=15.0, superheat=1.0, subcooling=0.0, between=(236.5,))
    assert near.total_power < far.total_power
    assert 0.0 < far.carnot_fraction < near.carnot_fraction < 1.0


def test_cascade_condenser_profile_and_conductance(monkeypatch):
    result = solved()
    (one,) = result.condensers
    heat, hot, cold = (np.array(values) for values in one.profile)
    assert heat[0] == 0.0 and heat[-1] == pytest.approx(one.heat)
    assert np.all(np.diff(heat) > 0.0) and np.all(np.diff(hot) > -1e-9) and np.all(np.diff(cold) > -1e-9)
    assert one.smallest_approach == pytest.approx(np.min(hot - cold))
    assert one.smallest_approach == pytest.approx(5.0 - 2.0, abs=1e-6)  # approach less subcooling, at the cold end
    colder, warmer = result.stages
    # most of the heat goes from condensing to evaporating fluid, at the approach
    latent = pure_fluid("ethane").dew_state(248.0).enthalpy - pure_fluid("ethane").bubble_state(248.0).enthalpy
    assert latent * colder.molar_flow / one.heat > 0.7
    assert one.conductance < one.heat / one.smallest_approach
    assert one.conductance > 0.7 * one.heat / 5.0
    monkeypatch.setattr(passage, "SECTIONS", 32)
    fine = couple(colder, warmer).conductance
    assert one.conductance == pytest.approx(fine, rel=2e-3)


def test_conductance_of_two_isothermal_streams_is_heat_over_approach():
    """Saturated to saturated: no superheat, no subcooling, hot gas desuperheated to its dew point."""
    result = solved(superheat=0.0, subcooling=0.0, exchanger_effectiveness=(0.0,), desuperheater_approach=0.0,
                    ambient_temperature=296.0, between=(293.0,), condenser_approach=20.0)  # fmt: skip
    (one,) = result.condensers
    assert result.stages[0].points[place.CONDENSER_INLET].temperature == pytest.approx(298.0, abs=2e-3)
    assert one.conductance == pytest.approx(one.heat / 5.0, rel=1e-3)


# --- standstill


def test_a_partly_filled_top_stage_stands_at_its_vapour_pressure():
    fluid = pure_fluid("propane")
    rest = solved().standstills[1]
    assert rest.charge_source == "estimated"
    assert rest.ambient_pressure == pytest.approx(fluid.dew_state(295.15).pressure, rel=1e-9)
    assert rest.vessel == 0.0


def test_an_expansion_vessel_holds_the_low_stage_at_its_limit():
    """With the vessel, its extra gas included, the pressure on the hottest day is the limit."""
    result = solved()
    rest, stage, fluid = result.standstills[0], result.stages[0], pure_fluid("ethane")
    assert rest.hottest_pressure > 2e6 and rest.vessel > 0.0
    density = fluid.molar_mass / fluid.tp(295.15, stage.cycle.suction_pressure).molar_volume
    mass, volume = rest.charge + rest.vessel * density, rest.volume + rest.vessel
    assert fluid.pressure_at(318.15, volume * fluid.molar_mass / mass) == pytest.approx(2e6, rel=1e-6)
    assert any("expansion vessel" in text for text in result.warnings)


def test_standstill_of_a_thin_gas_is_that_of_the_ideal_gas():
    stage = solved().stages[0]
    rest = stage_standstill(stage, StageInventory(0.1, charge=1e-3), 295.15, 318.15)
    ideal = 1e-3 / stage.fluid.molar_mass * 8.314462618 * 318.15 / 0.1
    assert rest.hottest_pressure == pytest.approx(ideal, rel=2e-3)
    assert rest.charge_source == "stated" and rest.vessel is None and rest.limit is None


def test_no_vessel_helps_where_the_limit_is_below_the_suction():
    stage = solved().stages[0]
    rest = stage_standstill(stage, StageInventory(1e-3, charge=0.05), 295.15, 318.15, limit=0.9e5)
    assert rest.vessel is None


def test_flammable_mass_counts_flammable_stages_and_needs_their_charge():
    result = solved("ethane", "R-134a")
    assert result.flammable_mass == result.standstills[0].charge
    assert solved(inventories=()).flammable_mass is None
    assert solved("trifluoromethane", "R-134a", inventories=()).flammable_mass == 0.0


@pytest.mark.parametrize(
    "stated, complaint",
    [
        ({"volume": -1.0, "charge": 0.1}, "stage volume"),
        ({"volume": 1e-3}, "either its charge or"),
        ({"volume": 1e-3, "charge": 0.1, "liquid_volume": 1e-4}, "either its charge or"),
        ({"volume": 1e-3, "liquid_volume": 2e-3}, "more than the 1000 cm3"),
    ],
)
def test_bad_inventories(stated, complaint):
    with pytest.raises(InputError, match=complaint):
        StageInventory(**stated)


# --- warnings


COOL = replace(COMPRESSOR, suction_heating=0.0, leakage=0.0)  # whose suction gas stays cold
GOOD = replace(COMPRESSOR, isentropic_efficiency=0.75, motor_efficiency=0.95, **TEXTBOOK)  # made for the cold


@pytest.mark.parametrize(
    "fluids, changed, text",
    [
        (("ethane", "isobutane"), {}, "isobutane's suction of 0.433 bar absolute is below atmospheric pressure"),
        (("ethane", "propane"), {"limits": replace(LIMITS, pressure_ratio=5.0)}, "is beyond 5"),
        (("ethane", "propane"), {"limits": replace(LIMITS, discharge_temperature=310.0)}, "is hotter than 310"),
        (("ethane", "propane"), {"limits": replace(LIMITS, discharge_pressure=1e6)}, "is above 10 bar"),
        (("ethane", "propane"), {"limits": replace(LIMITS, displacements=(1e-7,))}, "more than 0.1 cm3"),
        (("ethane", "propane"), {"inventories": ()}, "ethane is above its critical temperature when it stands warm"),
        (("ethane", "R-32"), {"ambient_temperature": 332.0, "compressor": COOL}, "close to its critical temperature"),
    ],
)
def test_warnings_name_fluid_and_limit(fluids, changed, text):
    assert any(text in warning for warning in solved(*fluids, **changed).warnings)


def test_a_compressor_colder_than_the_air_is_warned_of():
    chosen, between = ("methane", "tetrafluoromethane", "ethane", "propane"), (147.0, 188.0, 237.0)
    cold = solved(*chosen, between=between, cold_temperature=120.0, compressor=GOOD)
    assert any("methane leaves its compressor at" in text for text in cold.warnings)
    warm = solved(*chosen, between=between, cold_temperature=120.0, suction_temperature=260.0,
                  suction_warming="surroundings", compressor=GOOD)  # fmt: skip
    assert not any("leaves its compressor" in text for text in warm.warnings)
    assert warm.total_power > 1.2 * cold.total_power


def test_a_good_cascade_has_no_warnings():
    assert solved(largest_standstill_pressure=None).warnings == ()


# --- refusals


@pytest.mark.parametrize(
    "fluids, between, complaint",
    [
        (("ethane", "propane"), (303.0,), "ethane is above its critical temperature of 305.32 K in a condenser"),
        (("ethane", "R-404A"), (196.0,), "R-404A is below 200 K in an evaporator at 196 K, where its reference equation ends"),
        (("carbon dioxide", "propane"), (243.0,), "below its triple point of 216.59 K"),
    ],
)
def test_fluids_that_do_not_condense_or_that_freeze(fluids, between, complaint):
    with pytest.raises(UnreachableError, match=complaint):
        solved(*fluids, between=between)


@pytest.mark.parametrize(
    "fluids, between, complaint",
    [
        (("ethane", "propane"), (), "need 1 intermediate"),
        (("ethane", "propane"), (150.0,), "stage 1 would evaporate at"),
        (("ethane", "propane"), (math.nan,), "stage 1 would evaporate at"),
        (("ethylene", "ethane", "propane"), (250.0, 230.0), "ascend"),
        (("ethane",) * 5, (210.0, 230.0, 250.0, 270.0), "1 to 4 stages, got 5"),
    ],
)
def test_wrong_numbers_of_stages_and_temperatures(fluids, between, complaint):
    with pytest.raises(InputError, match=complaint):
        solved(*fluids, between=between)


def test_values_for_single_stages_must_fit_their_number():
    with pytest.raises(InputError, match="heat leaks: 3 values for 2 stages"):
        solved(heat_leaks=(1.0, 2.0, 3.0))


@pytest.mark.parametrize(
    "changed, complaint",
    [
        ({"load": 0.0}, "load must be a number above 0"),
        ({"cold_temperature": 300.0}, "must be below the ambient"),
        ({"superheat": 6.0}, "leave warmer than what it cools"),
        ({"subcooling": 5.0}, "subcooling of 5 K must be below"),
        ({"suction_temperature": 310.0}, "must not be above the ambient"),
        ({"suction_warming": "magic"}, "warmed by hot gas, surroundings, nothing, not by 'magic'"),
        ({"approach": math.inf}, "approach must be a number"),
    ],
)
def test_bad_input(changed, complaint):
    with pytest.raises(InputError, match=complaint):
        sample_cascade(**changed)


def test_a_blend_may_serve_as_a_stage(model_of):
    blend = StageFluid(model_of(("propane", "isobutane")), (0.7, 0.3), "camping gas")
    result = solve_cascade(sample_cascade(), [pure_fluid("ethane"), blend], (243.0,))
    assert result.fluids == ("ethane", "camping gas")
    assert result.energy_residual < 1e-6 and result.exergy_residual < 1e-6
