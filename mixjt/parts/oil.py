"""Gas dissolved in the oil of the compressor's shell: Flory-Huggins solution of several gases.

    ln f_i = ln phi_i + 1 - V_i/V_m + V_i (d_i - D)**2/(R T) + ln f_i,liquid,    D = sum of phi_j d_j

phi_i is the volume fraction of a gas in the solution, V_i the volume that a mole of it takes up there, 1/V_m the sum
of phi_j/V_j over gases and oil, f_i,liquid the fugacity of the gas as a liquid (`mixjt.fluid.liquid_fugacity`). d_i is
how far the gas falls short of the oil's cohesion (solubility parameter): of one gas the term is chi (1 - phi)**2 with
chi = V d**2/(R T), and between gases it is that of regular solutions, so that the whole follows from one Gibbs energy
of mixing. Sources: P. J. Flory, Principles of Polymer Chemistry (1953), chapter 12; J. H. Hildebrand & R. L. Scott,
Regular Solutions (1962); both from memory.

d_i is fitted, gas by gas, to the measured solubility in n-hexadecane at 298.15 K, the clean substance nearest to a
mineral oil. What cohesion oils have beyond it is fitted for an ester and isobutane, and assumed for the others. Oils of
one name differ, and what the oil of a salvaged machine is nobody knows: count with half and double.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from mixjt.bounds import require_fields
from mixjt.constants import ATMOSPHERE, GAS_CONSTANT, REFERENCE_TEMPERATURE
from mixjt.errors import ConvergenceError, InputError, MissingDataError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.liquid_fugacity import liquid_volumes, log_liquid_fugacities
from mixjt.fluid.states import phase_log_fugacities
from mixjt.keys import TEXT, key
from mixjt.parts.compressor.compression import Compressor


@dataclass(frozen=True)
class OilKind:
    """What is known of an oil: density [kg/m3], molar mass [kg/mol], cohesion beyond that of n-hexadecane [Pa**0.5]."""

    density: float
    molar_mass: float
    cohesion: float


# The ester is one of ISO 7: its cohesion fitted to isobutane in it, of which M. A. Marcelino Neto & J. R. Barbosa,
# Int. J. Refrigeration 31 (2008) 34, doi:10.1016/j.ijrefrig.2007.08.004, give an equation of state (tests/test_oil.py);
# its molar volume from the co-volume there, as hexadecane's compare; its density assumed. Alkylbenzene has the molar mass of 2-phenyldodecane, as which the same
# authors' oil of ISO 5 is catalogued (Fluid Phase Equilib. 292 (2010) 7, doi:10.1016/j.fluid.2009.12.029). Densities and
# the mineral oil's molar mass: common practice, no source. The cohesion of these two is assumed, between hexadecane and ester.
OIL_KINDS = {
    "mineral": OilKind(870.0, 0.300, 0.3e3),
    "alkylbenzene": OilKind(855.0, 0.246, 0.5e3),
    "polyolester": OilKind(920.0, 0.345, 0.9e3),
}
HEXADECANE = OilKind(770.1, 0.22644, 0.0)  # at 298.15 K, handbooks

# log10 of moles a litre in n-hexadecane over moles a litre in the gas, infinite dilution, 298.15 K. Alkanes and alkenes:
# read in an open library of solute descriptors, which names "Abraham, J. Chem. Soc. 1994" as their source; the others
# from memory, those of the least sure.
IN_HEXADECANE = {
    "methane": -0.323, "ethane": 0.492, "propane": 1.050, "n-butane": 1.615, "isobutane": 1.409, "n-pentane": 2.162,
    "isopentane": 2.013, "ethylene": 0.289, "propylene": 0.946,
    "neon": -1.575, "nitrogen": -0.978, "oxygen": -0.723, "argon": -0.688, "krypton": -0.211, "carbon dioxide": 0.058,
    "tetrafluoromethane": -0.817, "trifluoromethane": -0.36,
}  # fmt: skip

# Oil of small hermetic machines: volume [m3] = first + second times displacement, and whether the shell is full of discharge
# gas. Common practice, no source: 200 to 350 cm3 in machines of 5 to 12 cm3, a litre or more in scrolls of 40 cm3.
USUAL_VOLUME = {"reciprocating": (150e-6, 15.0), "rotary": (150e-6, 20.0), "scroll": (300e-6, 25.0)}
AT_DISCHARGE = ("rotary",)
NEEDS_ESTER = ("R-134a", "R-404A", "R-407C", "R-410A", "R-32", "R-1234yf", "R-23")  # their machines come with it

TOLERANCE, ROUNDS = 1e-12, 60
LONGEST_STEP = 2.0  # in the logarithm of an amount
LARGEST_RATIO = 9.0  # of the gas's volume to the oil's: beyond it, it is liquid gas with some oil in it
VANISHING = 1e-4  # of the oil's volume to the solution's, on the way to no end
LEAST_BEYOND = 0.8  # of the sum of activities, 1 where the gas condenses, with which that can be
WARMER = "keep the shell warmer (crankcase heater, run before weighing in more), or charge less of the heavy gases"


@dataclass(frozen=True)
class Oil:
    """The oil in the compressor.

    interaction is chi of every gas with the oil; None lets it follow from the kind and each gas.

    Raises
    ------
    InputError
        For a value out of its range.
    """

    kind: str = key(
        TEXT, "what the oil is", choices=tuple(OIL_KINDS), otherwise="by the refrigerant of [rating], else mineral"
    )
    mass: float = key("mass", "how much of it", within="[0, 5]", otherwise="from volume, or by type and displacement")
    interaction: float | None = key(
        "number", "Flory-Huggins parameter of every gas with it, where you know one", default=None, within="[0, 3]",
        otherwise="by kind and gas",
    )

    def __post_init__(self):
        if self.kind not in OIL_KINDS:
            raise InputError(f"oil kind {self.kind!r} is not one of {', '.join(OIL_KINDS)}")
        require_fields(self, "oil", ("mass",), least=0.0)
        require_fields(self, "oil", ("interaction",), optional=True, least=0.0, most=3.0)

    @property
    def volume(self) -> float:
        """Without gas in it [m3]."""
        return self.mass / OIL_KINDS[self.kind].density

    def times(self, factor: float) -> Oil:
        """The same oil, more or less of it."""
        return replace(self, mass=factor * self.mass)


def usual_oil(compressor: Compressor, refrigerant: str | None = None) -> Oil:
    """What such a compressor comes with: the usual amount, of ester for the refrigerants that need it, else mineral."""
    kind = "polyolester" if refrigerant in NEEDS_ESTER else "mineral"
    first, by_displacement = USUAL_VOLUME[compressor.kind]
    return Oil(kind, oil_mass(kind, first + by_displacement * compressor.displacement))


def oil_mass(kind: str, volume: float) -> float:
    """Mass [kg] of a volume [m3] of an oil."""
    return OIL_KINDS[kind].density * volume


def shell_pressure(compressor: Compressor, suction_pressure: float, discharge_pressure: float) -> float:
    """Pressure over the oil [Pa]: that of the side whose gas fills the shell of such a machine."""
    return discharge_pressure if shell_at_discharge(compressor) else suction_pressure


def shell_at_discharge(compressor: Compressor) -> bool:
    """Whether the shell of such a machine is full of discharge gas."""
    return compressor.kind in AT_DISCHARGE


def dissolved(oil: Oil, fluid: Fluid, temperature: float, pressure: float) -> np.ndarray:
    """Gas that the oil holds under a blend that stands over it.

    Parameters
    ----------
    oil : Oil
    fluid : Fluid
        The gas over the oil, which the oil does not change.
    temperature, pressure : float
        Of the shell [K], [Pa].

    Returns
    -------
    array (c,)
        Amounts of the fluid's gases [mol].

    Raises
    ------
    InputError, MissingDataError
        For a gas whose solubility is not known, and a property model without fugacities.
    UnreachableError
        Where the blend condenses in the shell, or the oil would take up gas without limit.
    ConvergenceError
    """
    if oil.mass == 0.0:
        return np.zeros(len(fluid.gases))
    state = fluid.tp(temperature, pressure)
    if state.liquids:
        raise UnreachableError(
            f"the blend condenses in the compressor's shell at {temperature:.5g} K and {pressure / 1e5:.4g} bar: liquid "
            f"and oil mix in any proportion; {WARMER}"
        )
    return dissolved_under(oil, fluid.gases, phase_log_fugacities(state.phases[0], pressure), temperature, pressure)


def dissolved_under(oil: Oil, gases: Sequence[str], log_fugacities, temperature: float, pressure: float) -> np.ndarray:
    """The same from ln(f/Pa) (c,) of the gases over the oil, minus infinity of an absent one."""
    amounts, logs = np.zeros(len(gases)), np.asarray(log_fugacities, dtype=float)
    if np.any(np.isnan(logs)):
        raise MissingDataError("the property model has no fugacities, which the gas in the oil follows from")
    there = np.flatnonzero(np.isfinite(logs))
    if oil.mass == 0.0 or there.size == 0:
        return amounts
    present = tuple(gases[i] for i in there)
    volumes = liquid_volumes(present)
    activities = logs[there] - log_liquid_fugacities(present, temperature, pressure)
    ratios = volume_ratios(activities, volumes, _contrasts(oil, present, temperature), _molar_volume(OIL_KINDS[oil.kind]))
    amounts[there] = ratios * oil.volume / volumes
    return amounts


def solution_volume(oil: Oil, gases: Sequence[str], amounts) -> float:
    """Volume of the oil with the gas in it [m3], amounts (c,) [mol]."""
    return oil.volume + float(liquid_volumes(gases) @ amounts)


def volume_ratios(log_activities, volumes, contrasts, oil_volume: float) -> np.ndarray:
    """Volumes of the dissolved gases over that of the oil (c,), by Newton's method on their logarithms.

    From the dilute limit, which lies below: of one gas the activity is a concave function of the logarithm, so
    that every step stays below the solution. contrasts are d/(R T)**0.5.

    With u = ln r and phi_o = 1/(1 + sum r): d phi_j/d u_k = phi_j (delta_jk - phi_k).
    """
    u = log_activities - 1.0 + volumes / oil_volume - volumes * contrasts**2
    for _ in range(ROUNDS):
        ratios = np.exp(u)
        share = 1.0 / (1.0 + ratios.sum())  # of the oil
        phi = ratios * share
        inverse = phi @ (1.0 / volumes) + share / oil_volume
        short = contrasts - phi @ contrasts
        miss = u + math.log(share) + 1.0 - volumes * inverse + volumes * short**2 - log_activities
        # slopes of -V_i/V_m and V_i (d_i - D)**2 with u_k, over -phi_k
        slopes = 1.0 + np.outer(volumes, 1.0 / volumes - inverse) + np.outer(2.0 * volumes * short, short)
        step = np.linalg.solve(np.eye(u.size) - slopes * phi, -miss)
        u = u + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
        if share < VANISHING:
            break
        if np.max(np.abs(step)) < TOLERANCE:
            if ratios.sum() <= LARGEST_RATIO:
                return np.exp(u)
            break
    if np.exp(log_activities).sum() < LEAST_BEYOND:
        raise ConvergenceError("gas dissolved in the oil", WARMER, activities=np.exp(log_activities).round(4).tolist())
    raise UnreachableError(f"the oil would take up more than {LARGEST_RATIO:g} times its own volume of gas; {WARMER}")


def _contrasts(oil: Oil, gases: tuple[str, ...], temperature: float) -> np.ndarray:
    """d/(R T)**0.5 (c,) of gases in an oil [(mol/m3)**0.5]; below 0 as a gas has less of cohesion."""
    if oil.interaction is not None:
        return -np.sqrt(oil.interaction / liquid_volumes(gases))
    return (_shortfalls(gases) - OIL_KINDS[oil.kind].cohesion) / math.sqrt(GAS_CONSTANT * temperature)


@cache
def _shortfalls(gases: tuple[str, ...]) -> np.ndarray:
    """Cohesion of gases less that of n-hexadecane (c,) [Pa**0.5], from their solubility in it at infinite dilution."""
    heat = GAS_CONSTANT * REFERENCE_TEMPERATURE
    volumes, solvent = liquid_volumes(gases), _molar_volume(HEXADECANE)
    fugacities = np.exp(log_liquid_fugacities(gases, REFERENCE_TEMPERATURE, ATMOSPHERE))
    partition = 10.0 ** np.array([IN_HEXADECANE[name] for name in gases])
    interaction = np.log(heat / (volumes * fugacities * partition)) - 1.0 + volumes / solvent
    return -np.sqrt(interaction * heat / volumes)


def _molar_volume(kind: OilKind) -> float:
    """[m3/mol]"""
    return kind.molar_mass / kind.density
