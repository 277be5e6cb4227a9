"""An invented circuit with round numbers, and every figure of it, for the tests of plots."""

from dataclasses import replace

import numpy as np

from mixjt.circuit import places
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.fluid.envelope import Envelope
from mixjt.fluid.states import SaturationBoundary, State
from mixjt.plots import envelope_plot as envelope
from mixjt.plots import property_plot as property_plots
from mixjt.plots import recuperator_plot as recuperator
from mixjt.plots import search_plot as search
from mixjt.studies.envelopes import TwoLiquids

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
        gases=tuple(gases), composition=np.asarray(composition), model="multi-fluid", cold_temperature=120.0,
        warm_temperature=300.0, ambient_temperature=295.0, suction_pressure=1.5e5, discharge_pressure=15e5,
        cooling_capacity=500.0, cooling_power=12.4, compressor_work=7500.0, compressor_power=250.0,
        supply_current=None, cop=0.05, carnot_fraction=0.07, molar_flow=0.025, mass_flow=8e-4,
        volumetric_efficiency=0.7, discharge_temperature=390.0, valve_temperature=390.0, suction_superheat=40.0, dew_point_low=250.0,
        bubble_point_low=None, dew_point_high=None, bubble_point_high=125.0, points=points,
        pinch=PinchCurve(heat, high, low, APPROACH, pinch_temperature, 1500.0),
        difference=DifferenceCurve(temperatures, difference, LEAST, LEAST_TEMPERATURE),
        aftercooler_heat=8000.0, shell_heat=0.0, exergy=(), energy_residual=0.0, exergy_residual=0.0,
    )  # fmt: skip
    return replace(result, **changes)


def make_boundary() -> SaturationBoundary:
    pressures = np.geomspace(1e5, 50e5, 20)
    steps = np.log(pressures / 1e5)
    bubble = 80.0 + 15.0 * steps
    bubble[-1] = np.nan
    return SaturationBoundary(pressures, bubble, -17000.0 + 300.0 * steps, 240.0 + 18.0 * steps,
                              -6000.0 + 900.0 * steps)


def make_isobars():
    temperatures = np.linspace(100.0, 400.0, 61)
    return [(p, temperatures, -15750.0 + 66.0 * (temperatures - 117.5) - shift)
            for p, shift in ((1.5e5, 0.0), (5e5, 500.0), (15e5, 1000.0))]


def make_search():
    counts = {2: (0.6, 0.0, 0.4, 0.0, 0.0), 3: (0.4, 0.3, 0.0, 0.3, 0.0), 4: (0.35, 0.2, 0.1, 0.35, 0.0)}
    best = {n: make_result(composition=x, cooling_power=4.0 * n) for n, x in counts.items()}
    best[5] = make_result(composition=(0.36, 0.1, 0.24, 0.02, 0.28), cooling_power=17.1)
    return [best[5], best[4], best[3]], best


def make_envelopes():
    steps = np.linspace(0.0, 1.0, 9)
    bubble, dew = 90.0 + 150.0 * steps, 260.0 - 10.0 * steps
    pressures = 1e5 * 80.0**steps
    curve = Envelope(
        np.concatenate([bubble, dew[::-1]]), np.concatenate([pressures, pressures[::-1]]), np.arange(18) > 8,
        (245.0, 80e5), (245.0, 80e5), (260.0, 1e5), 0,
    )  # fmt: skip
    region = TwoLiquids(np.array([1e5, 5e5, 20e5]), np.array([80.0, 80.0, np.nan]), np.array([90.0, 100.0, np.nan]))
    isobars = [("suction", 1.5e5, (120.0, 300.0)), ("discharge", 15e5, (120.0, 300.0))]
    return {"multi-fluid": curve, "reference": curve}, region, isobars, GASES, COMPOSITION


FIGURES = {
    "pinch": lambda: recuperator.pinch_figure(make_result()),
    "difference": lambda: property_plots.difference_figure(make_result()),
    "circuit": lambda: property_plots.circuit_figure(make_result(), make_boundary(), make_isobars()),
    "envelope": lambda: envelope.envelope_figure(*make_envelopes()),
    "search": lambda: search.search_figure(*make_search()),
}
