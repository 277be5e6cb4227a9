"""A small invented machine for the tests of sensitivity, weighing errors and worst cases."""

from circuit_samples import machine

from mixjt.blend import Ingredient, pure_ingredient
from mixjt.parts.compressor.compression import Compressor

GASES = ("nitrogen", "methane", "ethane", "propane", "n-butane")
LPG = Ingredient("lighter gas", ("propane", "n-butane"), (0.3, 0.7))
BOTTLES = (pure_ingredient("nitrogen"), pure_ingredient("methane"), pure_ingredient("ethane"), LPG)
AMOUNTS = (0.16, 0.38, 0.12, 0.34)  # no kink of the cooling within 1 mol %
MACHINE = machine(
    discharge_pressure=15.0e5,
    cold_temperature=121.0,
    high_side_drop=0.2e5,
    low_side_drop=0.1e5,
    compressor=Compressor(
        "rotary", 6.4e-6, 48.0, 0.02, isentropic_efficiency=0.62, motor_efficiency=0.82,
        largest_discharge_temperature=480.0, largest_valve_temperature=480.0,
    ),
)
LOAD = 12.0  # W
CHARGE = 0.06  # kg
