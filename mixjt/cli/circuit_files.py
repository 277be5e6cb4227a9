"""The files about one solved circuit, as `cycle`, `pinch` and `search` write them."""

from __future__ import annotations

from collections.abc import Callable

from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import PLAIN
from mixjt.files import records
from mixjt.files.kind_records import kind_of
from mixjt.properties.records import PropertyModel
from mixjt.report.output import Table
from mixjt.studies.phases import circuit_isobars, saturation_boundary


def circuit_tables(result: CircuitResult) -> dict[str, Table]:
    """State points, the exergy, and the recuperator."""
    own = {"state_points": records.state_point_table(result), "exergy": records.exergy_table(result)}
    return own | recuperator_tables(result)


def circuit_pictures(result: CircuitResult, model: PropertyModel) -> dict[str, Callable]:
    """The circuit in a diagram, and the recuperator."""
    if kind_of(result) != PLAIN:
        return recuperator_pictures(result)
    return {"circuit": lambda: _circuit_figure(result, model)} | recuperator_pictures(result)


def recuperator_tables(result: CircuitResult) -> dict[str, Table]:
    """The recuperator and, of a plain circuit, the enthalpy difference."""
    tables = {"pinch": records.pinch_table(result.pinch)}
    if kind_of(result) == PLAIN:  # the recuperator of the others is no single line in one diagram
        tables["enthalpy_difference"] = records.difference_table(result.difference)
    return tables


def recuperator_pictures(result: CircuitResult) -> dict[str, Callable]:
    """The same as pictures."""
    from mixjt.plots.property import difference_figure
    from mixjt.plots.recuperator import pinch_figure

    pictures = {"pinch": lambda: pinch_figure(result)}
    if kind_of(result) == PLAIN:
        pictures["enthalpy_difference"] = lambda: difference_figure(result)
    return pictures


def _circuit_figure(result: CircuitResult, model: PropertyModel):
    from mixjt.plots.property import circuit_figure

    boundary = saturation_boundary(model, result.composition, 0.5 * result.suction_pressure)
    lines = [(line.pressure, line.temperatures, line.enthalpy) for line in circuit_isobars(model, result)]
    return circuit_figure(result, boundary, lines)
