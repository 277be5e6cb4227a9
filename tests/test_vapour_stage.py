"""A vapour-compression stage: against a textbook, against the library's other interface, balances, refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest
from circuit_samples import TEXTBOOK

from mixjt.cascade.stage_balance import condenser, evaporator, inner_components
from mixjt.circuit.accounting import Account, account
from mixjt.errors import InputError, UnreachableError
from mixjt.parts import places as place
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.stage_fluid import StageFluid, pure_fluid
from mixjt.parts.vapour_stage import VapourStage, solve_stage, stage_cycle

IDEAL = Compressor(
    "reciprocating", 1e-5, 48.0, clearance=0.0, isentropic_efficiency=1.0, motor_efficiency=1.0, **TEXTBOOK
)
REAL = Compressor("reciprocating", 1e-5, 48.0, isentropic_efficiency=0.60, motor_efficiency=0.80)
PLAIN = replace(REAL, **TEXTBOOK)


def stage_balance(result, ambient: float, source: float) -> Account:
    """Energy and exergy [W] of a stage that stands alone and rejects its heat to ambient air."""
    parts = (evaporator(result, ambient, source), *inner_components(result, ambient), condenser(result, ambient))
    return account(parts, ambient, result.load * (ambient / source - 1.0), result.compressor_power)


def full_stage(evaporating=245.0, condensing=300.0, **changed):
    stated = {
        "superheat": 6.0, "subcooling": 3.0, "exchanger_effectiveness": 0.5, "suction_drop": 5e3,
        "discharge_drop": 2e4, "heat_leak": 4.0, "desuperheater_outlet": 318.0,
    }  # fmt: skip
    return VapourStage(evaporating, condensing, **({"compressor": REAL} | stated | changed))


def test_ideal_r134a_cycle_of_the_textbook():
    # Cengel & Boles, Thermodynamics, ideal vapour-compression example: 0.14 and 0.8 MPa, 0.05 kg/s,
    # Q_L 7.18 kW, W 1.81 kW, Q_H 8.99 kW, COP 3.97 (from memory). Tolerance: half a unit of the last digit
    # and as much again, because the book rounds its table enthalpies to 0.01 kJ/kg before it subtracts.
    fluid = pure_fluid("R-134a")
    saturated = fluid.model.saturation_temperature
    stage = VapourStage(saturated(0.14e6), saturated(0.8e6), IDEAL, superheat=0.0)
    result = solve_stage(fluid, stage, 7180.0)
    scale = 0.05 / result.mass_flow
    assert result.evaporator_heat * scale == pytest.approx(7180.0, abs=10.0)
    assert result.compressor_power * scale == pytest.approx(1810.0, abs=10.0)
    assert result.condenser_heat * scale == pytest.approx(8990.0, abs=10.0)
    assert result.cop == pytest.approx(3.97, abs=0.01)


LIBRARY = {"propane": "Propane", "isobutane": "IsoButane", "R-134a": "R134a"}


@pytest.mark.parametrize("fluid", LIBRARY)
def test_state_by_state_against_the_librarys_other_interface(fluid):
    """Every state from PropsSI in mass units, with the stage's formulas written out again."""
    from CoolProp.CoolProp import PropsSI

    name = LIBRARY[fluid]
    stage = full_stage(compressor=PLAIN)
    result = solve_stage(pure_fluid(fluid), stage, 150.0)

    low = PropsSI("P", "T", 245.0, "Q", 1, name)
    high = PropsSI("P", "T", 300.0, "Q", 0, name)
    h_out = PropsSI("H", "T", 251.0, "P", low, name)
    h_liquid = PropsSI("H", "T", 297.0, "P", high, name)
    gas_limit = PropsSI("H", "T", 297.0, "P", low, name) - h_out
    liquid_limit = h_liquid - PropsSI("H", "T", 251.0, "P", high, name)
    exchanged = 0.5 * min(gas_limit, liquid_limit)
    suction = low - 5e3
    h_suction = h_out + exchanged
    s_suction = PropsSI("S", "H", h_suction, "P", suction, name)
    work = (PropsSI("H", "S", s_suction, "P", high + 2e4, name) - h_suction) / 0.60
    h_hot = h_suction + work / 0.80
    t_hot = PropsSI("T", "H", h_hot, "P", high + 2e4, name)
    t_arrived = PropsSI("T", "H", h_hot, "P", high, name)
    h_in = PropsSI("H", "T", min(318.0, t_arrived), "P", high, name)
    flow = 154.0 / (h_out - (h_liquid - exchanged))

    points = result.points
    assert points[place.EVAPORATOR_OUTLET].pressure == pytest.approx(low, rel=1e-8)
    assert points[place.CONDENSER_OUTLET].pressure == pytest.approx(high, rel=1e-8)
    assert points[place.COMPRESSOR_INLET].temperature == pytest.approx(
        PropsSI("T", "H", h_suction, "P", suction, name), abs=1e-5
    )
    assert points[place.COMPRESSOR_OUTLET].temperature == pytest.approx(t_hot, abs=1e-4)
    assert points[place.DESUPERHEATER_INLET].temperature == pytest.approx(t_arrived, abs=1e-4)
    assert points[place.THROTTLE_INLET].temperature == pytest.approx(
        PropsSI("T", "H", h_liquid - exchanged, "P", high, name), abs=1e-4
    )
    assert points[place.THROTTLE_OUTLET].vapour_fraction == pytest.approx(
        PropsSI("Q", "H", h_liquid - exchanged, "P", low, name), abs=1e-6
    )
    assert result.mass_flow == pytest.approx(flow, rel=1e-7)
    assert result.compressor_power == pytest.approx(flow * work / 0.80, rel=1e-6)
    assert result.condenser_heat == pytest.approx(flow * (h_in - h_liquid), rel=1e-6)
    assert result.desuperheater_heat == pytest.approx(flow * (h_hot - h_in), rel=1e-5, abs=1e-6)
    density = PropsSI("D", "H", h_suction, "P", suction, name)
    assert result.displacement * 48.0 * density * result.volumetric_efficiency == pytest.approx(flow, rel=1e-6)


