"""Film coefficients and friction in tubes and annuli: gas or liquid, condensing and boiling blends.

All functions take arrays of shape (m,). G is the mass flux [kg/(m2 s)], D the hydraulic diameter [m], x the mass
fraction of vapour, density kg/m3, viscosity Pa s, conductivity W/(m K), heat capacity J/(kg K).

Correlations of this kind are good to 20-30 % for the fluids they were fitted to; zeotropic blends of five gases
at 100-300 K in small tubes lie at the edge of every one of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.constants import GRAVITY
from mixjt.parts.recuperator.friction import darcy_factor
from mixjt.parts.recuperator.tubes import ANNULUS, Channel

FILM_BAND = 0.25  # of a film coefficient or friction gradient, the middle of 20-30 %
LAMINAR, TURBULENT = 2300.0, 4000.0  # Reynolds numbers between which both answers are mixed
LAMINAR_TUBE = 48.0 / 11.0  # Nusselt number of a round tube with constant flux, the case of a counterflow exchanger
ROUGHNESS = 1.5e-6  # m, drawn copper: L. F. Moody, Trans. ASME 66 (1944) 671, "drawn tubing"

# Nusselt number at the inner wall of an annulus, outer wall adiabatic, laminar, constant flux, against the diameter
# ratio: Kays & Crawford, Convective Heat and Mass Transfer, table of fully developed annuli (from memory).
_ANNULUS_RATIO = np.array([0.05, 0.10, 0.20, 0.40, 0.60, 0.80, 1.00])
_ANNULUS_NUSSELT = np.array([17.81, 11.91, 8.499, 6.583, 5.912, 5.580, 5.385])


@dataclass(frozen=True)
class PhaseProperties:
    """Density, viscosity, conductivity and heat capacity of one phase at m states, each of shape (m,)."""

    density: np.ndarray
    viscosity: np.ndarray
    conductivity: np.ndarray
    heat_capacity: np.ndarray

    @property
    def prandtl(self) -> np.ndarray:
        """Prandtl number."""
        return self.viscosity * self.heat_capacity / self.conductivity


def single_phase_film(channel: Channel, flux, phase: PhaseProperties) -> np.ndarray:
    """Film coefficient [W/(m2 K)] of a gas or a liquid filling the channel.

    Laminar below Re = 2300 (4.36 in a tube, tabled for an annulus), Gnielinski above 4000, linear between as
    V. Gnielinski, Int. J. Heat Mass Transfer 63 (2013) 134 does. An annulus heated at its inner wall takes the factor
    0.86 ratio^-0.16 of B. S. Petukhov & L. I. Roizen, High Temp. 2 (1964) 65, on the hydraulic diameter. Range of
    Gnielinski: 0.5 <= Pr <= 2000, Re up to 5e6. Developing flow and curvature, which help, are left out.

    Source: V. Gnielinski, Int. Chem. Eng. 16 (1976) 359, by `ht.turbulent_Gnielinski`; friction factor after
    Petukhov for the smooth tube, f = (0.790 ln Re - 1.64)^-2.
    """
    from ht import turbulent_Gnielinski

    diameter = channel.hydraulic_diameter
    reynolds = np.asarray(flux * diameter / phase.viscosity, dtype=float)
    at = np.maximum(reynolds, TURBULENT)
    smooth = (0.790 * np.log(at) - 1.64) ** -2
    turbulent = turbulent_Gnielinski(at, phase.prandtl, smooth) * annulus_factor(channel)
    laminar = laminar_nusselt(channel)
    share = np.clip((reynolds - LAMINAR) / (TURBULENT - LAMINAR), 0.0, 1.0)
    return ((1.0 - share) * laminar + share * turbulent) * phase.conductivity / diameter


def laminar_nusselt(channel: Channel) -> float:
    """Nusselt number of fully developed laminar flow; a bundle counts as a round tube."""
    if channel.shape != ANNULUS:
        return LAMINAR_TUBE
    return float(np.interp(channel.diameter_ratio, _ANNULUS_RATIO, _ANNULUS_NUSSELT))


def annulus_factor(channel: Channel) -> float:
    """Petukhov & Roizen (1964): turbulent heat transfer at the inner wall of an annulus over that of a tube."""
    return 0.86 * channel.diameter_ratio**-0.16 if channel.shape == ANNULUS else 1.0


def condensation_film(channel: Channel, flux, x, liquid: PhaseProperties, vapour: PhaseProperties) -> np.ndarray:
    """Film coefficient [W/(m2 K)] of annular flow condensing, without mixture resistance.

    Source: A. Cavallini, J. R. Smith, R. Zecchin, Int. Heat Transfer Conf., Tokyo (1974) 309, by
    `ht.Cavallini_Smith_Zecchin`; annular flow of halogenated refrigerants in tubes of some 8-20 mm, equivalent
    Reynolds numbers 7000-53000 (ranges from memory). It overstates stratified flow of small flux. An annulus counts
    as a tube of its hydraulic diameter. Not below the laminar film of the liquid.
    """
    from ht import Cavallini_Smith_Zecchin

    diameter = channel.hydraulic_diameter
    film = Cavallini_Smith_Zecchin(
        m=_tube_flow(flux, diameter), x=x, D=diameter, rhol=liquid.density, rhog=vapour.density,
        mul=liquid.viscosity, mug=vapour.viscosity, kl=liquid.conductivity, Cpl=liquid.heat_capacity,
    )  # fmt: skip
    return np.maximum(film, laminar_nusselt(channel) * liquid.conductivity / diameter)


def boiling_film(channel: Channel, flux, x, liquid: PhaseProperties, vapour: PhaseProperties) -> np.ndarray:
    """Film coefficient [W/(m2 K)] of convective boiling, without mixture resistance.

        h = E2 h_l [1 + 1.12 (x / (1 - x))^0.75 (rho_l / rho_v)^0.41],   h_l = 0.023 Re_l^0.8 Pr_l^0.4 k_l / D

    with E2 = Fr^(0.1 - 2 Fr) where Fr = (G / rho_l)^2 / g D < 0.05, for a horizontal tube that runs only part wet.
    The term for bubble nucleation, 3000 Bo^0.86, is left out: in wide-boiling blends nucleation is suppressed and the
    coefficient hardly depends on the heat flux (from memory: measurements of P. Barraza et al., 2016). This is on the
    safe side. Not below the laminar film of the liquid. Dry-out near x = 1 is not modelled.

    Source: K. E. Gungor & R. H. S. Winterton, Chem. Eng. Res. Des. 65 (1987) 148 (coefficients from memory); fitted to
    water, refrigerants and ethylene glycol in tubes of 3-32 mm, G = 12-8179 kg/(m2 s). An annulus counts as a tube
    of its hydraulic diameter.
    """
    from ht import turbulent_Dittus_Boelter

    diameter = channel.hydraulic_diameter
    x = np.clip(x, 0.0, 1.0 - 1e-9)
    reynolds = flux * (1.0 - x) * diameter / liquid.viscosity
    alone = turbulent_Dittus_Boelter(reynolds, liquid.prandtl, True) * liquid.conductivity / diameter
    enhancement = 1.0 + 1.12 * (x / (1.0 - x)) ** 0.75 * (liquid.density / vapour.density) ** 0.41
    froude = (flux / liquid.density) ** 2 / (GRAVITY * diameter)
    wet = np.where(froude < 0.05, froude ** (0.1 - 2.0 * np.minimum(froude, 0.05)), 1.0)
    film = wet * enhancement * alone
    return np.maximum(film, laminar_nusselt(channel) * liquid.conductivity / diameter)


def mixture_resistance(channel: Channel, flux, x, vapour: PhaseProperties, slope) -> np.ndarray:
    """Resistance [m2 K/W] of the sensible heat that must pass through the vapour of a zeotropic blend.

        R = Z / h_v,   Z = x c_v dT/dh

    added to the film's 1/h of condensing and boiling alike; h_v is the film coefficient of the vapour alone in the
    channel, slope is dT/dh of the blend [K kg/J].

    Source: L. Silver, Trans. Inst. Chem. Eng. 25 (1947) 30; K. J. Bell & M. A. Ghaly, AIChE Symp. Ser. 69 (131)
    (1973) 72.
    """
    alone = single_phase_film(channel, flux * x, vapour)
    return x * vapour.heat_capacity * slope / alone


def single_phase_gradient(channel: Channel, flux, phase: PhaseProperties, roughness: float = ROUGHNESS) -> np.ndarray:
    """Pressure lost to friction per length [Pa/m], gas or liquid.

    Source: Churchill (1977), see `mixjt.parts.recuperator.friction`; in an annulus with the effective diameter of O. C. Jones &
    J. C. M. Leung, J. Fluids Eng. 103 (1981) 615.
    """
    diameter = channel.hydraulic_diameter
    reynolds = flux * diameter / phase.viscosity * annulus_reynolds_factor(channel)
    factor = darcy_factor(reynolds, roughness / diameter)
    return factor * flux**2 / (2.0 * phase.density * diameter)


def annulus_reynolds_factor(channel: Channel) -> float:
    """Jones & Leung (1981): effective over hydraulic diameter of an annulus,

    [(1 + r^2) ln r + (1 - r^2)] / [(1 - r)^2 ln r]; 2/3 for a narrow one, where laminar friction is 96/Re.
    """
    if channel.shape != ANNULUS:
        return 1.0
    r = channel.diameter_ratio
    if r > 0.98:
        return 2.0 / 3.0
    return ((1.0 + r**2) * np.log(r) + 1.0 - r**2) / ((1.0 - r) ** 2 * np.log(r))


def two_phase_gradient(
    channel: Channel, flux, x, liquid: PhaseProperties, vapour: PhaseProperties, roughness: float = ROUGHNESS
) -> np.ndarray:
    """Pressure lost to friction per length [Pa/m], liquid and vapour together.

        dp/dz = [a + 2 (b - a) x] (1 - x)^(1/3) + b x^3

    with a and b the gradients of all the flow as liquid and as vapour, by the formula above so that both ends meet.

    Source: H. Mueller-Steinhagen & K. Heck, Chem. Eng. Process. 20 (1986) 297, the same as
    `fluids.Muller_Steinhagen_Heck`, here also for annuli. Fitted to 9300 points, mostly air-water and refrigerants in
    tubes of 4-392 mm.
    """
    a = single_phase_gradient(channel, flux, liquid, roughness)
    b = single_phase_gradient(channel, flux, vapour, roughness)
    return (a + 2.0 * (b - a) * x) * np.cbrt(1.0 - x) + b * x**3


def fin_efficiency(channel: Channel, film) -> np.ndarray:
    """Share of a soldered tube's perimeter that counts: tanh(m W) / (m W), m = (h / k t)^(1/2), W the fin's height.

    Source: straight fin with adiabatic tip, Incropera & DeWitt, chapter 3 (from memory).
    """
    reach = np.sqrt(np.asarray(film) / channel.fin_sheet) * channel.fin_height
    return np.where(reach > 1e-6, np.tanh(reach) / np.maximum(reach, 1e-6), 1.0)


def _tube_flow(flux, diameter: float):
    """Flow [kg/s] that gives a round tube of this diameter the mass flux."""
    return flux * 0.25 * np.pi * diameter**2
