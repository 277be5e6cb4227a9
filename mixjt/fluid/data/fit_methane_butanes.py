"""Methane + n-butane and + isobutane: reducing parameters and a function of seven terms, held together by

- measured bubble pressures: May et al., J. Chem. Eng. Data 60 (2015) 3606, doi:10.1021/acs.jced.5b00610, 203
  to 273 K;
- cross second virial coefficients after Tsonopoulos, AIChE J. 20 (1974) 263, with his rule k = 1 - 8 sqrt(V1
  V2) / (V1^(1/3) + V2^(1/3))^3 for alkanes (the correlation and the rule from memory), below 250 K;
- densities and enthalpies of the gas at 250 to 350 K: those of GERG-2008 (doi:10.1021/je300655b), which was
  made for them;
- liquid volumes: of EOS-LNG (doi:10.1063/1.5093800), which was made for measured densities of liquefied
  natural gas, where methane prevails; elsewhere half-way to the correlation COSTALD (Hankinson and Thomson,
  AIChE J. 25 (1979) 653, as the library chemicals has it);
- stability: methane's fugacity rises with its share in every liquid from 95 K;
- for n-butane, as no measured series below 203 K is at hand, bubble pressures at 120 and 150 K by the cubic
  equation with group parameters E-PPR78 (Jaubert and Mutelet, Fluid Phase Equilib. 224 (2004) 285), which its
  authors fitted to others. Its group of branched alkanes is not to be trusted there, so that isobutane has
  nothing of the kind.

Exponents are ours and were not fitted. Both pairs have the same ones. Called by fit_pairs.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import least_squares

from mixjt.fluid.bubble_point import LIQUID_ROOT, VAPOUR_ROOT, bubble_point, phase_on
from mixjt.fluid.data.build_equations import pair_row as gerg_pair
from mixjt.fluid.data.build_equations import published
from mixjt.fluid.flash.coefficients import blend_record, equations
from mixjt.fluid.measured import Series
from mixjt.gases.catalogue import gas

PAPER = "doi:10.1021/acs.jced.5b00610"
SETS = {"n-butane": None, "isobutane": "methane-isobutane-refit"}  # None: the default, see docs/theory.md
# t, d, slope of n tau^t delta^d exp(-slope delta)
TERMS = (
    (1.0, 1, 1.0), (4.0, 1, 1.0), (1.0, 2, 0.5), (2.0, 2, 0.5), (3.5, 2, 1.0), (1.0, 3, 0.5), (2.0, 3, 0.5),
)  # fmt: skip
START = (0.98, 1.08, 1.0, 1.05, *([0.0] * len(TERMS)))
SCALE = (0.05,) * 4 + (0.3,) * len(TERMS)
LOG_PRESSURE_ERROR, NO_POINT = 0.006, 0.3  # NO_POINT is the residual where the model has no bubble point
VIRIAL_TEMPERATURES = (140.0, 170.0, 200.0, 230.0)
VIRIAL_ERROR, LEAST_VIRIAL_ERROR = 0.07, 12e-6  # relative, and m3/mol
VOLUME_TEMPERATURES, VOLUME_SHARES, VOLUME_PRESSURE = (100.0, 115.0, 130.0), (0.3, 0.5, 0.7, 0.9), 2e6
METHANE_RICH, RICH_ERROR, POOR_ERROR = 0.7, 0.003, 0.006
STABILITY_TEMPERATURES, STABILITY_PRESSURE = (95.0, 115.0, 150.0), 5e6
STABILITY_SHARES = (0.05, 0.15, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
LEAST_SLOPE, SLOPE_ERROR = 0.35, 0.05  # of ln fugacity by ln share, 1 in an ideal liquid
GAS_STATES = (  # K, Pa, mole fraction of methane
    (300.0, 50e5, 0.9), (300.0, 100e5, 0.9), (350.0, 100e5, 0.8), (250.0, 20e5, 0.95), (300.0, 3e5, 0.5),
    (350.0, 15e5, 0.5), (270.0, 10e5, 0.8), (300.0, 20e5, 0.8), (350.0, 50e5, 0.7), (275.0, 50e5, 0.93),
    (325.0, 6e5, 0.3),
)  # fmt: skip
DENSITY_ERROR, ENTHALPY_ERROR, LEAST_ENTHALPY_ERROR = 0.002, 0.01, 6.0  # relative, relative, J/mol
COLD_POINTS = {  # K, mole fraction of methane, bubble pressure / Pa by E-PPR78, uncertainty of its logarithm
    "n-butane": (
        (150.0, 0.1, 1.566e5, 0.04), (150.0, 0.3, 4.467e5, 0.04), (150.0, 0.5, 6.864e5, 0.04), (150.0, 0.7, 8.542e5, 0.04),
        (120.0, 0.1, 0.3529e5, 0.08), (120.0, 0.3, 0.951e5, 0.08), (120.0, 0.5, 1.382e5, 0.08),
    ),
    "isobutane": (),
}  # fmt: skip
VALUE_PENALTY = np.array([2.0] * 4 + [1.0] * len(TERMS))  # keeps them small
R = equations()["gas_constant"]


def fits(series: list[Series]) -> tuple[dict, list[dict]]:
    """Departure functions by name, and the pairs' rows."""
    functions, rows = {}, []
    for butane, name_of_set in SETS.items():
        measured = next(s for s in series if s.doi == PAPER and set(s.gases) == {"methane", butane})
        values = np.round(_fit(butane, measured), 5)
        name = f"methane + {butane}, refit"
        source = f"fitted to {PAPER}, virial coefficients, volumes of liquid and gas, and stability"
        functions[name] = {"source": source, "terms": _terms(values)}
        equations()["functions"][name] = functions[name]  # for the deviations that the caller takes
        rows.append({**_row(butane, values, name), "source": source, "set": name_of_set, "fit": {}})
    return functions, rows