@pytest.mark.parametrize("fluid", ["propane", "isobutane", "R-134a", "R-404A", "R-407C", "ethane"])
@pytest.mark.parametrize("effectiveness, suction", [(0.0, None), (0.7, None), (0.2, 279.0)])
def test_energy_and_exergy_close(fluid, effectiveness, suction):
    stage = full_stage(243.0, 290.0, exchanger_effectiveness=effectiveness, suction_temperature=suction)
    result = solve_stage(pure_fluid(fluid), stage, 100.0)
    found = stage_balance(result, ambient=280.0, source=250.0)
    assert found.energy_residual < 1e-6
    assert found.exergy_residual < 1e-6
    destroyed = [item.exergy for item in found.exergy]
    assert all(lost > -1e-6 for lost in destroyed)
    assert sum(destroyed) == pytest.approx(result.compressor_power, rel=1e-6)


def test_the_balance_finds_a_wrong_flow():
    result = solve_stage(pure_fluid("propane"), full_stage(), 100.0)
    wrong = replace(result, molar_flow=1.01 * result.molar_flow)
    assert stage_balance(wrong, 295.0, 255.0).energy_residual > 1e-3


@pytest.mark.parametrize("fluid", ["isobutane", "propane", "R-134a"])
def test_an_ideal_stage_of_vanishing_lift_misses_carnot_by_the_work_of_the_liquid(fluid):
    """For a small lift the compressor takes v_vapour dp and the throttle wastes v_liquid dp (Clapeyron)."""
    fluid = pure_fluid(fluid)

    def missed(lift):
        result = solve_stage(fluid, VapourStage(280.0, 280.0 + lift, IDEAL, superheat=0.0), 100.0)
        return 1.0 - result.cop * lift / 280.0

    limit = 2.0 * missed(0.5) - missed(1.0)
    expected = fluid.bubble_state(280.0).molar_volume / fluid.dew_state(280.0).molar_volume
    assert limit == pytest.approx(expected, rel=0.01)


