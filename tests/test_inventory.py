"""What a circuit holds: hold-up by slip against the formula itself, limits, balances, and both ways between blend and charge."""

from dataclasses import replace

import numpy as np
import pytest
from circuit_samples import machine
from test_settled import CIRCUIT, GASES, TUBE, UA, Z
from toy_model import PureFluid

from mixjt.blend import pure_ingredient
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.inventory import BUFFER, HIGH, LOW, OIL, SHELL, Volumes, contained, evenly
from mixjt.circuit.settled import settle_machine
from mixjt.circuit.solve import solve_circuit, with_separator
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.fluid.transport import surface_tension
from mixjt.parts import places
from mixjt.parts.hold_up import Passing
from mixjt.parts.oil import Oil
from mixjt.parts.slip import SLIPS, void_fraction
from mixjt.studies import robust
from mixjt.studies.circulation import charge_response, circulating
from mixjt.studies.recipe import recipe_of, shifted
from mixjt.studies.robust import worst_case

VOLUMES = Volumes(hot=0.3e-3, high=0.1e-3, low=0.4e-3, evaporator=0.1e-3, buffer=3e-3)
LITTLE_OIL = Oil("mineral", 0.1)


@pytest.fixture(scope="module")
def fluid():
    return Fluid(load_model("multi-fluid", GASES), Z)


@pytest.fixture(scope="module")
def solved(fluid):
    return solve_circuit(fluid, CIRCUIT)


@pytest.fixture(scope="module")
def filled(solved):
    return contained(solved)


def by_formula(fluid, state, slip):
    """n_i/V = a rho_v y_i + (1 - a) sum s_k rho_k x_ki, phase by phase (Zivi 1964 for the slip in a)."""
    vapour, liquids = state.phases[0], state.liquids
    flowing = np.array([one.fraction * one.molar_volume for one in liquids])
    masses = fluid.model.molar_masses
    weights = np.array([one.fraction * one.composition @ masses for one in (vapour, *liquids)])
    quality = weights[0] / weights.sum()
    a = void_fraction(slip, quality, weights[0] / (vapour.fraction * vapour.molar_volume), weights[1:].sum() / flowing.sum())
    held = a * vapour.composition / vapour.molar_volume
    for liquid, share in zip(liquids, flowing / flowing.sum(), strict=True):
        held = held + (1.0 - a) * share * liquid.composition / liquid.molar_volume
    return held


@pytest.mark.parametrize("slip", ["none", "Zivi"])
@pytest.mark.parametrize(
    "gases, z, temperature, pressure, liquids",
    [
        (GASES, Z, 180.0, 5e5, 1),
        (("nitrogen", "ethane"), np.array([0.6, 0.4]), 90.69, 7.9e5, 2),  # two liquids: J. Chem. Thermodyn. 34 (2002) 669
        (("nitrogen", "methane", "propane"), np.array([0.75, 0.15, 0.10]), 99.0, 5.0e5, 2),  # vapour and two liquids
    ],
)
def test_a_section_holds_what_the_formula_says(gases, z, temperature, pressure, liquids, slip):
    fluid = Fluid(load_model("multi-fluid", gases), z)
    state = fluid.tp(temperature, pressure)
    assert len(state.liquids) == liquids
    held = Passing.at(fluid, fluid.sweep(np.array([temperature]), pressure)).density(slip)[0]
    assert held == pytest.approx(Passing.of(fluid, [state]).density(slip)[0], rel=1e-4)
    if state.phases[0].kind == "liquid":  # both liquids, no vapour: they move together
        assert held == pytest.approx(z / state.molar_volume, rel=1e-4)
    else:
        assert held == pytest.approx(by_formula(fluid, state, slip), rel=1e-4)


