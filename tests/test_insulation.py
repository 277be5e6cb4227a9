"""The conductance of an insulated package, how a case states it, and what leaks in through it."""

import math
from pathlib import Path

import numpy as np
import pytest
from circuit_samples import DROPS, machine
from scipy import sparse
from scipy.sparse.linalg import spsolve

from mixjt.case.case import read_case
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.insulation import Insulation
from mixjt.parts.insulation_package import CONDUCTIVITIES, LAYERS, InsulationPackage
from mixjt.report.circuit_report import circuit_record

DEMO = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"


def test_a_box_is_the_furnace_of_the_textbook():
    """Incropera & DeWitt, problem of the cubical furnace of 5 m outside, 0.35 m of brick of 1.4 W/(m K), 1100 degC inside,
    air of 25 degC outside at 5 W/(m2 K): 316 kW (from memory)."""
    furnace = InsulationPackage(conductivity=1.4, thickness=0.35, length=5.0, width=5.0, height=5.0)
    film = 1.0 / (5.0 * 6.0 * 25.0)
    assert 1075.0 / (film + 1.0 / furnace.conductance) == pytest.approx(316e3, rel=3e-3)
    assert furnace.shape_factor == pytest.approx(6 * 4.3**2 / 0.35 + 12 * 0.54 * 4.3 + 8 * 0.15 * 0.35)  # by hand


def conducted(radius: float, height: float, thickness: float, cells: int) -> float:
    """Shape factor [m] of a cylinder's insulation by finite volumes of equal size, cells to its thickness."""
    step = thickness / cells
    count = round((radius + thickness) / step), round((0.5 * height + thickness) / step)  # of a quarter of the section
    r, z = ((np.arange(n) + 0.5) * step for n in count)
    warm = np.add.outer(r > radius, z > 0.5 * height)
    place = np.cumsum(warm).reshape(warm.shape) - 1
    diagonal, source, entries = np.zeros(warm.sum()), np.zeros(warm.sum()), []
    for i, j in np.argwhere(warm):
        ring = math.pi * ((i + 1) ** 2 - i**2) * step**2
        sides = {(i + 1, j): 2 * math.pi * (i + 1) * step**2, (i - 1, j): 2 * math.pi * i * step**2,
                 (i, j + 1): ring, (i, j - 1): ring}  # fmt: skip
        here = place[i, j]
        for (a, b), area in sides.items():
            if a < 0 or b < 0:  # axis and middle
                continue
            beyond = a >= count[0] or b >= count[1]
            if beyond or not warm[a, b]:
                diagonal[here] += 2.0 * area / step
                source[here] += 0.0 if beyond else 2.0 * area / step
            else:
                diagonal[here] += area / step
                entries.append((here, place[a, b], -area / step))
    row, column, value = zip(*entries)
    matrix = sparse.csc_matrix((value, (row, column)), shape=(len(diagonal),) * 2) + sparse.diags(diagonal)
    return 2.0 * float(source @ (1.0 - spsolve(sparse.csc_matrix(matrix), source)))


@pytest.mark.parametrize("radius, height, thickness", [(0.15, 0.4, 0.15), (0.15, 0.4, 0.05), (0.1, 0.2, 0.2), (0.05, 0.3, 0.1)])
def test_a_cylinder_conducts_what_finite_volumes_say(radius, height, thickness):
    coarse, fine = (conducted(radius, height, thickness, cells) for cells in (6, 12))
    package = InsulationPackage(
        conductivity=1.0, thickness=thickness, diameter=2 * radius, height=height, sized_outside=False
    )
    assert package.shape_factor == pytest.approx(2.0 * fine - coarse, rel=0.02)  # the error falls with the step


def test_thin_walls_are_plates_and_outside_sizes_are_inside_ones_with_their_walls():
    thin = InsulationPackage(kind="mineral wool", thickness=1e-4, diameter=1.0, height=1.0, sized_outside=False)
    area = math.pi + 0.5 * math.pi
    assert thin.conductance == pytest.approx(CONDUCTIVITIES["mineral wool"] * area / 1e-4, rel=1e-3)
    inside = InsulationPackage(kind="perlite", thickness=0.1, length=0.3, width=0.2, height=0.4, sized_outside=False)
    outside = InsulationPackage(kind="perlite", thickness=0.1, length=0.5, width=0.4, height=0.6, other=0.01)
    assert outside.conductance == pytest.approx(inside.conductance + 0.01, rel=1e-12)