def test_displacement_follows_load_and_speed():
    fluid = pure_fluid("propane")
    slow = replace(full_stage(heat_leak=0.0), compressor=replace(REAL, speed=24.0))
    one, two = solve_stage(fluid, full_stage(heat_leak=0.0), 50.0), solve_stage(fluid, slow, 100.0)
    assert two.swept_flow == pytest.approx(2.0 * one.swept_flow, rel=1e-12)
    assert two.displacement == pytest.approx(4.0 * one.displacement, rel=1e-12)


def test_the_surroundings_warm_a_colder_suction_only():
    fluid = pure_fluid("propane")
    cold = solve_stage(fluid, full_stage(), 100.0)
    warm = solve_stage(fluid, full_stage(suction_temperature=290.0), 100.0)
    inlet = warm.points[place.COMPRESSOR_INLET]
    assert inlet.temperature == 290.0
    assert inlet.pressure == pytest.approx(cold.points[place.COMPRESSOR_INLET].pressure, rel=1e-12)
    assert warm.molar_flow == cold.molar_flow and warm.displacement > cold.displacement
    expected = warm.molar_flow * (inlet.enthalpy - warm.points[place.EXCHANGER_GAS_OUTLET].enthalpy)
    assert warm.suction_heat == pytest.approx(expected, rel=1e-12)
    unchanged = solve_stage(fluid, full_stage(suction_temperature=220.0), 100.0)
    assert unchanged.displacement == cold.displacement and unchanged.suction_heat == 0.0


@pytest.mark.parametrize(("fluid", "evaporating", "asked"), [
    ("propane", 250.0, 250.0),  # on the vapour pressure curve, where temperature and pressure are no state
    ("carbon dioxide", 225.0, 213.15),  # solid below its triple point of 216.6 K
])  # fmt: skip
@pytest.mark.parametrize("superheat", [0.0, 5.0])
def test_a_suction_that_is_warm_enough_needs_no_state_at_the_temperature_asked_for(fluid, evaporating, asked, superheat):
    plain = {"suction_drop": 0.0, "superheat": superheat, "exchanger_effectiveness": 0.0, "desuperheater_outlet": None}
    free, least = (stage_cycle(pure_fluid(fluid), full_stage(evaporating, 270.0, suction_temperature=t, **plain)) for t in (None, asked))
    assert least.power_per_heat == free.power_per_heat


def test_a_suction_cooled_by_its_drop_is_warmed_again():
    fluid, drop = pure_fluid("propane"), 0.5e5
    stage = full_stage(250.0, superheat=5.0, exchanger_effectiveness=0.0, suction_drop=drop, suction_temperature=255.0)
    suction = stage_cycle(fluid, stage).compression.suction
    assert fluid.hp(fluid.superheated(250.0, 5.0).enthalpy, suction.pressure).temperature < 254.9
    assert suction.temperature == 255.0


def test_hot_gas_warms_the_suction_against_the_librarys_other_interface():
    """Methane from 115 K to 155 K, its suction warmed to 233 K by its own hot gas, which air has cooled to 305 K."""
    from CoolProp.CoolProp import PropsSI

    low, high = PropsSI("P", "T", 115.0, "Q", 1, "Methane"), PropsSI("P", "T", 155.0, "Q", 0, "Methane")
    enthalpy = {t: PropsSI("Hmolar", "T", t, "P", p, "Methane") for t, p in ((121.0, low), (233.0, low), (305.0, high))}
    liquid = PropsSI("Hmolar", "T", 152.0, "P", high, "Methane")
    stage = full_stage(115.0, 155.0, exchanger_effectiveness=0.0, suction_drop=0.0, discharge_drop=0.0,
                       desuperheater_outlet=305.0, suction_temperature=233.0, hot_gas_approach=5.0)  # fmt: skip
    result = solve_stage(pure_fluid("methane"), stage, 20.0)
    flow = 24.0 / (enthalpy[121.0] - liquid)
    passed = enthalpy[233.0] - enthalpy[121.0]
    assert result.molar_flow == pytest.approx(flow, rel=1e-6)
    assert result.hot_gas_heat == pytest.approx(flow * passed, rel=1e-6)
    assert result.condenser_heat == pytest.approx(flow * (enthalpy[305.0] - passed - liquid), rel=1e-6)
    assert result.suction_heat == pytest.approx(0.0, abs=1e-9 * flow * passed)
    by_air = solve_stage(pure_fluid("methane"), replace(stage, hot_gas_approach=None), 20.0)
    assert by_air.suction_heat == pytest.approx(flow * passed, rel=1e-6) and by_air.hot_gas_heat == 0.0
    assert by_air.compressor_power == pytest.approx(result.compressor_power, rel=1e-12)


