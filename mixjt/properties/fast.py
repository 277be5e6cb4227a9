"""The fast property model: a cubic equation of state in compiled kernels.

Batches of blends run on all cores; see mixjt.properties.kernels for the methods and their sources.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from copy import copy

import numpy as np
from scipy.optimize import brentq

from mixjt.constants import GAS_CONSTANT, REFERENCE_PRESSURE
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.properties import saturation
from mixjt.properties.kernels import sweep as kernel
from mixjt.properties.mixed_state import across_jump, assemble_state
from mixjt.properties.parameters import CubicParameters
from mixjt.properties.records import LIQUID, VAPOUR, Phase, State, Sweep
from mixjt.properties.tables import Tables, build_tables, ideal_gas

LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE = 50.0, 600.0  # K, span of the ideal-gas heat capacities
HIGHEST_PRESSURE = 5e7  # Pa
SMALLEST_SHARE = 4  # blends per thread below which threads do not pay
FLASH_HINT = "try a slightly different temperature, pressure or blend"


class FastModel:
    """A cubic equation of state bound to a tuple of gases; implements PropertyModel.

    Parameters
    ----------
    parameters : CubicParameters
    threads : int, optional
        Threads for batches; all processors by default.
    check_span : float
        Kelvin between stability tests of the phases followed along a sweep; negative tests every point.

    Raises
    ------
    InputError
        From every method, for fractions, temperatures or pressures that make no sense.
    ConvergenceError
        From every method, where no solver reached its tolerance.
    """

    def __init__(self, parameters: CubicParameters, threads: int | None = None, check_span: float = kernel.CHECK_SPAN):
        self.parameters = parameters
        self.name = parameters.name
        self.gases = parameters.gases
        self.molar_masses = parameters.molar_masses
        self.threads = threads or os.cpu_count() or 1
        self.check_span = check_span
        self.temperature_span = (LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE)
        ratio = parameters.omega_a / parameters.omega_b
        self._eos = np.array([parameters.delta1, parameters.delta2, ratio])
        self._last_limits = saturation.LastLimits(self._limits_at)

    def sweep(self, z, pressures, temperatures, strict: bool = True) -> Sweep:
        """States of n blends (n, c) at m temperatures; pressures broadcast to (n, m).

        A state that could not be solved raises, or is NaN with no phases where strict is False.
        """
        z = self._checked_fractions(np.atleast_2d(z))
        temperatures = self._checked_temperatures(np.atleast_1d(temperatures))
        shape = (z.shape[0], temperatures.size)
        pressures = self._checked_pressures(np.broadcast_to(np.asarray(pressures, dtype=float), shape))
        raw = self._raw_sweep(z, pressures, temperatures)
        failed = np.argwhere(raw[..., kernel.PHASES] == 0)
        if failed.size and strict:
            k, j = failed[0]
            self._fail("flash along an isobar", temperatures[j], pressures[k, j], z[k])
        return self._in_units(raw, z, pressures, temperatures)

    def state_tp(self, z, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]."""
        z = self._checked_fractions(np.atleast_2d(z))[0]
        temperatures = self._checked_temperatures(np.array([temperature]))
        pressure = float(self._checked_pressures(np.array([pressure]))[0])
        tables = build_tables(self.parameters, temperatures)
        X, beta, out = np.zeros((kernel.MAX_PHASES, z.size)), np.zeros(kernel.MAX_PHASES), np.empty(kernel.OUTPUTS)
        kernel.sweep_blend(
            tables, self._eos, temperatures, np.array([pressure]), z, self.check_span, out[None], X, beta
        )
        if out[kernel.PHASES] == 0:
            self._fail("flash at temperature and pressure", float(temperature), pressure, z)
        fractions = beta / beta.sum()
        phases = [
            self._phase(tables, X[k], fractions[k], float(temperature), pressure)
            for k in range(int(out[kernel.PHASES]))
        ]
        return assemble_state(float(temperature), pressure, z, phases)

    def state_hp(self, z, enthalpy: float, pressure: float) -> State:
        """State at enthalpy [J/mol] and pressure [Pa]; raises UnreachableError outside 50-600 K."""
        return self._inverted(z, enthalpy, pressure, "enthalpy")

    def state_sp(self, z, entropy: float, pressure: float) -> State:
        """State at entropy [J/(mol K)] and pressure [Pa]; raises UnreachableError outside 50-600 K."""
        return self._inverted(z, entropy, pressure, "entropy")

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

    def _limits_at(self, z, pressure: float) -> tuple[float, float]:
        return saturation.temperature_limits(self.careful(), z, pressure)

    def careful(self) -> FastModel:
        """This model with the stability tested at every point: a limit must not hide between two tests."""
        careful = copy(self)
        careful.check_span = -1.0
        return careful

    def isotherm(self, z, temperature: float, pressures) -> Sweep:
        """States of one blend at one temperature and many pressures (m,); arrays of shape (1, m)."""
        z = self._checked_fractions(np.atleast_2d(z))
        pressures = self._checked_pressures(np.atleast_1d(np.asarray(pressures, dtype=float)))
        tables = build_tables(self.parameters, self._checked_temperatures(np.array([temperature])))
        raw, X, beta = np.empty((1, pressures.size, kernel.OUTPUTS)), np.zeros((kernel.MAX_PHASES, z.shape[1])), np.zeros(kernel.MAX_PHASES)
        one = np.array([float(temperature)])
        for k in range(pressures.size):
            kernel.sweep_blend(
                tables, self._eos, one, pressures[k : k + 1], z[0], self.check_span, raw[0, k : k + 1], X, beta
            )
        failed = np.flatnonzero(raw[0, :, kernel.PHASES] == 0)
        if failed.size:
            self._fail("flash along an isotherm", float(temperature), pressures[failed[0]], z[0])
        return self._in_units(raw, z, pressures[None, :], np.full(pressures.size, float(temperature)))

    def log_fugacity_coefficients(self, x, temperature: float, pressure: float) -> np.ndarray:
        """ln phi (c,) of a single phase of composition x, on its density root of least Gibbs energy."""
        tables = build_tables(self.parameters, np.array([temperature]))
        return self._phase(tables, np.asarray(x, dtype=float), 1.0, temperature, pressure).log_fugacity_coefficients

    def log_fugacities(self, z, temperatures, pressures) -> np.ndarray:
        """ln(f/Pa) (n, c) of n blends (n, c), each at its own temperature [K] and pressure [Pa], both (n,).

        Taken from the densest phase of each state. Minus infinity for a gas that is absent; NaN in the rows of
        states that could not be solved.
        """
        z = self._checked_fractions(np.atleast_2d(z))
        temperatures = self._checked_temperatures(np.atleast_1d(temperatures))
        pressures = self._checked_pressures(np.atleast_1d(np.asarray(pressures, dtype=float)))
        tables = build_tables(self.parameters, temperatures)
        shifts = self.parameters.translations / (GAS_CONSTANT * temperatures[:, None])
        found = np.full(z.shape, np.nan)

        def run(rows):
            for k in rows:
                found[k] = self._densest_log_fugacities(tables, k, temperatures[k], pressures[k], z[k])

        self._in_threads(run, z.shape[0])
        return found - shifts * pressures[:, None]

    def _densest_log_fugacities(self, tables, k, temperature, pressure, z):
        row = Tables(*(table[k : k + 1] for table in tables))
        X, beta = np.zeros((kernel.MAX_PHASES, z.size)), np.zeros(kernel.MAX_PHASES)
        out, phi = np.empty((1, kernel.OUTPUTS)), np.empty(z.size)
        kernel.sweep_blend(
            row, self._eos, np.array([temperature]), np.array([pressure]), z, self.check_span, out, X, beta
        )
        volumes, logs = [], []
        for j in range(int(out[0, kernel.PHASES])):
            kernel.phase_values(row, self._eos, 0, pressure, X[j], phi, out[0])
            volumes.append(out[0, kernel.V] - pressure * (X[j] @ self.parameters.translations) / (GAS_CONSTANT * temperature))
            with np.errstate(divide="ignore"):
                logs.append(np.log(X[j]) + phi + np.log(pressure))
        return logs[int(np.argmin(volumes))] if logs else np.nan

    def _raw_sweep(self, z, pressures, temperatures):
        order = np.argsort(-temperatures, kind="stable")
        tables = build_tables(self.parameters, temperatures[order])
        falling, paths = temperatures[order], np.ascontiguousarray(pressures[:, order])
        raw = np.empty((z.shape[0], temperatures.size, kernel.OUTPUTS))

        def run(rows):
            X, beta = np.zeros((kernel.MAX_PHASES, z.shape[1])), np.zeros(kernel.MAX_PHASES)
            for k in rows:
                kernel.sweep_blend(
                    tables, self._eos, falling, paths[k], z[k], self.check_span, raw[k], X, beta
                )

        self._in_threads(run, z.shape[0])
        back = np.empty_like(order)
        back[order] = np.arange(order.size)
        return raw[:, back]

    def _in_threads(self, run, count):
        """Call run with shares of range(count), on several threads where that pays."""
        threads = min(self.threads, count // SMALLEST_SHARE)
        if threads < 2:
            run(range(count))
            return
        shares = [range(start, count, 4 * threads) for start in range(4 * threads)]
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(run, shares))

    def _in_units(self, raw, z, pressures, temperatures) -> Sweep:
        rt = GAS_CONSTANT * temperatures
        h_ideal, s_ideal = ideal_gas(self.parameters, temperatures)
        shift = (z @ self.parameters.translations)[:, None]
        volume = raw[..., kernel.V] * rt / pressures - shift
        return Sweep(
            enthalpy=raw[..., kernel.H] * rt - pressures * shift + z @ h_ideal.T,
            entropy=raw[..., kernel.S] * GAS_CONSTANT + z @ s_ideal.T - _pressure_term(pressures),
            molar_volume=volume,
            vapour_fraction=np.clip(raw[..., kernel.VAPOUR], 0.0, 1.0),
            phase_count=raw[..., kernel.PHASES].astype(int),
            liquid_count=np.nan_to_num(raw[..., kernel.LIQUIDS]).astype(int),
            gibbs=raw[..., kernel.GIBBS] - pressures * shift / rt,
        )

    def _phase(self, tables: Tables, x, fraction, temperature, pressure) -> Phase:
        phi, out = np.empty(x.size), np.empty(kernel.OUTPUTS)
        kernel.phase_values(tables, self._eos, 0, pressure, x, phi, out)
        rt = GAS_CONSTANT * temperature
        h_ideal, s_ideal = ideal_gas(self.parameters, np.array([temperature]))
        shift = float(x @ self.parameters.translations)
        return Phase(
            kind=LIQUID if out[kernel.LIQUIDS] > 0.5 else VAPOUR,
            fraction=float(fraction),
            composition=x.copy(),
            enthalpy=float(out[kernel.H] * rt - pressure * shift + x @ h_ideal[0]),
            entropy=float(out[kernel.S] * GAS_CONSTANT + x @ s_ideal[0] - _pressure_term(pressure)),
            molar_volume=float(out[kernel.V] * rt / pressure - shift),
            log_fugacity_coefficients=phi - self.parameters.translations * pressure / rt,
        )

    def _inverted(self, z, target, pressure, quantity) -> State:
        """Solve quantity(T) = target along an isobar; quantity rises with T."""
        grid = np.linspace(LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE, 45)
        values = getattr(self.sweep(z, pressure, grid, strict=False), quantity)[0]
        if not np.isfinite(values).any():
            self._fail(f"flash at {quantity} and pressure", grid[0], pressure, np.atleast_2d(z)[0])
        grid, values = grid[np.isfinite(values)], values[np.isfinite(values)]
        if not values[0] <= target <= values[-1]:
            raise UnreachableError(
                f"no state between {grid[0]:g} and {grid[-1]:g} K has {quantity} {target:.6g} at "
                f"{pressure / 1e5:.4g} bar; the span holds {values[0]:.6g} to {values[-1]:.6g}"
            )
        above = min(int(np.searchsorted(values, target, side="right")), grid.size - 1)

        def miss(temperature):
            return float(getattr(self.sweep(z, pressure, np.array([temperature])), quantity)[0, 0]) - target

        root = _root_between(miss, grid[above - 1], grid[above])
        state = self.state_tp(z, root, pressure)
        scale = 1e-7 * max(1.0, abs(values[above] - values[above - 1]))
        if abs(getattr(state, quantity) - target) <= scale:
            return state
        state = across_jump(self, z, root, pressure, quantity, target)
        if state is None:
            self._fail(f"flash at {quantity} and pressure", root, pressure, z)
        return state

    def _fail(self, task, temperature, pressure, z):
        blend = ", ".join(f"{g} {f:.6g}" for g, f in zip(self.gases, z, strict=True) if f > 0.0)
        raise ConvergenceError(
            task, FLASH_HINT, temperature_K=float(temperature), pressure_Pa=float(pressure), blend=blend
        )

    def _checked_fractions(self, z):
        z = np.ascontiguousarray(z, dtype=float)
        if z.shape[-1] != len(self.gases):
            raise InputError(f"mole fractions for {len(self.gases)} gases are needed, {z.shape[-1]} were given")
        if not np.all(np.isfinite(z)) or np.any(z < 0.0):
            raise InputError("mole fractions must be finite and not negative")
        total = z.sum(axis=-1)
        if np.any(np.abs(total - 1.0) > 1e-6):
            raise InputError(f"mole fractions must sum to 1, not {total[np.argmax(np.abs(total - 1.0))]:.6g}")
        return z

    @staticmethod
    def _checked_temperatures(temperatures):
        temperatures = np.asarray(temperatures, dtype=float)
        inside = (temperatures >= LOWEST_TEMPERATURE) & (temperatures <= HIGHEST_TEMPERATURE)
        if not np.all(inside):
            raise InputError(
                f"temperature {temperatures[~inside][0]:g} K is outside "
                f"{LOWEST_TEMPERATURE:g} to {HIGHEST_TEMPERATURE:g} K"
            )
        return temperatures

    @staticmethod
    def _checked_pressures(pressures):
        inside = (pressures > 0.0) & (pressures <= HIGHEST_PRESSURE)
        if not np.all(inside):
            raise InputError(
                f"pressure {pressures[~inside][0]:g} Pa is outside 0 to {HIGHEST_PRESSURE / 1e5:g} bar"
            )
        return pressures


def _pressure_term(pressures):
    return GAS_CONSTANT * np.log(pressures / REFERENCE_PRESSURE)


def _root_between(miss, low: float, high: float) -> float:
    """Root of a rising function; an end whose value only rounding keeps from zero is the root itself."""
    below, above = miss(low), miss(high)
    if below >= 0.0:
        return low
    if above <= 0.0:
        return high
    return brentq(miss, low, high, xtol=1e-12, rtol=8.9e-16)
