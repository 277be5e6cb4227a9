"""An invented circuit with round numbers, and figures of it and of other invented results, for the tests of plots."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
from toy_model import IdealGas

from mixjt.blend import pure_ingredient
from mixjt.circuit.boil_off import BoilOff
from mixjt.circuit.inventory import Inventory
from mixjt.circuit.layouts.precooled import PrecooledResult
from mixjt.circuit.liquefier_result import LiquefierResult
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.fluid.envelope import Envelope
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts import places
from mixjt.parts.compressor.compression import Compressor
from mixjt.plots import charge_plot as charging
from mixjt.plots import compare_plot as compare
from mixjt.plots import cooldown_plot as cooldown
from mixjt.plots import envelope_plot as envelope
from mixjt.plots import liquefier_plot as liquefier
from mixjt.plots import precooling_plot as precooling
from mixjt.plots import property_plot as property_plots
from mixjt.plots import rating_plot as rating
from mixjt.plots import recuperator_plot as recuperator
from mixjt.plots import search_plot as search
from mixjt.plots import sensitivity_plot as sensitivity
from mixjt.studies.at_rest import AtRest, StandstillRequest
from mixjt.studies.band import Band
from mixjt.studies.charge.charge_plan import plan_charge
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.compare.comparison import Carried, Comparison, Crossing, Road
from mixjt.studies.cooldown import Cooldown, Moment, Way
from mixjt.studies.envelopes import TwoLiquids
from mixjt.studies.label_study import MapPoint
from mixjt.studies.liquefier_study import PressureCurve, PressurePoint
from mixjt.studies.phases import BlendPhases, Isobar
from mixjt.studies.precooling import PrecoolingCurve
from mixjt.studies.search.search_request import Bottle
from mixjt.studies.search.search_result import SearchResult
from mixjt.studies.sensitivity import Change, Effect, Sensitivity
from mixjt.studies.weighing import Weighing

GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane")
COMPOSITION = np.array([0.36, 0.15, 0.14, 0.2, 0.15])
PINCH_HEAT, APPROACH = 3000.0, 5.0  # of the invented recuperator below
LEAST, LEAST_TEMPERATURE = 640.0, 150.0


def make_result(gases=GASES, composition=COMPOSITION, **changes) -> CircuitResult:
    """An invented circuit with round numbers; only its curves' shape resembles a real one."""
    heat = np.linspace(0.0, 12000.0, 121)
    low = 120.0 + 175.0 * heat / 12000.0
    high = low + APPROACH + 30.0 * ((heat - PINCH_HEAT) / 9000.0) ** 2
    temperatures = np.linspace(120.0, 300.0, 91)
    difference = LEAST + 0.3 * (temperatures - LEAST_TEMPERATURE) ** 2
    pinch_temperature = float(np.interp(PINCH_HEAT, heat, high))
    found = {
        places.COMPRESSOR_INLET: (295.0, 1.5e5, -3500.0),
        places.COMPRESSOR_OUTLET: (390.0, 15e5, 4000.0),
        places.AFTERCOOLER_OUTLET: (float(high[-1]), 15e5, -4000.0),
        places.THROTTLE_INLET: (float(high[0]), 15e5, -16000.0),
        places.THROTTLE_OUTLET: (115.0, 1.5e5, -16000.0),
        places.EVAPORATOR_OUTLET: (120.0, 1.5e5, -15500.0),
    }
    points = {place: State(t, p, np.asarray(composition), h, 0.0, 0.0, ())
              for place, (t, p, h) in found.items()}
    result = CircuitResult(
        fluid=Fluid(SimpleNamespace(name="multi-fluid", gases=tuple(gases)), composition), cold_temperature=120.0,
        warm_temperature=300.0, ambient_temperature=295.0, suction_pressure=1.5e5, discharge_pressure=15e5,
        cooling_capacity=500.0, cooling_power=12.4, compressor_work=7500.0, compressor_power=250.0,
        supply_current=None, cop=0.05, carnot_fraction=0.07, molar_flow=0.025, mass_flow=8e-4,
        volumetric_efficiency=0.7, shell_temperature=350.0, cylinder_inlet_temperature=300.0, leakage=0.05, discharge_temperature=390.0, valve_temperature=390.0, suction_superheat=40.0, dew_point_low=250.0,
        bubble_point_low=None, dew_point_high=None, bubble_point_high=125.0, points=points,
        pinch=PinchCurve(heat, high, low, APPROACH, pinch_temperature, 1500.0),
        difference=DifferenceCurve(temperatures, difference, LEAST, LEAST_TEMPERATURE),
        aftercooler_heat=8000.0, shell_heat=0.0, exergy=(), energy_residual=0.0, exergy_residual=0.0,
    )  # fmt: skip
    return replace(result, **changes)


