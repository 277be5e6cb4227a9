"""Limits of the charge in the search: kept by the inventory of the circuit solved in full."""

import numpy as np
import pytest
from test_limits import DEMO
from test_search import MACHINE, THREE, find, request

from mixjt.case.case import read_case
from mixjt.circuit.inventory import Volumes, contained
from mixjt.circuit.solve import solve_circuit
from mixjt.cli.app import main
from mixjt.errors import InputError, MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.studies.search.charge_limit import ChargeConstraint

VOLUMES = Volumes(hot=0.5e-3, high=0.3e-3, low=1.2e-3, evaporator=0.1e-3, buffer=3e-3)


@pytest.fixture(scope="module")
def free():
    return find(request(THREE)).candidates[0]


def mass(result):
    return contained(result).inventory(VOLUMES, None).charge.mass


def test_the_charge_is_kept_and_the_cooling_is_that_of_the_best_of_a_grid_which_keeps_it(free):
    limit = 0.9 * mass(free)
    found = find(request(THREE, constraints=(ChargeConstraint(MACHINE, VOLUMES, None, largest_charge=limit),)))
    assert max(mass(one) for one in found.candidates) <= limit * 1.001
    best = found.candidates[0]
    assert best.cooling_power < free.cooling_power
    model, rival = load_model("multi-fluid", THREE), 0.0
    for nitrogen in np.arange(0.0, 0.25, 0.04):
        for methane in np.arange(0.2, 0.64, 0.04):
            z = np.array([nitrogen, methane, 1.0 - nitrogen - methane])
            try:
                other = solve_circuit(Fluid(model, z), MACHINE)
            except MixjtError:  # no cooling: no rival
                continue
            if mass(other) <= limit and other.suction_superheat >= 5.0:
                rival = max(rival, other.cooling_power)
    assert best.cooling_power >= 0.99 * rival


def test_a_pressure_at_rest_is_kept(free):
    """The hottest pressure, about that of an ideal gas, held against the limit in the inventory's own terms."""
    at_rest = ChargeConstraint(MACHINE, VOLUMES, None, largest_pressure=20e5)
    margin = at_rest.solved_margin(free)
    limit = 20e5 * np.exp(-margin / 100.0) * 0.93
    found = find(request(THREE, constraints=(ChargeConstraint(MACHINE, VOLUMES, None, largest_pressure=limit),)))
    for one in found.candidates:
        assert at_rest.solved_margin(one) >= 100.0 * np.log(20e5 / limit) - 0.1


def test_case_and_command(tmp_path, capsys):
    path = tmp_path / "case.toml"
    text = DEMO.read_text().replace("[search]\n", '[search]\nlargest_charge = "150 g"\nlargest_standing_pressure = "14 bar"\n')
    path.write_text(text)
    pressure, mass = (one for one in read_case(path).search.constraints if isinstance(one, ChargeConstraint))
    assert (pressure.largest_charge, pressure.largest_pressure) == (None, 14e5)
    assert (mass.largest_charge, mass.largest_pressure) == (0.15, None)
    assert main(["search", str(path), "--circuit", "separator"]) == 2
    assert "phase separator" in capsys.readouterr().err
    path.write_text(text.replace(text[text.index("[volumes]") : text.index("[standstill]")], ""))
    assert main(["search", str(path)]) == 2
    assert "needs the volumes" in capsys.readouterr().err
    with pytest.raises(InputError, match="largest pressure or a largest mass"):
        ChargeConstraint(MACHINE, VOLUMES, None)
