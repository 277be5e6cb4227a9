"""Circuits of many blends at once: cooling, what one mole of cooling is worth, and constraint margins.

All quantities come from two sweeps at temperatures common to all blends: the high side of the recuperator
and on along the discharge isobar, and the low side. Cooling is the least enthalpy difference on the grid
(see `mixjt.circuit.pinch`); suction state, dew point, isentropic end state and discharge state are
interpolated.

The cooling q enters everything else as an argument: gain and margins are smooth in the blend at fixed q,
while q itself, a minimum over temperatures, is not.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace

import numpy as np

from mixjt.fluid.interpolate import dew_temperatures, first_dry
from mixjt.fluid.states import PropertyModel, Sweep
from mixjt.parts.compressor.compression import supply_current
from mixjt.parts.compressor.limits import RELATIVE
from mixjt.parts.compressor.shell import Compressions, GasIsobar, Turn
from mixjt.parts.insulation import Insulation, spread_leaks
from mixjt.parts.recuperator.coils import Coils, coils
from mixjt.parts.recuperator.side import Ends
from mixjt.studies.search.precooled_search import PRECOOLER_MARGIN, precooling
from mixjt.studies.search.search_request import COOLING_POWER, COP, POWER_AT_LOAD, SearchRequest

# Turns of flow and cooling, and of the leak too, and how close each comes to the conductance
TURNS, LEAKING_TURNS = (1e-2, 1e-8), (1e-2, 1e-4, 1e-8)
LEAST_FLOW = 1e-9  # mol/s
LOAD_MARGIN = "load", RELATIVE, 5.0  # a wide step: near a load power rises by less than a few per cent per per cent of cooling
LEAST_COOLING = 20.0  # J/mol; below it the gain is that of this cooling, so that poor blends can be ranked


@dataclass(frozen=True)
class Grid:
    """Temperatures to evaluate at [K], ascending, and the recuperator's pressure profiles.

    recuperator (m,) holds high-side temperatures and discharge the hotter ones of the compressed gas;
    low (k,) holds low-side temperatures, among them, in columns met (m,), the recuperator's less its
    approach. Beyond its ends a side keeps their pressure. The first `cold` of the recuperator's temperatures
    limit the cooling; those from the last of them on belong to the warm section of a precooled circuit, or,
    with a colder_suction, to its precooler.
    """

    recuperator: np.ndarray
    discharge: np.ndarray
    low: np.ndarray
    met: np.ndarray
    high_side: Ends
    low_side: Ends
    cold: int
    colder_suction: bool = False


@dataclass(frozen=True)
class Trials:
    """Blends to evaluate: mole fractions z (n, c), suction and discharge pressures (n,) [Pa]."""

    z: np.ndarray
    suction: np.ndarray
    discharge: np.ndarray

    def part(self, rows) -> Trials:
        """Some of the blends."""
        return Trials(self.z[rows], self.suction[rows], self.discharge[rows])

    def joined(self, other: Trials) -> Trials:
        """These blends and others."""
        return Trials(*_joined(self, other))

    def around(self, steps: np.ndarray) -> Trials:
        """These blends, then the neighbours (n k) that steps (n, k, c) of their mole fractions lead to."""
        rows = np.repeat(np.arange(len(self.z)), steps.shape[1])
        return self.joined(replace(self.part(rows), z=(self.z[:, None] + steps).reshape(-1, self.z.shape[1])))


@dataclass(frozen=True)
class BlendIsobars:
    """Enthalpy, entropy, logarithm of molar volume and liquid fraction, each (n, m)."""

    enthalpy: np.ndarray
    entropy: np.ndarray
    log_volume: np.ndarray
    liquid: np.ndarray

    def part(self, rows) -> BlendIsobars:
        """Some of the blends."""
        return BlendIsobars(self.enthalpy[rows], self.entropy[rows], self.log_volume[rows], self.liquid[rows])

    def columns(self, start: int) -> BlendIsobars:
        """The temperatures from one on."""
        every = (self.enthalpy, self.entropy, self.log_volume, self.liquid)
        return BlendIsobars(*(array[:, start:] for array in every))

    def isobar(self, temperatures: np.ndarray) -> GasIsobar:
        """For reading off at other temperatures than those swept."""
        return GasIsobar(temperatures, np.array([self.enthalpy, self.entropy, self.log_volume]), first_dry(self.liquid > 0.0))

    def joined(self, other: BlendIsobars) -> BlendIsobars:
        """These blends and others."""
        return BlendIsobars(*_joined(self, other))


@dataclass(frozen=True)
class Samples:
    """What the sweeps gave; high (n, m) is the enthalpy of the high side.

    difference is that to the low side in the cold section less what leaks in, warm_difference in the warm section of a
    precooled circuit; without one it has no column. leak (n, m) [J/mol] is what leaks in between the evaporator and
    each temperature of the high side. cooling (n,) [J/mol] is the greatest there is, the least difference or, in a
    recuperator of stated conductance, what that allows, with apart (n, m) [K] between the sides; else apart has no
    column. It is NaN where the model has no answer. coldest (n, c) are the mole fractions of what reaches the cold end,
    and flow (n,) the moles of it per mole of blend. coldest_margins (n, k) are those in the coldest ambient of a range,
    without which they have no column.
    """

    trials: Trials
    grid: Grid
    high: np.ndarray
    difference: np.ndarray
    warm_difference: np.ndarray
    low: BlendIsobars
    discharge: BlendIsobars
    coldest: np.ndarray
    flow: np.ndarray
    cooling: np.ndarray
    leak: np.ndarray
    apart: np.ndarray
    coldest_margins: np.ndarray

    def precooler_heat(self, cooling: np.ndarray) -> np.ndarray:
        """Least heat (n,) [J/mol] that a precooler must take up for a cooling (n,); see `mixjt.circuit.layouts.precooled`."""
        if self.grid.colder_suction:
            return self.high[:, -1] - self.high[:, self.grid.cold - 1]
        return np.maximum(cooling - self.warm_difference.min(axis=1, initial=np.inf), 0.0)

    def part(self, rows) -> Samples:
        """Some of the blends."""
        some = {
            name: mine[rows] if isinstance(mine, np.ndarray) else mine.part(rows)
            for name, mine in vars(self).items()
            if name != "grid"
        }
        return Samples(grid=self.grid, **some)

    def joined(self, other: Samples) -> Samples:
        """These blends and others on the same grid."""
        both = {
            name: np.concatenate([mine, its]) if isinstance(mine, np.ndarray) else mine.joined(its)
            for (name, mine), its in zip(vars(self).items(), vars(other).values(), strict=True)
            if name != "grid"
        }
        return Samples(grid=self.grid, **both)


@dataclass(frozen=True)
class Judgement:
    """log_gain (n,): logarithm of what the objective gains per J/mol of cooling. margins (n, k).

    suction_temperature, entering_temperature (of the gas that the cylinder takes in) and dew_temperature [K] have shape (n,).
    """

    log_gain: np.ndarray
    margins: np.ndarray
    suction_temperature: np.ndarray
    entering_temperature: np.ndarray
    dew_temperature: np.ndarray

    def part(self, rows) -> Judgement:
        """Some of the blends."""
        return Judgement(*(array[rows] for array in vars(self).values()))


class Evaluator:
    """Evaluates blends for one request.

    names, units and steps describe the margins; conditions numbers what each belongs to.
    """

    def __init__(self, model: PropertyModel, request: SearchRequest):
        self.model, self.request, self.circuit = model, request, request.swept
        self.compressor, self.limits = request.compressor, request.limits
        own = [("suction superheat", "K", 1.0), *((limit.name, limit.unit, 1.0) for limit in self.limits)]
        self.precooling = precooling(self.circuit)
        if self.precooling.limited:
            own.append(PRECOOLER_MARGIN)
        if request.carries_load:
            own.append(LOAD_MARGIN)
        columns = [1] * len(own) + [item.columns(model) for item in request.constraints]
        own += [(item.name, item.unit, item.step) for item in request.constraints]
        self.conditions = np.repeat(np.arange(len(own)), columns)
        self.names, self.units, steps = zip(*(own[number] for number in self.conditions))
        self.steps = np.array(steps)
        self.evaluations = 0  # blends swept so far, counted from several threads
        self._counting = threading.Lock()

    def sample(self, grid: Grid, trials: Trials) -> Samples:
        """Sweep all blends; a blend the model gives up on is NaN and spoils no other."""
        return self._sampled(grid, trials, trials)

    def sample_around(self, grid: Grid, trials: Trials, steps: np.ndarray) -> Samples:
        """Sweep blends, and give beside them neighbours to first order in the steps of their mole fractions.

        Parameters
        ----------
        steps : array (n, k, c)
            Of k neighbours of each blend, each adding up to 0.

        Returns
        -------
        Samples
            Of the n blends, then of their neighbours, (n k) rows.
        """
        return self._sampled(grid, trials, trials.around(steps))

    def _sampled(self, grid: Grid, trials: Trials, around: Trials) -> Samples:
        """Of blends and, where around goes on, their neighbours."""
        hot, high_pressures, low_pressures = self._paths(grid, trials)
        high, low = self._swept(around.z, high_pressures, hot), self._swept(around.z, low_pressures, grid.low)
        recuperator = high.enthalpy[:, : grid.recuperator.size]
        difference = low.enthalpy[:, grid.met] - recuperator
        difference[np.isnan(high.enthalpy).any(axis=1) | np.isnan(low.enthalpy).any(axis=1)] = np.nan
        cold, warm = difference[:, : grid.cold], difference[:, grid.cold - 1 :]
        warm = warm if grid.cold < grid.recuperator.size else warm[:, :0]
        discharge, flow = high.columns(grid.recuperator.size), np.ones(len(around.z))
        return self.with_cooling(Samples(around, grid, recuperator, cold, warm, low, discharge, around.z, flow, *unsized(cold, recuperator)))

    @np.errstate(divide="ignore", invalid="ignore", over="ignore")
    def with_cooling(self, samples: Samples) -> Samples:
        """What leaks into the recuperators, and what their conductance allows, where the circuit states these."""
        box, wanted = self.circuit.insulation, self.circuit.recuperator_conductance
        if wanted is None and (box is None or box.conductance == 0.0):
            return samples
        rows = np.flatnonzero(np.isfinite(samples.cooling))
        if not rows.size:
            return samples
        found = self._cooled(samples.part(rows), box or Insulation(0.0), wanted)
        whole = {}
        for name in ("cooling", "leak", "apart", "difference", "warm_difference"):
            part = getattr(found, name)
            whole[name] = np.full((len(samples.cooling), *part.shape[1:]), np.nan)
            whole[name][rows] = part
        return replace(samples, **whole)

    def _cooled(self, samples: Samples, box: Insulation, wanted: float | None) -> Samples:
        """The same of blends that all have an answer; flow, leak and cooling follow from each other."""
        grid, count = samples.grid, len(samples.high)
        even = (grid.recuperator - grid.recuperator[0]) / (grid.recuperator[-1] - grid.recuperator[0])
        shares, low = np.tile(even, (count, 1)), np.tile(grid.low[grid.met], (count, 1))
        found, warm = samples, grid.cold - 1
        for tolerance in LEAKING_TURNS if box.conductance else TURNS:
            flow = np.maximum(self._flow(found, found.cooling), LEAST_FLOW)
            leak = spread_leaks(box, self.circuit.ambient_temperature, self.circuit.cold_temperature, flow, shares, low)
            difference = samples.difference - leak[:, : grid.cold]
            found = replace(found, leak=leak, difference=difference)
            if wanted is None:
                further = samples.warm_difference - leak[:, warm:][:, : samples.warm_difference.shape[1]]
                found = replace(found, cooling=difference.min(axis=1), warm_difference=further)
                coils = self._coils(found, found.cooling)
            else:
                coils = self._coils(found, found.cooling, wanted / flow, tolerance)
                further = np.broadcast_to(coils.warm[:, None], samples.warm_difference.shape)
                found = replace(found, cooling=coils.cooling, apart=coils.apart, warm_difference=further)
            shares, low = coils.shares, coils.low
        return found

    def _coils(self, samples: Samples, cooling: np.ndarray, units=None, tolerance: float = 0.0) -> Coils:
        """The recuperators at a cooling (n,) [J/mol], or near it at a conductance per flow (n,) [J/(mol K)]."""
        grid = samples.grid
        return coils(
            grid.recuperator, samples.high, samples.leak, grid.low, samples.low.enthalpy, grid.cold,
            samples.warm_difference.shape[1] > 0, grid.colder_suction, cooling, units, tolerance,
        )  # fmt: skip

    def _flow(self, samples: Samples, cooling: np.ndarray) -> np.ndarray:
        """Molar flow (n,) [mol/s]."""
        return self._compressed(samples, np.maximum(cooling, LEAST_COOLING))[1].flow

    def _paths(self, grid: Grid, trials: Trials):
        """Temperatures and pressures of the high side with the discharge isobar, and pressures of the low side."""
        count = len(trials.z)
        with self._counting:
            self.evaluations += count
        hot = np.concatenate([grid.recuperator, grid.discharge])
        high = grid.high_side.pressure(hot)[None, :] + (trials.discharge - self.circuit.discharge_pressure)[:, None]
        high[:, grid.recuperator.size :] = trials.discharge[:, None]
        low = grid.low_side.pressure(grid.low)[None, :] + (trials.suction - self.circuit.suction_pressure)[:, None]
        return hot, high, low

    @np.errstate(divide="ignore", invalid="ignore", over="ignore")  # blends of no use have no flow, or end at infinity
    def judge(self, samples: Samples, cooling: np.ndarray) -> Judgement:
        """Gain and margins of blends that cool by so much (n,) [J/mol]."""
        trials, grid = samples.trials, samples.grid
        cooling = np.maximum(cooling, LEAST_COOLING)
        precooled = samples.precooler_heat(cooling)
        inlet, done = self._compressed(samples, cooling)
        work, flow = done.electrical_work, done.flow
        dew = dew_temperatures(grid.low, samples.low.liquid)
        limited = {
            "discharge_temperature": done.outlet,
            "valve_temperature": done.valve,
            "supply_current": supply_current(work * flow, self.compressor),
            "electrical_power": work * flow,
            "pressure_ratio": trials.discharge / trials.suction,
            "suction_pressure": trials.suction,
        }
        margins = [inlet - dew - self.request.suction_superheat]
        margins += [limit.margin(limited[limit.attribute], self.compressor) for limit in self.limits]
        if self.precooling.limited:
            margins.append(1.0 - precooled * flow / self.precooling.capacity)
        if self.request.carries_load:
            margins.append(load_margin(cooling * flow, self.request.load))
        margins += [
            item.margins(self.model, samples.coldest, trials.suction, trials.discharge, cooling / samples.flow)
            for item in self.request.constraints
        ]
        gain = self._log_gain(samples, cooling, precooled, work, flow)
        return Judgement(gain, np.column_stack(margins), inlet, done.entering, dew)

    def _compressed(self, samples: Samples, cooling: np.ndarray) -> tuple[np.ndarray, Turn]:
        """Temperature (n,) [K] of the compressor's inlet at a cooling (n,) [J/mol], and what the compressor does there."""
        enthalpy = samples.high[:, -1] + cooling + samples.leak[:, -1] - samples.precooler_heat(cooling)
        low, high = samples.low.isobar(samples.grid.low), samples.discharge.isobar(samples.grid.discharge)
        inlet, ratio = low.temperature(enthalpy), samples.trials.discharge / samples.trials.suction
        machine = Compressions(self.compressor, self.circuit.ambient_temperature, inlet, enthalpy, ratio, low, high)
        return inlet, machine.settled()

    def _log_gain(self, samples: Samples, cooling, precooled, work, flow) -> np.ndarray:
        if self.request.objective == COOLING_POWER:
            return np.log(flow)
        if self.request.objective in (COP, POWER_AT_LOAD):
            spent = np.log(work + precooled * self.precooling.power_per_heat(precooled * flow))
            if self.request.objective == COP:
                return -spent
            return -spent - np.log(flow * cooling)  # the cooling itself gains nothing
        return -np.log(self._coils(samples, cooling).conductance)

    def _swept(self, z: np.ndarray, pressures, temperatures) -> BlendIsobars:
        """Of as many blends (n, c) as there are rows of pressures; of further ones, their neighbours, to first order."""
        own, near = z[: len(pressures)], z[len(pressures) :]
        swept = self.model.sweep(own, pressures, temperatures, strict=False, gradients=len(near) > 0)
        if not len(near):
            return _isobar(swept)
        return _isobar(swept).joined(_neighbours(swept, near.reshape(len(own), -1, z.shape[1]) - own[:, None]))