def _terms(values) -> list:
    return [
        [float(n), t, d, 0, 0, 0, 0, 0, 0, slope] for n, (t, d, slope) in zip(values[4:], TERMS, strict=True)
    ]


def _row(butane, values, function) -> dict:
    named = dict(zip(("beta_t", "gamma_t", "beta_v", "gamma_v"), map(float, values[:4]), strict=True))
    return {"gas1": "methane", "gas2": butane, **named, "F": 1.0, "function": function}


def _fit(butane: str, measured: Series) -> np.ndarray:
    """Reducing parameters and coefficients of the terms."""
    virials = np.array([tsonopoulos(butane, t) for t in VIRIAL_TEMPERATURES])
    virial_errors = np.maximum(LEAST_VIRIAL_ERROR, VIRIAL_ERROR * np.abs(virials))
    volumes, volume_errors = _volume_targets(butane)
    points = list(zip(measured.temperature, measured.share, measured.pressure, strict=True))
    errors = np.array([LOG_PRESSURE_ERROR] * len(points) + [point[3] for point in COLD_POINTS[butane]])
    points += [point[:3] for point in COLD_POINTS[butane]]
    gerg = np.array([blend_record(("methane", butane), lambda *two: gerg_pair(*two, {"pairs": []}))])
    densities, enthalpies = _gas(gerg)
    enthalpy_errors = np.maximum(LEAST_ENTHALPY_ERROR, ENTHALPY_ERROR * np.abs(enthalpies))

    def residuals(values):
        equations()["functions"]["trial"] = {"terms": _terms(values)}
        record = np.array([blend_record(("methane", butane), lambda *_: _row(butane, values, "trial"))])
        bubbles = np.array([np.log(bubble_point(record, [x, 1.0 - x], t, p)[0] / p) for t, x, p in points])
        found_densities, found_enthalpies = _gas(record)
        slopes = np.concatenate([_slopes(record, t) for t in STABILITY_TEMPERATURES])
        return np.concatenate([
            np.nan_to_num(bubbles, nan=NO_POINT) / errors,
            ([cross_virial(record, t) for t in VIRIAL_TEMPERATURES] - virials) / virial_errors,
            np.nan_to_num(_volumes(record) / volumes - 1.0, nan=NO_POINT) / volume_errors,
            (found_densities / densities - 1.0) / DENSITY_ERROR,
            (found_enthalpies - enthalpies) / enthalpy_errors,
            np.minimum(slopes - LEAST_SLOPE, 0.0) / SLOPE_ERROR,
            (values - np.array([1.0] * 4 + [0.0] * len(TERMS))) * VALUE_PENALTY,
        ])  # fmt: skip

    return least_squares(residuals, START, diff_step=1e-4, x_scale=SCALE, max_nfev=60).x


