"""What the whole charge would do if it leaked into the room, and published limits of flammable charges.

Evenly mixed, amounts n_i in the room's air at T and p come to the shares x_i = n_i R T / (p V) of it, and by Le
Chatelier's rule the mixture reaches the lower flammable limit where sum x_i / L_i = 1 (the inert gases only dilute,
which errs to the safe side). That sum is told. Heavy gas gathers at the floor and gets there sooner.

The limits of standards count the whole refrigerant, m, with its lower flammable limit LFL [kg/m3] at 25 degC and one
atmosphere:

- household refrigerators, IEC 60335-2-24: 150 g (from memory);
- commercial appliances, IEC 60335-2-89:2019: 13 m3 LFL, at most 1.2 kg (from memory; the Institute of Refrigeration,
  ior.org.uk, tells of about 500 g for hydrocarbons and 1.2 kg at the most);
- heat pumps and air conditioners, IEC 60335-2-40, in any room: 4 m3 LFL (from memory); in a room of floor A:
  2.5 LFL^(5/4) h0 sqrt(A) where that is more, at most 26 m3 LFL, h0 the height [m] of the release, at least 0.6 m
  (as the installation manual of the heat pump Panasonic WH-ADC0309K3E5 has it; the greatest mass from memory);
- EN 378-1, the practical limit: 0.2 LFL V (from memory).

None of these standards is made for such a machine; they show what is thought bearable elsewhere. Local codes decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.constants import ATMOSPHERE, GAS_CONSTANT, REFERENCE_TEMPERATURE
from mixjt.gases import gas
from mixjt.studies.charge.charge_request import ChargeRequest

HOUSEHOLD = 0.150  # kg
ANY_ROOM, COMMERCIAL, GREATEST = 4.0, 13.0, 26.0  # m3, times the lower flammable limit
COMMERCIAL_MOST = 1.2  # kg
PRACTICAL = 0.2  # of the lower flammable limit
BURNS = 1.0  # of the lower flammable limit


@dataclass(frozen=True)
class ChargeLimit:
    """A published limit: of what, and the mass [kg]; None where it needs a room that is not stated."""

    name: str
    mass: float | None


@dataclass(frozen=True)
class LeakedCharge:
    """mass [kg] of all and flammable_mass of what burns; lower_limit of the blend [kg/m3]; share of it in the room.

    lower_limit is None where nothing burns, room_share where no room is stated either.
    """

    mass: float
    flammable_mass: float
    lower_limit: float | None
    room_share: float | None
    limits: tuple[ChargeLimit, ...]


def leaked(gases: Sequence[str], amounts, request: ChargeRequest) -> LeakedCharge:
    """The whole charge, amounts (c,) [mol] of gases, let into the room."""
    entries, amounts = [gas(name) for name in gases], np.asarray(amounts, dtype=float)
    masses = amounts * [entry.molar_mass for entry in entries]
    burning = np.array([entry.flammable for entry in entries])
    reciprocal = math.fsum(n / one.lower_flammable_limit for n, one in zip(amounts, entries) if one.flammable)
    if reciprocal == 0.0:
        return LeakedCharge(float(masses.sum()), 0.0, None, None, ())
    per_volume = ATMOSPHERE / (GAS_CONSTANT * REFERENCE_TEMPERATURE)
    lower_limit = float(masses.sum()) / reciprocal * per_volume
    share = None
    if request.room_volume is not None:
        air = request.atmosphere * request.room_volume / (GAS_CONSTANT * request.bench_temperature)
        share = reciprocal / air
    return LeakedCharge(
        float(masses.sum()), float(masses[burning].sum()), lower_limit, share, charge_limits(lower_limit, request)
    )


def charge_limits(lower_limit: float, request: ChargeRequest) -> tuple[ChargeLimit, ...]:
    """The limits of published standards for a refrigerant of a lower flammable limit [kg/m3]."""
    practical = in_room = None
    if request.room_volume is not None:
        floor = request.room_volume / request.room_height
        formula = 2.5 * lower_limit**1.25 * request.release_height * math.sqrt(floor)
        in_room = min(max(formula, ANY_ROOM * lower_limit), GREATEST * lower_limit)
        practical = PRACTICAL * lower_limit * request.room_volume
    return (
        ChargeLimit("household refrigerators, IEC 60335-2-24", HOUSEHOLD),
        ChargeLimit("commercial refrigerators, IEC 60335-2-89", min(COMMERCIAL * lower_limit, COMMERCIAL_MOST)),
        ChargeLimit("air conditioners in any room, IEC 60335-2-40", ANY_ROOM * lower_limit),
        ChargeLimit("air conditioners in this room, IEC 60335-2-40", in_room),
        ChargeLimit("20 % of the lower flammable limit, EN 378-1", practical),
    )


def leak_warnings(leak: LeakedCharge) -> list[str]:
    """What the room makes of the charge, and which published limits it passes."""
    if leak.lower_limit is None:
        return []
    found, percent = [], f"{100.0 * (leak.room_share or 0.0):.3g} % of the lower flammable limit"
    if leak.room_share is None:
        found.append("the flammable charge is not held against the room: state room_volume in [bench]")
    elif leak.room_share >= BURNS:
        found.append(f"if all of it leaked, the whole room could burn, at {percent}: charge less, or run it outdoors")
    elif leak.room_share > PRACTICAL:
        found.append(f"if all of it leaked, the room would come to {percent}, above 20 %: a larger room or less charge")
    passed = [limit.name for limit in leak.limits if limit.mass is not None and leak.mass > limit.mass]
    return found + ([f"the charge is more than allowed to {'; '.join(passed)}"] if passed else [])
