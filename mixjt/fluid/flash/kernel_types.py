"""The records of `memory` as kernels see them."""

from __future__ import annotations

from mixjt.fluid.flash.memory import BLEND_TYPE, PHASE_TYPE, WORK_TYPE
from mixjt.records import record

BLEND = record("BLEND", BLEND_TYPE)
PHASE = record("PHASE", PHASE_TYPE)
WORK = record("WORK", WORK_TYPE)
