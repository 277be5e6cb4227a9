"""What the kernels of the compressor's shell read and write: the record of a compressor, tables and columns."""

from __future__ import annotations

import numpy as np

MACHINE_TYPE = np.dtype(
    [
        (name, np.float64)
        for name in (
            "clearance", "leakage", "suction_heating", "discharge_cooling", "isentropic_efficiency", "motor_efficiency",
            # powers and conductances: what is stated, and what goes with the swept flow
            "idle_power", "idle_per_swept", "shell_conductance", "conductance_per_swept",
            "swept_flow", "ambient", "flow", "power",  # the last two in the place of others, where they are not NaN
        )
    ],
    align=True,
)  # fmt: skip
ENTERING, WORK, VALVE, OUTLET, FLOW, SURPLUS, OUTPUTS = range(7)
ENTHALPY, ENTROPY, LOG_VOLUME, TABLES = range(4)