def test_the_drift_of_a_known_mass_flux_holds_liquid_back_too(filled):
    """Rouhani and Axelsson's slip at the flux of the side, with the surface tension of the phases themselves."""
    fluid, state = filled.fluid, filled.fluid.tp(200.0, 3e5)
    passing = Passing.at(fluid, fluid.sweep(np.array([200.0]), 3e5))
    vapour, (liquid,) = state.phases[0], state.liquids
    masses = fluid.model.molar_masses
    densities = [one.composition @ masses / one.molar_volume for one in (vapour, liquid)]
    quality = vapour.fraction * (vapour.composition @ masses) / fluid.molar_mass
    a = void_fraction("Rouhani-Axelsson", quality, *densities, 120.0, surface_tension(fluid.gases, liquid, vapour))
    wanted = a * vapour.composition / vapour.molar_volume + (1.0 - a) * liquid.composition / liquid.molar_volume
    assert passing.density("Rouhani-Axelsson", 120.0)[0] == pytest.approx(wanted, rel=1e-4)
    tubes = {"high_area": 12.6e-6, "low_area": 50.3e-6}
    masses = [filled.inventory(replace(VOLUMES, slip=slip, **tubes), None).charge.mass for slip in SLIPS]
    none, zivi, drift = masses
    assert none < min(zivi, drift)


def test_without_slip_and_oil_the_charge_is_what_circulates_and_its_amount_is_volume_over_molar_volume(fluid, solved, filled):
    held = filled.inventory(replace(VOLUMES, slip="none"), None)
    assert held.charge.fluid.z == pytest.approx(Z, abs=1e-12)
    points, volumes = solved.points, VOLUMES
    rest = fluid.tp(295.0, CIRCUIT.suction_pressure)
    assert held.parts[BUFFER].sum() == pytest.approx(volumes.buffer / rest.molar_volume, rel=1e-9)
    pairs = (HIGH, solved.pinch.high_temperature, CIRCUIT.discharge_pressure, volumes.high), (
        LOW, solved.pinch.low_temperature, CIRCUIT.suction_pressure, volumes.low,
    )  # fmt: skip
    for part, temperatures, pressure, volume in pairs:
        densities = [1.0 / fluid.tp(float(one), pressure).molar_volume for one in temperatures]
        apart = solved.pinch.high_temperature - solved.pinch.low_temperature
        length = np.diff(solved.pinch.heat) * 0.5 * (1.0 / apart[1:] + 1.0 / apart[:-1])  # trapezoids of dh/dT
        mean = np.sum(0.5 * (np.array(densities[1:]) + densities[:-1]) * length) / length.sum()
        assert held.parts[part].sum() == pytest.approx(volume * mean, rel=5e-3)
    warm = 1.0 / points[places.COMPRESSOR_OUTLET].molar_volume, 1.0 / points[places.AFTERCOOLER_OUTLET].molar_volume
    assert warm[0] * volumes.hot < held.parts["aftercooler"].sum() < warm[1] * volumes.hot


def test_gas_alone_is_not_kept_back():
    """A circuit of nitrogen and argon that stays warm holds no liquid anywhere: slip changes nothing."""
    fluid = Fluid(load_model("multi-fluid", ("nitrogen", "argon")), np.array([0.6, 0.4]))
    filled = contained(solve_circuit(fluid, machine(cold_temperature=250.0, discharge_pressure=30e5, suction_pressure=10e5)))
    none, zivi = (filled.inventory(replace(VOLUMES, slip=slip), None) for slip in ("none", "Zivi"))
    assert zivi.amounts == pytest.approx(none.amounts, rel=1e-12)
    assert zivi.charge.fluid.z == pytest.approx([0.6, 0.4], abs=1e-12)


def test_all_volume_in_the_buffer_is_gas_at_suction_pressure(fluid, filled):
    held = filled.inventory(Volumes(0.0, 0.0, 0.0, 0.0, 2e-3), None)
    assert set(held.parts) == {BUFFER}
    assert held.amounts == pytest.approx(2e-3 * Z / fluid.tp(295.0, CIRCUIT.suction_pressure).molar_volume, rel=1e-9)