@pytest.mark.parametrize("approach, air", [(5.0, 0.0), (60.0, 0.1)])  # 12 K of 94 K are left to the air
def test_hot_gas_keeps_its_approach_and_the_air_does_the_rest(approach, air):
    stage = full_stage(170.0, 235.0, suction_temperature=270.0, hot_gas_approach=approach, exchanger_effectiveness=0.0)
    result = solve_stage(pure_fluid("ethylene"), stage, 20.0)
    points = result.points
    assert points[place.COMPRESSOR_INLET].temperature == pytest.approx(270.0, abs=1e-6)
    hot, cold = points[place.CONDENSER_INLET], points[place.EXCHANGER_GAS_OUTLET]
    assert hot.temperature >= cold.temperature + approach - 1e-9 and hot.vapour_fraction == 1.0
    assert points[place.DESUPERHEATER_OUTLET].temperature - points[place.HOT_GAS_EXCHANGER_OUTLET].temperature >= approach - 1e-6
    assert result.suction_heat >= air * (result.suction_heat + result.hot_gas_heat) - 1e-9
    found = stage_balance(result, 295.0, 180.0)
    assert found.energy_residual < 1e-6 and found.exergy_residual < 1e-6
    lost = {item.component: item.exergy for item in found.exergy}
    assert lost["hot-gas exchanger"] > 0.0


def test_losses_as_shares_are_those_pressures():
    stage = full_stage(suction_drop=0.0, discharge_drop=0.0, suction_loss=0.05, discharge_loss=0.02)
    points = solve_stage(pure_fluid("propane"), stage, 20.0).points
    assert points[place.COMPRESSOR_INLET].pressure == pytest.approx(0.95 * points[place.EVAPORATOR_OUTLET].pressure)
    assert points[place.COMPRESSOR_OUTLET].pressure == pytest.approx(1.02 * points[place.CONDENSER_OUTLET].pressure)


def test_the_desuperheater_neither_heats_nor_condenses():
    fluid = pure_fluid("propane")
    plain = stage_cycle(fluid, full_stage(desuperheater_outlet=None))
    warm = stage_cycle(fluid, full_stage(desuperheater_outlet=420.0))
    assert warm.condenser_inlet.temperature == plain.condenser_inlet.temperature
    cold = stage_cycle(fluid, full_stage(desuperheater_outlet=280.0)).condenser_inlet
    assert cold.temperature == pytest.approx(300.0, abs=2e-3) and cold.vapour_fraction == 1.0


def test_the_exchanger_warms_the_suction_and_never_cools_it():
    fluid = pure_fluid("R-134a")
    cycle = stage_cycle(fluid, full_stage(exchanger_effectiveness=1.0))
    assert cycle.exchanger_gas_outlet.temperature == pytest.approx(297.0, abs=1e-3)
    close = full_stage(295.0, 299.0, superheat=8.0)  # gas warmer than the liquid
    assert stage_cycle(fluid, close).exchanger_heat == 0.0