def tsonopoulos(butane: str, temperature: float) -> float:
    """Cross second virial coefficient [m3/mol] of methane and a butane."""
    rows = [gas("methane"), gas(butane)]
    v1, v2 = (equations()["gases"][row.name]["reducing_volume_m3_per_mol"] for row in rows)
    mean_volume = ((v1 ** (1 / 3) + v2 ** (1 / 3)) / 2.0) ** 3
    k = 1.0 - np.sqrt(v1 * v2) / mean_volume
    critical = np.sqrt(rows[0].critical_temperature * rows[1].critical_temperature) * (1.0 - k)
    compressibility = np.mean([
        row.critical_pressure * v / R / row.critical_temperature for row, v in zip(rows, (v1, v2), strict=True)
    ])  # fmt: skip
    tr = temperature / critical
    simple = 0.1445 - 0.330 / tr - 0.1385 / tr**2 - 0.0121 / tr**3 - 0.000607 / tr**8
    acentric = 0.0637 + 0.331 / tr**2 - 0.423 / tr**3 - 0.008 / tr**8
    mean_factor = np.mean([row.acentric_factor for row in rows])
    return float(mean_volume / compressibility * (simple + mean_factor * acentric))


def cross_virial(record: np.ndarray, temperature: float) -> float:
    """Cross second virial coefficient [m3/mol] of the model, from the density of thin vapours."""
    found = []
    for x in (1.0 - 1e-9, 0.5, 1e-9):
        vapour = phase_on(record, VAPOUR_ROOT, [x, 1.0 - x], temperature, 1.0)
        found.append(np.exp(-vapour["lr"]) - R * temperature)  # at 1 Pa B is the volume less the ideal gas's
    return float(2.0 * found[1] - 0.5 * (found[0] + found[2]))


def _gas(record) -> tuple[np.ndarray, np.ndarray]:
    """Densities [mol/m3] and residual enthalpies [J/mol] of the gas states; one without vapour is far off."""
    phases = [(t, phase_on(record, VAPOUR_ROOT, [x, 1.0 - x], t, p)) for t, p, x in GAS_STATES]
    densities = [1e5 if phase is None else np.exp(phase["lr"]) for _, phase in phases]
    return np.array(densities), np.array(
        [1e5 if phase is None else phase["h"] * R * t for t, phase in phases]
    )


def _volumes(record) -> np.ndarray:
    phases = [
        phase_on(record, LIQUID_ROOT, [x, 1.0 - x], t, VOLUME_PRESSURE)
        for t in VOLUME_TEMPERATURES for x in VOLUME_SHARES
    ]  # fmt: skip
    return np.array([np.nan if phase is None else np.exp(-phase["lr"]) for phase in phases])


def _volume_targets(butane):
    """Liquid volumes [m3/mol] and their relative uncertainties."""
    published = _volumes(np.array([blend_record(("methane", butane), lambda *_: _eos_lng(butane))]))
    estimate = np.array([costald(butane, x, t) for t in VOLUME_TEMPERATURES for x in VOLUME_SHARES])
    rich = np.array([x >= METHANE_RICH for _ in VOLUME_TEMPERATURES for x in VOLUME_SHARES])
    return np.where(rich, published, 0.5 * (published + estimate)), np.where(rich, RICH_ERROR, POOR_ERROR)


def _eos_lng(butane) -> dict:
    return next(row for row in published()["pairs"] if (row["gas1"], row["gas2"]) == ("methane", butane))


def costald(butane: str, x: float, temperature: float) -> float:
    """Volume [m3/mol] of the saturated liquid by the correlation COSTALD."""
    from chemicals.volume import COSTALD_mixture, rho_data_COSTALD

    rows = [rho_data_COSTALD.loc[gas(name).cas] for name in ("methane", butane)]
    critical = [gas(name).critical_temperature for name in ("methane", butane)]
    factors = [row["omega_SRK"] for row in rows]
    return COSTALD_mixture([x, 1.0 - x], temperature, critical, [row["Vchar"] for row in rows], factors)


def _slopes(record, temperature) -> np.ndarray:
    """d ln f / d ln x of methane in liquids of all compositions; -1 where there is no liquid."""
    found = []
    for share in STABILITY_SHARES:
        sides = share - 0.01, share + 0.01
        liquids = [
            phase_on(record, LIQUID_ROOT, [x, 1.0 - x], temperature, STABILITY_PRESSURE) for x in sides
        ]
        if None in liquids:
            found.append(-1.0)
            continue
        change = liquids[1]["ln_phi"][0] - liquids[0]["ln_phi"][0]
        found.append(1.0 + change / np.log(sides[1] / sides[0]))
    return np.array(found)