def test_the_shell_holds_discharge_gas_of_a_rotary_machine_and_suction_gas_of_a_piston(fluid, filled):
    small = Volumes(0.0, 0.0, 0.0, 0.0, 0.0, shell=1e-3)
    rotary = filled.inventory(small, None).parts[SHELL].sum()
    state = fluid.tp(filled.shell_temperature, CIRCUIT.discharge_pressure)
    assert rotary == pytest.approx(1e-3 / state.molar_volume, rel=1e-9)
    piston = replace(filled, compressor=replace(CIRCUIT.compressor, kind="reciprocating")).inventory(small, None)
    state = fluid.tp(filled.shell_temperature, CIRCUIT.suction_pressure)
    assert piston.parts[SHELL].sum() == pytest.approx(1e-3 / state.molar_volume, rel=1e-9)


def test_heavy_gases_are_kept_back_by_liquid_and_oil(filled):
    """The direction of Gong, Deng & Wu, Cryocoolers 14 (2007): less of the heavy gases circulates than was charged."""
    heavy, light = GASES.index("propane"), GASES.index("nitrogen")
    before = Z
    for oil, slip in ((None, "Zivi"), (LITTLE_OIL, "Zivi"), (LITTLE_OIL.times(2.0), "Zivi")):
        charged = filled.inventory(replace(VOLUMES, slip=slip), oil).charge.fluid.z
        assert charged[heavy] > before[heavy] and charged[light] < before[light]
        before = charged


def test_the_parts_add_up(filled, fluid):
    held = filled.inventory(VOLUMES, LITTLE_OIL)
    assert OIL in held.parts
    assert sum(held.mass_in(part) for part in held.parts) == pytest.approx(held.charge.mass, rel=1e-12)
    assert held.charge.mass == pytest.approx(float(held.amounts @ fluid.model.molar_masses), rel=1e-12)


def test_the_order_of_the_gases_does_not_matter(filled):
    order = [2, 0, 1]
    turned = Fluid(load_model("multi-fluid", tuple(GASES[i] for i in order)), Z[order])
    other = contained(solve_circuit(turned, CIRCUIT)).inventory(VOLUMES, LITTLE_OIL)
    assert other.amounts == pytest.approx(filled.inventory(VOLUMES, LITTLE_OIL).amounts[order], rel=1e-5)


def test_a_pure_fluid_boils_in_the_evaporator():
    """Density even in the heat taken up: rho = 1/(v_l + X (v_v - v_l)), whose mean is ln(v_2/v_1)/(v_2 - v_1)."""
    fluid = Fluid(PureFluid("propane", "Propane"), [1.0])
    start, end = fluid.hp(fluid.tp(250.0, 10e5).enthalpy + 2000.0, 1e5), fluid.hp(fluid.tp(300.0, 1e5).enthalpy - 12e3, 1e5)
    passing, share = evenly(fluid, start, end)
    mean = np.trapezoid(passing.density("none")[:, 0], share)
    assert mean == pytest.approx(np.log(end.molar_volume / start.molar_volume) / (end.molar_volume - start.molar_volume), rel=0.02)


def test_a_charge_put_back_in_circulates_the_blend_it_was_found_for(fluid, filled):
    charge = filled.inventory(VOLUMES, LITTLE_OIL).amounts
    astray = fluid.of(charge / charge.sum())  # to start from
    found = circulating(astray, CIRCUIT, charge, VOLUMES, LITTLE_OIL)
    assert found.result.fluid.z == pytest.approx(Z, abs=1e-6)
    assert found.result.suction_pressure == pytest.approx(CIRCUIT.suction_pressure, rel=1e-6)
    assert found.inventory.amounts == pytest.approx(charge, rel=1e-6) and found.miss < 1e-6


def test_charging_what_should_circulate_circulates_something_lighter(fluid, solved, filled):
    amount = filled.inventory(VOLUMES, LITTLE_OIL).amounts.sum()
    found = circulating(fluid, CIRCUIT, amount * Z, VOLUMES, LITTLE_OIL)
    assert found.result.composition[0] > Z[0] and found.result.composition[2] < Z[2]
    assert found.result.cooling_power != pytest.approx(solved.cooling_power, rel=0.02)


