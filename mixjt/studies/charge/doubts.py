"""How far what is not known of slip and oil may shift the charge, and what the charge then does.

Each doubt is one way in which the machine may be other than counted. The charge that its circuit needs for the same blend
follows at once; and with the charge as planned the machine settles otherwise (`mixjt.circuit.settled`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from mixjt.circuit.fixed_machine import FixedMachine, Settled
from mixjt.circuit.inventory import Inventory, contained
from mixjt.circuit.result import CircuitResult
from mixjt.errors import MixjtError
from mixjt.interrupt import happened, keeping
from mixjt.parts.slip import NONE, ROUHANI, SLIPS, ZIVI
from mixjt.studies.charge.top_up import settled_or_none

COUNTED = "as counted"
NAMES = {NONE: "without slip", ZIVI: "Zivi's slip", ROUHANI: "Rouhani-Axelsson's slip"}


@dataclass(frozen=True)
class Doubt:
    """What may be; what the circuit holds with the blend in circulation then, and how it settles with the planned charge.

    None where the circuit would hold no end of it, or settles nowhere.
    """

    name: str
    wanted: Inventory | None
    settled: Settled | None


def hold_up_doubts(
    result: CircuitResult, machine: FixedMachine, progress: Callable[[int, int], None] | None = None
) -> tuple[Doubt, ...]:
    """The machine as counted, with another slip, and with half and double the oil.

    Parameters
    ----------
    result : CircuitResult
        With the blend that is to circulate.
    machine : FixedMachine
        With the planned charge.
    progress : function, optional
        Called with done and total.
    """
    if happened():
        return ()
    filled, volumes, oil = contained(result), machine.volumes, machine.oil
    slips = [slip for slip in SLIPS if slip != volumes.slip and (slip != ROUHANI or volumes.high_area)]
    ways = [(COUNTED, machine)]
    ways += [(NAMES[slip], replace(machine, volumes=replace(volumes, slip=slip))) for slip in slips]
    if oil is not None and oil.mass > 0.0:
        ways += [(f"{name} the oil", replace(machine, oil=oil.times(factor))) for name, factor in (("half", 0.5), ("double", 2.0))]
    found, base = [], None
    with keeping():
        for number, (name, way) in enumerate(ways):
            if progress:
                progress(number, len(ways))
            settled = settled_or_none(result.fluid, way, result.cold_temperature, base)
            base = base or settled
            found.append(Doubt(name, _wanted(filled, way), settled))
    return tuple(found)


def _wanted(filled, machine: FixedMachine) -> Inventory | None:
    try:
        return filled.inventory(machine.volumes, machine.oil)
    except MixjtError:
        return None
