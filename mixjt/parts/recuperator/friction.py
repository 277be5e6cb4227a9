"""Friction in a tube: the factor of Darcy, and one viscosity for a homogeneous mixture of liquid and vapour."""

from __future__ import annotations

import numpy as np


def darcy_factor(reynolds, relative_roughness) -> np.ndarray:
    """Darcy's friction factor, laminar, turbulent and between; arrays or numbers.

    f = 8 [ (8/Re)^12 + (A + B)^(-3/2) ]^(1/12),  A = [2.457 ln 1/((7/Re)^0.9 + 0.27 e/D)]^16,
    B = (37530/Re)^16

    Source: S. W. Churchill, Chem. Eng. 84 (24) (1977) 91; the same as `fluids.friction.Churchill_1977`, here
    on whole arrays because a march needs it hundreds of times.
    """
    reynolds = np.asarray(reynolds, dtype=float)
    a = (2.457 * np.log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * relative_roughness))) ** 16
    b = (37530.0 / reynolds) ** 16
    return 8.0 * ((8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)


def mcadams_viscosity(quality, liquid, vapour, liquid_volume, vapour_volume):
    """1/mu = x/mu_v + (1 - x)/mu_l: W. H. McAdams, W. K. Woods, L. C. Heroman, Trans. ASME 64 (1942) 193.

    quality is the mass fraction of vapour, viscosities in Pa s, volumes in m3/kg (not used here).
    """
    return 1.0 / (quality / vapour + (1.0 - quality) / liquid)


def cicchitti_viscosity(quality, liquid, vapour, liquid_volume, vapour_volume):
    """mu = x mu_v + (1 - x) mu_l: A. Cicchitti et al., Energia Nucleare 7 (1960) 407. Arguments as above."""
    return quality * vapour + (1.0 - quality) * liquid


def dukler_viscosity(quality, liquid, vapour, liquid_volume, vapour_volume):
    """mu = (x v_v mu_v + (1 - x) v_l mu_l) / v: A. E. Dukler, M. Wicks, R. G. Cleveland, AIChE J. 10 (1964) 44.

    Arguments as above.
    """
    parts = quality * vapour_volume, (1.0 - quality) * liquid_volume
    return (parts[0] * vapour + parts[1] * liquid) / (parts[0] + parts[1])


TWO_PHASE_VISCOSITIES = {
    "McAdams": mcadams_viscosity,
    "Cicchitti": cicchitti_viscosity,
    "Dukler": dukler_viscosity,
}