def make_envelope() -> Envelope:
    steps = np.linspace(0.0, 1.0, 9)
    temperatures = np.concatenate([90.0 + 150.0 * steps, (260.0 - 10.0 * steps)[::-1]])
    pressures = 1e5 * 80.0 ** np.concatenate([steps, steps[::-1]])
    return Envelope(temperatures, pressures, 66.0 * (temperatures - 330.0), np.arange(18) > 8, (245.0, 80e5), (245.0, 80e5), (260.0, 1e5), 0)


def make_isobars():
    temperatures = np.linspace(100.0, 400.0, 61)
    enthalpies, nothing = -15750.0 + 66.0 * (temperatures - 117.5), np.full(61, np.nan)
    return [Isobar(p, temperatures, enthalpies - shift, nothing, nothing, nothing, None, None)
            for p, shift in ((1.5e5, 0.0), (5e5, 500.0), (15e5, 1000.0))]


BAND = Band(0.25, 0.02)


def make_search(**changes) -> SearchResult:
    """Blends of up to five bottles; one bottle is a mixture of propane and isobutane."""
    counts = {2: (0.6, 0.0, 0.4, 0.0, 0.0), 3: (0.4, 0.3, 0.0, 0.3, 0.0), 4: (0.35, 0.2, 0.1, 0.35, 0.0)}
    best = {n: make_result(composition=x, cooling_power=4.0 * n) for n, x in counts.items()}
    best[5] = make_result(composition=(0.36, 0.1, 0.24, 0.02, 0.28), cooling_power=17.1)
    amounts = {
        2: {"nitrogen": 0.6, "ethane": 0.4}, 3: {"nitrogen": 0.4, "methane": 0.3, "propane": 0.3},
        4: {"nitrogen": 0.35, "methane": 0.2, "ethane": 0.1, "propane": 0.35},
        5: {"nitrogen": 0.36, "methane": 0.1, "ethane": 0.24, "lighter gas": 0.3},
    }  # fmt: skip
    found = SearchResult(
        objective="cooling power", candidates=(best[5], best[4], best[3]), values=(17.1, 16.0, 12.0),
        amounts=(amounts[5], amounts[4], amounts[3]), best_by_count=best, amounts_by_count=amounts, evaluations=100,
        seconds=1.0, interrupted=False, messages=(),
    )  # fmt: skip
    return replace(found, **changes)


def make_phases(**changes) -> BlendPhases:
    region = TwoLiquids(np.array([1e5, 5e5, 20e5]), np.array([80.0, 80.0, np.nan]), np.array([90.0, 100.0, np.nan]))
    temperatures, nothing = np.linspace(120.0, 300.0, 5), np.zeros(5)
    low, high = (Isobar(p, temperatures, nothing, nothing, nothing, nothing, None, None) for p in (1.5e5, 15e5))
    return replace(BlendPhases(low, high, None, make_envelope(), region, None, None, "multi-fluid", ()), **changes)


def make_precooling():
    """A precooled circuit, its curve, which a limited precooler cuts short, and the plain circuit."""
    temperatures = np.linspace(240.0, 280.0, 5)
    curve = PrecoolingCurve(
        temperatures, 0.0 * temperatures, 0.0 * temperatures, 90.0 - 0.2 * temperatures, 60.0 - 0.15 * temperatures,
        temperatures, 80.0 - 0.1 * temperatures, 0.2 - 5e-4 * temperatures, lowest=240.0,
    )  # fmt: skip
    result = PrecooledResult(**vars(make_result()), precooler_temperature=250.0, precooler_power=55.0)
    return result, curve, make_result(compressor_power=300.0)


def make_cooldown(**changes) -> Cooldown:
    """A machine that cools to 105 K in theory and reaches its target of 120 K."""
    states = tuple(
        SimpleNamespace(cold_temperature=t, cooling_power=t - 93.0, discharge_pressure=10e5 + 5e3 * t, suction_pressure=2e5,
                        compression=SimpleNamespace(electrical_power=250.0 + 0.1 * t, supply_current=1.0 + 1e-3 * t,
                                                    valve_temperature=300.0 + 0.3 * t, discharge_temperature=300.0 + 0.2 * t))
        for t in (295.0, 200.0, 120.0, 100.0)
    )  # fmt: skip
    times, copper = np.array([0.0, 3600.0, 7200.0]), np.array([300.0, 260.0, 210.0])
    moments = tuple(Moment(state, t, 50.0) for state, t in zip(states, copper))
    found = Cooldown(
        states=states, net_power=np.array([190.0, 95.0, 15.0, -5.0]), lowest_temperature=105.0, time_to_target=7200.0,
        way=Way(moments, times, times, np.array([295.0, 200.0, 120.0]), copper), standstill_pressure=None, warnings=(),
    )  # fmt: skip
    return replace(found, **changes)


COOLED_BY = Compressor(
    "rotary", 6.4e-6, 48.0, supply_voltage=230.0, largest_supply_current=2.2, largest_suction_pressure=9e5,
    largest_pressure_ratio=9.0, largest_valve_temperature=420.0, largest_discharge_temperature=380.0,
)  # fmt: skip


