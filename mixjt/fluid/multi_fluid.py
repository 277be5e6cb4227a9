"""The property model: multi-fluid Helmholtz energies of GERG-2008's form, our own flash.

Enthalpy and entropy are residuals of the multi-fluid equations on top of the catalogue's ideal-gas heat
capacities. Coefficients and their sources: data/equations.json.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from functools import cache

import numpy as np

from mixjt.constants import REFERENCE_PRESSURE
from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid import saturation
from mixjt.fluid import soundness as sound
from mixjt.fluid.flash import columns, engine, quantities
from mixjt.fluid.flash.coefficients import ENDS, blend_record, equations
from mixjt.fluid.ideal_gas import IdealGases
from mixjt.fluid.invert import state_on_isobar
from mixjt.fluid.mixed_state import assemble_state
from mixjt.fluid.pair_sets import pair_function
from mixjt.fluid.states import LIQUID, VAPOUR, Phase, PropertyModel, State, Sweep
from mixjt.gases.catalogue import gas, resolve_name
from mixjt.workers import in_threads

NAME = "multi-fluid"
LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE = 60.0, 600.0  # K, span of the ideal-gas heat capacities
HIGHEST_PRESSURE = 5e7  # Pa
PER_THREAD = 256  # states; for fewer another thread costs more than it saves
FLASH_HINT = "try a slightly different temperature or pressure"


class MultiFluidModel(PropertyModel):
    """Multi-fluid Helmholtz energies bound to a tuple of gases; implements PropertyModel.

    Parameters
    ----------
    gases : sequence of str
    threads : int, optional
        Threads for batches; all processors by default.
    check_span : float
        Kelvin between stability tests of the phases followed along a sweep; negative tests every point.
    pairs : str, optional
        A set of other pair parameters (mixjt.fluid.pair_sets), whose name the model then bears.

    Attributes
    ----------
    notes : tuple of str
        What weakens the model for these gases: estimated pairs, pairs without a departure function.

    Raises
    ------
    UnknownGasError
    InputError
        From every method, for fractions, temperatures or pressures that make no sense.
    ConvergenceError
        From every method, where no solver reached its tolerance.
    """

    def __init__(
        self, gases: Sequence[str], threads: int | None = None, check_span: float = 16.0, pairs: str | None = None
    ):
        self.name = pairs or NAME
        self._pairs = pair_function(pairs)
        self.gases = _distinct_names(gases)
        self.threads = threads or os.cpu_count() or 1
        self.check_span = check_span
        self.temperature_span = (LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE)
        rows = [gas(name) for name in self.gases]
        self.molar_masses = np.array([row.molar_mass for row in rows])
        self.notes = sound.notes(self.gases)
        self._ideal = IdealGases([row.ideal_cp for row in rows])
        self._records: dict[tuple[int, ...], np.ndarray] = {}
        self._last_limits = saturation.LastLimits(lambda z, pressure: saturation.temperature_limits(self, z, pressure))

    def __reduce__(self):
        """In another process the model is made anew, once."""
        return _made_once, (self.gases, self.threads, self.check_span, None if self.name == NAME else self.name)

    def sweep(self, z, pressures, temperatures, strict: bool = True, gradients: bool = False) -> Sweep:
        """States of n blends (n, c) at m temperatures, (m,) or (n, m); pressures broadcast to (n, m).

        A state that could not be solved raises, or is NaN with no phases where strict is False. gradients asks for
        the slopes with respect to the amounts of the gases; their error is of the order of 1e-4.
        """
        z = self._checked_fractions(np.atleast_2d(z))
        temperatures = self._checked_temperatures(np.atleast_1d(temperatures))
        shape = (z.shape[0], temperatures.shape[-1])
        pressures, places = _checked_pressures(_filled(pressures, shape)), _filled(temperatures, shape)
        raw, by_amount = self._raw_sweep(z, pressures, places, gradients)
        if strict:
            self._refuse_failures(raw, z, pressures, places)
        ideal = self._ideal.at(temperatures)
        states = self._in_units(raw, ideal, z, pressures, temperatures)
        return self._with_slopes(states, by_amount, ideal, z, pressures, temperatures) if gradients else states

    def isotherm(self, z, temperature: float, pressures) -> Sweep:
        """States of one blend at one temperature and many pressures (m,); arrays of shape (1, m)."""
        pressures = np.atleast_1d(np.asarray(pressures, dtype=float))
        swept = self.sweep(np.tile(z, (pressures.size, 1)), pressures[:, None], np.array([temperature]))
        kept = {name: array.T for name, array in vars(swept).items() if array is not None}
        return replace(swept, **kept)

    def log_fugacities(self, z, temperatures, pressures) -> np.ndarray:
        """ln(f/Pa) (n, c) of blends z (n, c) at temperatures [K] and pressures [Pa] (n,); NaN where unsolved.

        Minus infinity for an absent gas. A path of one blend is followed, which is quicker than state by state.
        """
        z, temperatures, pressures = np.asarray(z, float), np.asarray(temperatures, float), np.asarray(pressures, float)
        if len(z) > 1 and np.all(z == z[0]):
            return self.sweep(z[0], pressures[None], temperatures, False, True).log_fugacities[0]
        return self.sweep(z, pressures[:, None], temperatures[:, None], False, True).log_fugacities[:, 0]

    def state_tp(self, z, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]."""
        z = self._checked_fractions(z)
        temperature, pressure = float(self._checked_temperatures(temperature)), float(_checked_pressures(pressure))
        present, record = self._present(z)
        out = np.empty((1, columns.OUTPUTS + len(present)))
        work = self._solve(present, record, z, np.array([temperature]), np.array([pressure]), out, engine.EXACT)
        count = int(out[0, columns.PHASES])
        if count == 0:
            self._fail("flash at temperature and pressure", temperature, pressure, z)
        fractions = work["total"][:count] / work["total"][:count].sum()
        densest = int(np.argmax(work["lr"][:count]))
        ideal = self._ideal.at(temperature)
        phases = [
            self._phase(present, ideal, work["phase"][k], work["lr"][k], fractions[k], pressure, count > 1, k == densest)
            for k in range(count)
        ]
        return assemble_state(temperature, pressure, z, phases)

    def state_hp(self, z, enthalpy: float, pressure: float) -> State:
        """State at enthalpy [J/mol] and pressure [Pa]; raises UnreachableError outside the span."""
        return state_on_isobar(self, z, "enthalpy", enthalpy, pressure)

    def state_sp(self, z, entropy: float, pressure: float) -> State:
        """State at entropy [J/(mol K)] and pressure [Pa]; raises UnreachableError outside the span."""
        return state_on_isobar(self, z, "entropy", entropy, pressure)

    def bubble_temperature(self, z, pressure: float) -> float:
        """Temperature [K] of the first vapour on heating; NaN where there is none."""
        return self._last_limits.at(z, pressure)[0]

    def dew_temperature(self, z, pressure: float) -> float:
        """Temperature [K] of the first liquid on cooling; NaN where there is none."""
        return self._last_limits.at(z, pressure)[1]

    def bubble_pressure(self, z, temperature: float) -> float:
        """Pressure [Pa] of the first vapour on expanding; NaN where there is none."""
        return saturation.pressure_limits(self.careful(), z, temperature)[1]

    def dew_pressure(self, z, temperature: float) -> float:
        """Pressure [Pa] of the first liquid on compressing; NaN where there is none."""
        return saturation.pressure_limits(self.careful(), z, temperature)[0]

    def sound_from(self, z) -> float:
        """Temperature [K] above which the model is sound for a blend z (c,); 0 where it is sound throughout."""
        return sound.sound_from(self.gases, z)[0]

    def soundness(self, z, temperatures) -> np.ndarray:
        """Where the model is sound: booleans (n, m) for blends z (n, c) and temperatures [K] (m,)."""
        limits = np.array([self.sound_from(row) for row in np.atleast_2d(z)])
        return np.asarray(temperatures)[None, :] >= limits[:, None]

    def warnings(self, z, lowest_temperature: float) -> tuple[str, ...]:
        """What to say beside results for a blend z (c,) taken down to lowest_temperature [K]."""
        present = [name for name, share in zip(self.gases, z, strict=True) if share > 0.0]
        text = sound.unsound_text(self.gases, z, lowest_temperature)
        return sound.notes(tuple(present)) + ((text,) if text else ())

    def careful(self) -> MultiFluidModel:
        """This model with the stability tested at every point: a limit must not hide between two tests."""
        careful = copy(self)
        careful.check_span = -1.0
        return careful

    def log_fugacity_coefficients(self, x, temperature: float, pressure: float) -> np.ndarray:
        """ln phi (c,) of a single phase of composition x (all present), on its root of least Gibbs energy."""
        x = self._checked_fractions(np.atleast_2d(x))[0]
        present, record = self._present(x)
        shares = x[present] / x[present].sum()
        phase = engine.single_phase(record, shares, float(temperature), float(pressure))
        if phase is None:
            self._fail("density of one phase", temperature, pressure, x)
        return self._scattered(present, phase["ln_phi"])

    def _present(self, z):
        """Indices of the gases present, and the record of their coefficients."""
        present = tuple(i for i, share in enumerate(z.tolist()) if share > 0.0)
        if present not in self._records:
            names = tuple(self.gases[i] for i in present)
            self._records[present] = np.array([blend_record(names, self._pairs)])
        return list(present), self._records[present]

    def _scattered(self, present, values):
        """Values of the gases present at their places, NaN elsewhere."""
        full = np.full(len(self.gases), np.nan)
        full[present] = values[: len(present)]
        return full

    def _solve(self, present, record, z, falling, pressures, out, tolerance=engine.ALONG, by_amount=None):
        """States of one blend at falling temperatures into out; gives the kernels' scratch record."""
        shares = z[present] / z[present].sum()
        span = -1.0 if tolerance == engine.EXACT else self.check_span
        if by_amount is None:
            return engine.solve_states(record, shares, falling, pressures, span, tolerance, out)
        there = np.full((falling.size, quantities.QUANTITIES, len(present)), np.nan)
        work = engine.solve_states(record, shares, falling, pressures, span, tolerance, out, there)
        by_amount[..., present] = there
        return work

    def _raw_sweep(self, z, pressures, temperatures, gradients=False):
        rows, order = np.arange(len(z))[:, None], np.argsort(-temperatures, axis=1, kind="stable")
        falling, paths = temperatures[rows, order], pressures[rows, order]
        raw = np.zeros((*order.shape, columns.OUTPUTS + z.shape[1]))
        by_amount = np.zeros((*order.shape, quantities.QUANTITIES, z.shape[1])) if gradients else None
        blends = [self._present(row) for row in z]  # what is refused is refused before any thread starts

        def run(k):
            (present, record), out = blends[k], raw[k]
            if len(present) < z.shape[1]:
                out = np.empty((order.shape[1], columns.OUTPUTS + len(present)))
            self._solve(present, record, z[k], falling[k], paths[k], out, by_amount=by_amount[k] if gradients else None)
            if out is not raw[k]:
                raw[k][:, [*range(columns.OUTPUTS), *(columns.OUTPUTS + i for i in present)]] = out

        list(in_threads(run, range(z.shape[0]), min(self.threads, 1 + order.size // PER_THREAD)))
        return _put_back(raw, rows, order), _put_back(by_amount, rows, order) if gradients else by_amount

    def _in_units(self, raw, ideal, z, pressures, temperatures) -> Sweep:
        r = equations()["gas_constant"]
        # rows of z by tables of the gases; one product where all blends have the same temperatures
        h_ideal, s_ideal = ((z @ one.T if one.ndim == 2 else (one @ z[..., None])[..., 0]) for one in ideal)
        heat, volume = r * temperatures, r * temperatures / pressures
        return Sweep(
            enthalpy=raw[..., columns.H] * heat + h_ideal,
            entropy=raw[..., columns.S] * r + s_ideal - _pressure_term(pressures),
            molar_volume=raw[..., columns.VOLUME] * volume,
            vapour_fraction=np.minimum(np.maximum(raw[..., columns.VAPOUR], 0.0), 1.0),
            phase_count=raw[..., columns.PHASES].astype(int),
            liquid_count=np.where(raw[..., columns.PHASES] > 0, raw[..., columns.LIQUIDS], 0.0).astype(int),
            gibbs=raw[..., columns.GIBBS],
            liquid_volume=raw[..., columns.LIQUID_VOLUME] * volume,
            liquid_amounts=raw[..., columns.OUTPUTS :],
        )

    def _with_slopes(self, states, by_amount, ideal, z, pressures, temperatures) -> Sweep:
        """The sweep with the kernels' derivatives in SI units, ideal parts added; 0 for absent gases."""
        r, (h_ideal, s_ideal) = equations()["gas_constant"], ideal
        heat = r * temperatures[..., None]
        there = (z > 0.0)[:, None, :]
        ideal_s = s_ideal - _pressure_term(pressures)[..., None]
        return replace(
            states,
            enthalpy_slopes=np.where(there, by_amount[..., quantities.ENTHALPY, :] * heat + h_ideal, 0.0),
            entropy_slopes=np.where(there, by_amount[..., quantities.ENTROPY, :] * r + ideal_s, 0.0),
            log_fugacities=np.where(
                there, by_amount[..., quantities.ENTHALPY, :] - by_amount[..., quantities.ENTROPY, :] + np.log(pressures)[..., None], -np.inf
            ),
            volume_slopes=by_amount[..., quantities.VOLUME, :] * heat / pressures[..., None],
            liquid_slopes=by_amount[..., quantities.LIQUID, :],
        )

    def _phase(self, present, ideal, phase, log_density, fraction, pressure, in_company: bool, densest: bool) -> Phase:
        """A phase of the kernels' record; its density may be a first-order step ahead of what it was evaluated at."""
        x, temperature = phase["x"][: len(present)], float(phase["T"])
        h_ideal, s_ideal = ideal
        composition = np.zeros(len(self.gases))
        composition[present] = x
        r = equations()["gas_constant"]
        h, g = float(phase["h"]), float(x @ (np.log(x) + phase["ln_phi"][: x.size]))
        volume = float(np.exp(-log_density))
        least = quantities.LIQUID_BESIDE if in_company else quantities.LIQUID_ALONE
        dense = float(phase["reducing_volume"]) / volume > least or (in_company and densest)
        return Phase(
            kind=LIQUID if dense else VAPOUR,
            fraction=float(fraction),
            composition=composition,
            enthalpy=float(h * r * temperature + composition @ h_ideal),
            entropy=float((h - g) * r + composition @ s_ideal - _pressure_term(pressure)),
            molar_volume=volume,
            log_fugacity_coefficients=self._scattered(present, phase["ln_phi"]),
        )

    def _refuse_failures(self, raw, z, pressures, temperatures):
        phases = raw[..., columns.PHASES]
        if not phases.all():
            k, j = np.argwhere(phases == 0)[0]
            self._fail("flash at temperature and pressure", temperatures[k, j], pressures[k, j], z[k])

    def _fail(self, task, temperature, pressure, z):
        blend = ", ".join(f"{g} {f:.6g}" for g, f in zip(self.gases, z, strict=True) if f > 0.0)
        ended = [g for g, f in zip(self.gases, z, strict=True) if f > 0.0 and temperature < ENDS.get(g, 0.0)]
        hint = "; ".join(f"the equation of {g} ends at {ENDS[g]:g} K: stay warmer, or leave it out" for g in ended)
        raise ConvergenceError(
            task, hint or FLASH_HINT,
            temperature_K=float(temperature), pressure_Pa=float(pressure), blend=blend,
        )  # fmt: skip

    def _checked_fractions(self, z):
        z = np.ascontiguousarray(z, dtype=float)
        if z.shape[-1] != len(self.gases):
            raise InputError(f"mole fractions for {len(self.gases)} gases are needed, {z.shape[-1]} were given")
        total = z.sum(axis=-1)
        off = np.abs(total - 1.0)
        if z.min(initial=0.0) >= 0.0 and off.max(initial=0.0) <= 1e-6:
            return z
        if not np.all(np.isfinite(z)) or np.any(z < 0.0):
            raise InputError("mole fractions must be finite and not negative")
        raise InputError(f"mole fractions must sum to 1, not {np.atleast_1d(total)[np.argmax(off)]:.6g}")

    def _checked_temperatures(self, temperatures):
        temperatures = np.asarray(temperatures, dtype=float)
        low, high = self.temperature_span
        if not (temperatures.min(initial=high) >= low and temperatures.max(initial=low) <= high):
            inside = (temperatures >= low) & (temperatures <= high)
            raise InputError(f"temperature {temperatures[~inside][0]:g} K is outside {low:g} to {high:g} K")
        return temperatures


@cache
def _made_once(*given) -> MultiFluidModel:
    return MultiFluidModel(*given)


def _checked_pressures(pressures):
    pressures = np.asarray(pressures, dtype=float)
    if not (pressures.min(initial=HIGHEST_PRESSURE) > 0.0 and pressures.max(initial=0.0) <= HIGHEST_PRESSURE):
        inside = (pressures > 0.0) & (pressures <= HIGHEST_PRESSURE)
        raise InputError(f"pressure {pressures[~inside][0]:g} Pa is outside 0 to {HIGHEST_PRESSURE / 1e5:g} bar")
    return pressures


def _put_back(found, rows, order) -> np.ndarray:
    """What was found in an order, as it was before."""
    back = np.empty_like(found)
    back[rows, order] = found
    return back


def _filled(values, shape) -> np.ndarray:
    """Values broadcast to a shape, in memory of their own."""
    full = np.empty(shape)
    full[...] = values
    return full


def _pressure_term(pressures):
    # The constant of the equations: with another one dg = v dp would not hold to the last digits.
    return equations()["gas_constant"] * np.log(pressures / REFERENCE_PRESSURE)


def _distinct_names(gases):
    names = tuple(resolve_name(each) for each in gases)
    if not names:
        raise InputError("no gas given")
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"gas {name} is given twice")
    return names
