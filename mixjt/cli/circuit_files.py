"""The files about one solved circuit, as `cycle` and `search` write them."""

from __future__ import annotations

from pathlib import Path

from mixjt.cycles.records import CircuitResult
from mixjt.cycles.solve import PLAIN
from mixjt.files import records
from mixjt.files.kind_records import kind_of
from mixjt.files.output import write_table
from mixjt.plots.property import circuit_figure, difference_figure
from mixjt.plots.recuperator import pinch_figure
from mixjt.plots.save import save_figure
from mixjt.properties.records import PropertyModel
from mixjt.studies.phases import circuit_isobars, saturation_boundary


def write_circuit(folder: Path, result: CircuitResult, model: PropertyModel) -> None:
    """Tables and plots of the state points, the exergy, the recuperator and the enthalpy difference."""
    write_table(folder / "state_points.csv", records.state_point_table(result))
    write_table(folder / "exergy.csv", records.exergy_table(result))
    if kind_of(result) != PLAIN:  # their recuperator is no single line in one diagram
        write_table(folder / "pinch.csv", records.pinch_table(result.pinch))
        save_figure(pinch_figure(result), folder / "pinch")
        return
    boundary = saturation_boundary(model, result.composition, 0.5 * result.suction_pressure)
    lines = [(line.pressure, line.temperatures, line.enthalpy) for line in circuit_isobars(model, result)]
    save_figure(circuit_figure(result, boundary, lines), folder / "circuit")
    write_recuperator(folder, result)


def write_recuperator(folder: Path, result: CircuitResult) -> None:
    """Tables and plots of the recuperator and the enthalpy difference."""
    write_table(folder / "pinch.csv", records.pinch_table(result.pinch))
    write_table(folder / "enthalpy_difference.csv", records.difference_table(result.difference))
    save_figure(pinch_figure(result), folder / "pinch")
    save_figure(difference_figure(result), folder / "enthalpy_difference")