def make_map():
    """A compressor that passes a limit at the highest discharge and does not work at one point."""
    points = []
    for high in (10e5, 15e5):
        for low in (1e5, 2e5, 3e5):
            works = (low, high) != (1e5, 15e5)
            result = SimpleNamespace(mass_flow=low * 1e-8, electrical_power=high * 2e-4) if works else None
            exceeded = ("discharge temperature",) if works and (low, high) == (2e5, 15e5) else ()
            points.append(MapPoint(low, high, result, None, None, exceeded, "" if works else "no gas is moved"))
    return points


class Liquefied(LiquefierResult):
    """A liquefier of known product."""

    mass_rate = 2e-5


def make_feed():
    """A liquefier and its feed pressures, at the lowest of which nothing liquefies."""
    points = (
        PressurePoint(5e5, None, None, None, "the feed stays warm"), PressurePoint(10e5, 2e-5, 1.5e7, 1.6e7),
        PressurePoint(20e5, 3e-5, 1.2e7, 1.4e7), PressurePoint(30e5, 4e-5, 1.1e7, 1.45e7),
    )  # fmt: skip
    result = Liquefied(**vars(make_result()), passage=SimpleNamespace(pressure=10e5))
    return result, PressureCurve(points, points[3], points[2])


def make_sensitivity():
    effects = [
        Effect(Change(name, amount, "K"), None, None, power, None)
        for name, amount, power in (("approach", 2.0, -3.0), ("approach", -2.0, 2.5), ("ambient", 5.0, -1.0),
                                    ("ambient", -5.0, None))
    ]  # fmt: skip
    return Sensitivity(make_result(), None, tuple(effects))


def make_weighing():
    powers = 12.0 + np.linspace(-1.0, 1.0, 41)
    return Weighing(
        SimpleNamespace(charge=0.06), np.zeros(2), np.zeros(2), np.zeros((41, 2)), powers, np.full(41, np.nan), None, 12.2, 12.1, None
    )


def make_comparison():
    """A blend that carries the load down to 150 K and a cascade that does so down to 170 K."""
    def road(name, temperatures, band):
        line = [Carried(t, 9e3 / t, 0.1, 0.1 * t, "", None) for t in temperatures]
        return Road(name, line[0], None, "", tuple(line), None, (), band)

    roads = (road("plain", (150.0, 170.0, 200.0), BAND), road("cascade-2", (170.0, 200.0), None))
    crossing = Crossing((177.0,), "", ((170.0, 200.0),), (True,))
    lost = (("cascade-2", 150.0, "a stage would have to work beyond its limits"),)
    return Comparison(12.0, 150.0, 295.0, roads, crossing, "", (), 1.0, lost=lost)


def make_charge_plan():
    """Five ideal gases let into 3 L."""
    request, rest = ChargeRequest(3e-3, 1e5, 295.0), StandstillRequest(3e-3, None, 295.0, 323.0)
    bottles = [Bottle(pure_ingredient(name)) for name in GASES]
    fluid = Fluid(IdealGas(GASES), COMPOSITION)
    running = AtRest(None, None, (), Inventory(fluid, {"all": 1.5 * COMPOSITION}))
    return plan_charge(running, fluid, bottles, request, rest)


FIGURES = {
    "pinch": lambda: recuperator.pinch_figure(make_result()),
    "difference": lambda: property_plots.difference_figure(make_result(), BAND),
    "circuit": lambda: property_plots.circuit_figure(make_result(), make_envelope(), make_isobars()),
    "envelope": lambda: envelope.envelope_figure(make_phases(), GASES, COMPOSITION),
    "search": lambda: search.search_figure(make_search(), (BAND, None, BAND), 12.0),
    "precooling": lambda: precooling.precooling_figure(*make_precooling(), BAND),
    "load_line": lambda: cooldown.load_line_figure(make_cooldown(), GASES, COMPOSITION),
    "cooldown": lambda: cooldown.cooldown_figure(make_cooldown(), COOLED_BY, GASES, COMPOSITION),
    "compressor_map": lambda: rating.rating_figure(make_map(), "Compressor", "propane 100 (mole %)"),
    "feed_pressures": lambda: liquefier.pressure_figure(*make_feed(), replace(BAND, of="liquid")),
    "boil_off": lambda: liquefier.boil_off_figure(
        BoilOff(np.array([1.0, 0.1, 0.02]), np.array([0.03, 0.15, 0.4]), np.array([77.0, 78.0, 80.0]))
    ),
    "sensitivity": lambda: sensitivity.tornado_figure(make_sensitivity(), BAND),
    "weighing": lambda: sensitivity.weighing_figure(make_weighing(), make_result()),
    "filling": lambda: charging.filling_figure(make_charge_plan()),
    "compare": lambda: compare.compare_figure(make_comparison()),
}
