"""How much of a tube vapour fills where vapour and liquid flow together: void fraction by the slip between them.

a = 1 / (1 + S (1 - X)/X rho_v/rho_l), with X the mass quality and S the velocity of the vapour over that of the liquid.
Which S holds depends on the pattern of flow, which nobody knows inside a small coil (D. Butterworth, Int. J. Multiphase Flow
1 (1975) 845, shows that most correlations have this form; from memory).
"""

from __future__ import annotations

import numpy as np

from mixjt.constants import GRAVITY
from mixjt.errors import InputError

NONE, ZIVI, ROUHANI = "none", "Zivi", "Rouhani-Axelsson"
SLIPS = (NONE, ZIVI, ROUHANI)


def slip_ratio(
    kind: str, quality, vapour_density, liquid_density, mass_flux=None, surface_tension=None
) -> np.ndarray:
    """Velocity of the vapour over that of the liquid.

    Parameters
    ----------
    kind : str
        One of SLIPS: the phases flow together; the least flow of kinetic energy, S = (rho_l/rho_v)**(1/3) (S. M. Zivi,
        J. Heat Transfer 86 (1964) 247, doi:10.1115/1.3687113); a drift of the vapour through the mixture (S. Z. Rouhani
        & E. Axelsson, Int. J. Heat Mass Transfer 13 (1970) 383, doi:10.1016/0017-9310(70)90114-6), see `_rouhani`.
    quality : array
        Mass of vapour that flows, over all that flows, in [0, 1].
    vapour_density, liquid_density : array
        [kg/m3]
    mass_flux : array
        [kg/(m2 s)], for the drift only.
    surface_tension : array
        [N/m], for the drift only.

    Raises
    ------
    InputError
        For an unknown kind, a vapour denser than its liquid, and a drift without what it needs.
    """
    quality, vapour, liquid = np.broadcast_arrays(*(np.asarray(each, float) for each in (quality, vapour_density, liquid_density)))
    _check(kind, quality, vapour, liquid)
    if kind == NONE:
        return np.ones(quality.shape)
    if kind == ZIVI:
        return np.cbrt(liquid / vapour)
    if mass_flux is None or surface_tension is None:
        raise InputError(f"the slip {ROUHANI} needs a mass flux and a surface tension; without them take {ZIVI} or {NONE}")
    return _rouhani(quality, vapour, liquid, np.asarray(mass_flux, float), np.asarray(surface_tension, float))


def void_fraction(
    kind: str, quality, vapour_density, liquid_density, mass_flux=None, surface_tension=None
) -> np.ndarray:
    """Share of the volume that vapour fills; 0 and 1 where only one phase flows. Parameters and errors as `slip_ratio`."""
    slip = slip_ratio(kind, quality, vapour_density, liquid_density, mass_flux, surface_tension)
    quality, vapour, liquid = (np.asarray(each, float) for each in (quality, vapour_density, liquid_density))
    return quality * liquid / (quality * liquid + slip * (1.0 - quality) * vapour)


def _rouhani(quality, vapour, liquid, flux, tension) -> np.ndarray:
    """The slip that follows from the drift, in its form for horizontal tubes.

    a = (X/rho_v) / (C0 (X/rho_v + (1 - X)/rho_l) + u/G), C0 = 1 + 0.12 (1 - X) and
    u = 1.18 (1 - X) (g sigma (rho_l - rho_v))**(1/4) / rho_l**(1/2): D. Steiner, VDI Heat Atlas (1993), chapter Hbb, as
    the library `fluids` has it. Set equal to the a of the module the factor 1 - X of the drift cancels:
    S = 1 + 0.12 (X rho_l/rho_v + 1 - X) + 1.18 (g sigma (rho_l - rho_v))**(1/4) rho_l**(1/2) / G.
    """
    if np.any(~(flux > 0.0)) or np.any(~(tension >= 0.0)):
        raise InputError(f"the slip {ROUHANI} needs a mass flux above 0 and a surface tension of at least 0")
    drift = 1.18 * (GRAVITY * tension * (liquid - vapour)) ** 0.25 * np.sqrt(liquid) / flux
    return 1.0 + 0.12 * (quality * liquid / vapour + 1.0 - quality) + drift


def _check(kind: str, quality, vapour, liquid) -> None:
    if kind not in SLIPS:
        raise InputError(f"slip {kind!r} is not one of {', '.join(SLIPS)}")
    if not np.all((quality >= 0.0) & (quality <= 1.0)):
        raise InputError("a quality lies between 0 and 1")
    if not np.all((vapour > 0.0) & (liquid >= vapour) & np.isfinite(liquid)):
        raise InputError("a liquid is at least as dense as its vapour, and both weigh something")
