"""An invented cascade that several test files use."""

from mixjt.cascade.cascade_records import Cascade, CascadeLimits
from mixjt.cascade.stage_standstill import StageInventory
from mixjt.parts.compressor.compression import Compressor

COMPRESSOR = Compressor("reciprocating", 1e-5, 48.0, isentropic_efficiency=0.60, motor_efficiency=0.80)
LIMITS = CascadeLimits(pressure_ratio=12.0, discharge_temperature=393.15, suction_pressure=101325.0)


def sample_cascade(**changed):
    """30 W at -80 degC in a room at 22 degC, with everything a stage can have."""
    stated = {
        "ambient_temperature": 295.15, "cold_temperature": 193.15, "load": 30.0, "compressor": COMPRESSOR,
        "exchanger_effectiveness": (0.4,), "suction_drops": (3e3,), "discharge_drops": (1e4,),
        "heat_leaks": (3.0,), "desuperheater_approach": 10.0, "suction_temperature": None, "limits": LIMITS,
        "hottest_temperature": 318.15, "inventories": (StageInventory(1.5e-3, liquid_volume=1e-4),),
        "largest_standstill_pressure": 2e6,
    }  # fmt: skip
    return Cascade(**(stated | changed))