def load_margin(power, load: float):
    """By how much cooling powers [W], an array or a number, exceed a load: a logarithm, nearly per cent."""
    return 100.0 * np.log(power / load)


def unsized(difference: np.ndarray, high: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Cooling, leak, distance of the sides and margins in the coldest ambient, where nothing but the least difference (n, m)
    limits the cooling.
    """
    return difference.min(axis=1), np.zeros_like(high), high[:, :0], high[:, :0]


def _joined(one, other) -> list[np.ndarray]:
    return [np.concatenate([mine, its]) for mine, its in zip(vars(one).values(), vars(other).values(), strict=True)]


def _isobar(swept: Sweep) -> BlendIsobars:
    liquid = np.where(swept.liquid_count > 0, 1.0 - swept.vapour_fraction, 0.0)
    return BlendIsobars(swept.enthalpy, swept.entropy, np.log(swept.molar_volume), liquid)


def _neighbours(swept: Sweep, steps: np.ndarray) -> BlendIsobars:
    """What neighbours of the blends swept have to first order; phases neither come nor go."""
    base = _isobar(swept)

    def change(slopes) -> np.ndarray:
        return np.einsum("nkc,nmc->nkm", steps, slopes)

    def stepped(values, changes) -> np.ndarray:
        return (values[:, None] + changes).reshape(-1, values.shape[1])

    return BlendIsobars(
        stepped(base.enthalpy, change(swept.enthalpy_slopes)),
        stepped(base.entropy, change(swept.entropy_slopes)),
        stepped(base.log_volume, change(swept.volume_slopes) / swept.molar_volume[:, None]),
        stepped(base.liquid, np.where(base.liquid[:, None] > 0.0, change(swept.liquid_slopes), 0.0)),
    )