def test_a_blend_whose_gases_are_one_behaves_as_the_gas(model_of):
    """The general interface: a blend model with all of one gas gives that gas's stage on the same model."""
    blend = StageFluid(model_of(("propane", "isobutane")), (1.0, 0.0))
    alone = StageFluid(model_of(("propane",)), (1.0,))
    stage = full_stage(exchanger_effectiveness=0.3)
    assert blend.facts is None and blend.flammable
    one, other = solve_stage(blend, stage, 80.0), solve_stage(alone, stage, 80.0)
    assert one.compressor_power == pytest.approx(other.compressor_power, rel=1e-6)
    assert one.compressor_power == pytest.approx(
        solve_stage(pure_fluid("propane"), stage, 80.0).compressor_power, rel=0.05
    )


def test_a_gliding_blend_uses_its_dew_and_bubble_points(model_of):
    blend = StageFluid(model_of(("propane", "isobutane")), (0.5, 0.5))
    result = solve_stage(blend, full_stage(), 80.0)
    low, high = (result.points[at].pressure for at in (place.EVAPORATOR_OUTLET, place.CONDENSER_OUTLET))
    assert blend.dew_temperature(low) == pytest.approx(245.0, abs=1e-3)
    assert blend.bubble_temperature(high) == pytest.approx(300.0, abs=1e-3)
    assert result.points[place.THROTTLE_OUTLET].temperature < 244.0
    found = stage_balance(result, 295.0, 255.0)
    assert found.energy_residual < 1e-6 and found.exergy_residual < 1e-6


@pytest.mark.parametrize(
    "fluid, changed, complaint",
    [
        ("ethane", {"condensing_temperature": 310.0}, "ethane is above its critical temperature of 305.32 K"),
        ("carbon dioxide", {"evaporating_temperature": 210.0}, "below its triple point of 216.59 K"),
        ("tetrafluoromethane", {"evaporating_temperature": 100.0, "condensing_temperature": 150.0},
         "below 120 K in an evaporator at 100 K, where its reference equation ends"),
        ("isobutane", {"suction_drop": 9e4}, "suction-line drop of 0.9 bar uses up"),
    ],
)
def test_what_cannot_be_reached(fluid, changed, complaint):
    with pytest.raises(UnreachableError, match=complaint):
        stage_cycle(pure_fluid(fluid), replace(full_stage(), **changed))


@pytest.mark.parametrize(
    "changed, complaint",
    [
        ({"condensing_temperature": 240.0}, "must be above the evaporating"),
        ({"superheat": -1.0}, "superheat must be a number at least 0"),
        ({"exchanger_effectiveness": 1.2}, "at most 1"),
        ({"heat_leak": math.nan}, "heat leak"),
        ({"desuperheater_outlet": 0.0}, "above 0"),
    ],
)
def test_bad_input(changed, complaint):
    with pytest.raises(InputError, match=complaint):
        replace(full_stage(), **changed)
    with pytest.raises(InputError, match="load"):
        solve_stage(pure_fluid("propane"), full_stage(), 0.0)


@pytest.mark.parametrize("fluid", ["propane", "ethane", "R-404A"])
@pytest.mark.parametrize("temperature", [260.0, 300.0, 330.0])
def test_pressure_of_a_filled_volume_returns_its_volume(fluid, temperature):
    fluid = pure_fluid(fluid)
    for pressure in np.geomspace(3e4, 2e7, 8):
        state = fluid.tp(temperature, pressure)
        assert fluid.pressure_at(temperature, state.molar_volume) == pytest.approx(pressure, rel=1e-6)


def test_pressure_of_a_partly_filled_volume_is_that_of_saturation():
    fluid = pure_fluid("propane")
    vapour, liquid = fluid.dew_state(300.0), fluid.bubble_state(300.0)
    for share in (0.001, 0.3, 0.999):
        volume = share * vapour.molar_volume + (1.0 - share) * liquid.molar_volume
        assert fluid.pressure_at(300.0, volume) == pytest.approx(vapour.pressure, rel=1e-12)
    with pytest.raises(UnreachableError, match="check charge and volume"):
        fluid.pressure_at(300.0, 0.7 * liquid.molar_volume)