def test_layers_in_vacuum_pass_little_and_less_the_more_there_are():
    """ASTM C740: such insulations serve where less than 10 W/m2 is needed."""
    sizes = {"thickness": 0.01, "diameter": 1.0, "height": 1.0, "sized_outside": False}
    thirty, sixty = (InsulationPackage(kind=LAYERS, layers=n, **sizes) for n in (30, 60))
    assert 1.0 < thirty.conductance * (300.0 - 77.0) / (1.5 * math.pi) < 10.0
    assert thirty.conductance == pytest.approx(2.0 * sixty.conductance)


def written(tmp_path, lines: str):
    text = DEMO.read_text(encoding="utf-8")
    start, end = text.index("[insulation]"), text.index("[cold_end]")
    path = tmp_path / "case.toml"
    path.write_text(text[:start] + lines + "\n" + text[end:], encoding="utf-8")
    return path


CYLINDER = 'thickness = "0.1 m"\ndiameter = "0.5 m"\nheight = "0.6 m"\n'


def test_a_case_states_the_conductance_or_the_package(tmp_path):
    stated = read_case(written(tmp_path, '[insulation]\nconductance = "0.05 W/K"\ncold_end_share = 0.3')).circuit.insulation
    assert stated == Insulation(0.05, 0.3)
    by_kind = read_case(written(tmp_path, f'[insulation]\nkind = "glass wool"\n{CYLINDER}')).circuit.insulation
    by_value = read_case(written(tmp_path, f'[insulation]\nconductivity = "25 mW/m/K"\n{CYLINDER}')).circuit.insulation
    assert by_kind.conductance == pytest.approx(by_value.conductance) and by_kind.cold_end_share == 0.2
    assert read_case(written(tmp_path, "")).circuit.insulation is None


@pytest.mark.parametrize(
    "lines, complaint",
    [
        ("", "state what the insulation is"),
        ('kind = "perlite"\nconductivity = "0.04 W/m/K"\n' + CYLINDER, "one of the two"),
        ('kind = "straw"\n' + CYLINDER, "straw"),
        ('kind = "perlite"', "lacks its thickness"),
        ('kind = "perlite"\nthickness = "0.1 m"\ndiameter = "0.5 m"', "diameter and height"),
        ('kind = "perlite"\nthickness = "0.1 m"\nlength = "0.5 m"\nheight = "0.5 m"', "length, width and height"),
        ('kind = "perlite"\nwidth = "0.5 m"\n' + CYLINDER, "diameter and height"),
        ('kind = "layers in vacuum"\n' + CYLINDER, "go together"),
        ('kind = "perlite"\nlayers = 20\n' + CYLINDER, "go together"),
        ('kind = "perlite"\n' + CYLINDER.replace("0.5", "0.2"), "too little inside: 0 mm"),
        ('conductance = "0.1 W/K"\n' + CYLINDER, r"\[insulation\] thickness: the conductance is stated already"),
    ],
)
def test_a_package_stated_by_half_is_refused_in_one_line(tmp_path, lines, complaint):
    with pytest.raises(InputError, match=complaint) as error:
        read_case(written(tmp_path, f"[insulation]\n{lines}"))
    assert "case.toml, line" in str(error.value) and "\n" not in str(error.value)


def test_what_leaks_in_is_told_and_balances(model_of):
    fluid = Fluid(model_of(("nitrogen", "methane", "propane", "isobutane")), np.array([0.22, 0.285, 0.325, 0.17]))
    circuit = machine(cold_temperature=110.0, insulation=Insulation(0.05, 0.4), **DROPS)
    result = solve_circuit(fluid, circuit, 32)
    record = circuit_record(result)
    at_end = 0.05 * 0.4 * (295.0 - 110.0)  # G times its share times the difference
    assert record["heat_leak_cold_end_W"] == pytest.approx(at_end, rel=1e-4)
    assert at_end < record["heat_leak_W"] < at_end + 0.05 * 0.6 * (295.0 - 110.0)
    assert record["insulation_conductance_W_per_K"] == 0.05
    rejected = (result.aftercooler_heat + result.shell_heat) * result.molar_flow
    gained = result.compressor_power + result.cooling_power + record["heat_leak_W"]
    assert gained == pytest.approx(rejected, rel=1e-5)


def test_without_insulation_a_leak_is_not_known(model_of):
    fluid = Fluid(model_of(("nitrogen", "methane", "propane", "isobutane")), np.array([0.22, 0.285, 0.325, 0.17]))
    record = circuit_record(solve_circuit(fluid, machine(cold_temperature=110.0), 32))
    assert record["heat_leak_W"] is record["heat_leak_cold_end_W"] is record["insulation_conductance_W_per_K"] is None