def test_the_response_tells_what_a_gram_does(fluid, filled):
    charge = filled.inventory(VOLUMES, LITTLE_OIL).amounts
    response = charge_response(fluid, CIRCUIT, VOLUMES, LITTLE_OIL)
    off = charge * np.array([1.0, 1.0, 1.03])
    found = circulating(fluid, CIRCUIT, off, VOLUMES, LITTLE_OIL).result.composition
    assert response.circulating(off[None])[0] - Z == pytest.approx(found - Z, rel=0.1, abs=2e-5)
    assert response.circulating(charge[None])[0] == pytest.approx(Z, abs=1e-12)


def test_the_worst_case_is_one_of_the_charge(fluid, filled):
    """A hundredth more propane in the charge: its neighbour is what circulates of that, by the full circuit."""
    charge = filled.inventory(VOLUMES, LITTLE_OIL).amounts
    response = charge_response(fluid, CIRCUIT, VOLUMES, LITTLE_OIL)
    recipe = recipe_of([pure_ingredient(name) for name in GASES], Z, GASES)
    worst = worst_case(fluid.model, recipe, Z, CIRCUIT, 0.01, response=response)
    assert worst.worst[0] <= worst.nominal[0] and worst.neighbour[0]
    beside = dict(robust._neighbours(recipe, Z, 0.01, response))["propane +1 mol %"]
    off = charge.sum() * shifted(charge / charge.sum(), GASES.index("propane"), 0.01)
    found = circulating(fluid, CIRCUIT, off, VOLUMES, LITTLE_OIL).result.composition
    assert beside - Z == pytest.approx(found - Z, rel=0.1, abs=5e-5)


def test_a_settled_machine_holds_its_charge_and_circulates_it_all_while_it_is_warm(fluid, filled):
    charge = 0.5 * filled.inventory(VOLUMES, None).amounts  # little enough for no liquid in the warm machine
    fixed = FixedMachine(CIRCUIT, TUBE, UA, VOLUMES, None, charge)
    warm = settle_machine(fluid, fixed, 295.0)
    assert warm.fluid.z == pytest.approx(charge / charge.sum(), abs=1e-3)
    cold = settle_machine(fluid, fixed, 150.0)
    for one in (warm, cold):
        assert one.inventory.amounts == pytest.approx(charge, rel=2e-3)
    assert cold.fluid.z[2] < warm.fluid.z[2] and cold.fluid.z[0] > warm.fluid.z[0]


def test_a_machine_at_its_design_settles_there(fluid, solved, filled):
    """The needle valve keeps the discharge: a charge found for the design brings back its pressures and its blend."""
    charge = filled.inventory(VOLUMES, None).amounts
    fixed = FixedMachine(CIRCUIT, None, solved.recuperator_conductance, VOLUMES, None, charge)
    found = settle_machine(fluid, fixed, CIRCUIT.cold_temperature)
    assert found.suction_pressure == pytest.approx(CIRCUIT.suction_pressure, rel=0.01)
    assert found.fluid.z == pytest.approx(Z, abs=0.002)
    assert found.cooling_power == pytest.approx(solved.cooling_power, rel=0.02)


def test_refusals(fluid, solved):
    with pytest.raises(InputError, match="volumes above 0"):
        Volumes(0.0, 0.0, 0.0, 0.0, 0.0)
    with pytest.raises(InputError, match="slip must be"):
        replace(VOLUMES, slip="some")
    with pytest.raises(InputError, match="needs the recuperator's tubes"):
        replace(VOLUMES, slip="Rouhani-Axelsson")
    apart = with_separator(replace(CIRCUIT, cold_temperature=170.0), 300.0)
    with pytest.raises(InputError, match="phase separator"):
        contained(solve_circuit(fluid, apart))
    with pytest.raises((UnreachableError, ConvergenceError)):
        circulating(fluid, CIRCUIT, 1e3 * Z, VOLUMES, None)  # a kilomole
