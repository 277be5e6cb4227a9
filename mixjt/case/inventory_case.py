"""From a case's tables [volumes] and [charge] to what its circuit holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from mixjt.case.read import CaseFile, read
from mixjt.case.recuperator_case import tube_contents
from mixjt.circuit.inventory import Volumes
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError

if TYPE_CHECKING:
    from mixjt.case.case import Case

SIDES = {"high": "recuperator_high", "low": "recuperator_low"}


def case_volumes(case: CaseFile, circuit: ThrottleCircuit | None = None) -> Volumes | None:
    """The volumes of a circuit, by default the case's, those of the recuperator from its tubes where they are not stated; None without [volumes].

    Raises
    ------
    InputError
        Where the recuperator's are neither stated nor known from tubes of a stated length.
    """
    values = case.tables["volumes"]
    if values is None:
        return None
    missing, circuit = [key for key in SIDES.values() if values[key] is None], circuit or case.circuit
    if missing and not circuit.of_stated_length:
        raise InputError(
            f"{case.place('volumes').at()}: {missing[0]} is missing; state it, or the tubes in [recuperator_tubes] with a length"
        )
    coil = circuit.coil
    held = tube_contents(coil.tubes, coil.length) if missing else {}
    filled = {side: held["volumes", key] for side, key in SIDES.items() if key in missing}
    if coil is not None:
        filled |= {"high_area": coil.tubes.high.flow_area, "low_area": coil.tubes.low.flow_area}
    return read(Volumes, case, **filled)


def charged_amounts(case: Case, gases: tuple[str, ...]) -> np.ndarray:
    """What has been weighed in (c,) [mol] of these gases, among which all of [charge] are.

    Raises
    ------
    InputError
        Where the case states no volumes, on which it depends what circulates of a charge.
    """
    if case.tables["volumes"] is None:
        raise InputError(f"{case.file}: what circulates of [charge] depends on the volumes of the circuit: state them in [volumes]")
    return np.array([case.charge.get(name, 0.0) for name in gases])
