"""Tube geometries, film coefficients and friction against hand values and the libraries' published examples."""

import math
from itertools import pairwise

import fluids
import ht
import numpy as np
import pytest

from mixjt.errors import InputError
from mixjt.parts.recuperator.heat_transfer import (
    PhaseProperties,
    annulus_factor,
    annulus_reynolds_factor,
    boiling_film,
    condensation_film,
    fin_efficiency,
    laminar_nusselt,
    mixture_resistance,
    single_phase_film,
    single_phase_gradient,
    two_phase_gradient,
)
from mixjt.parts.recuperator.tubes import (
    ANNULUS,
    METALS,
    SOLDERED,
    STANDARD_TUBES,
    TUBE_IN_TUBE,
    TUBES_IN_SHELL,
    Channel,
    Tube,
    bundle_diameter,
    exchanger_tubes,
)


def phase(density, viscosity, conductivity=0.1, heat_capacity=2000.0):
    return PhaseProperties(*(np.array([value]) for value in (density, viscosity, conductivity, heat_capacity)))


def tube(diameter):
    return Channel(0.25 * math.pi * diameter**2, diameter, math.pi * diameter)


def annulus(ratio, outer=0.02):
    area = 0.25 * math.pi * outer**2 * (1 - ratio**2)
    return Channel(area, outer * (1 - ratio), math.pi * outer * ratio, ANNULUS, ratio)


def test_condensation_against_the_example_of_the_library():
    """Example of `ht.Cavallini_Smith_Zecchin` (ht documentation): 5578.218369177804 W/(m2 K)."""
    flux = 1.0 / (0.25 * math.pi * 0.3**2)
    film = condensation_film(
        tube(0.3), flux, np.array([0.4]), phase(800.0, 1e-5, 0.6, 2300.0), phase(2.5, 1e-3)
    )
    assert film[0] == pytest.approx(5578.218369177804, rel=1e-9)


def test_two_phase_friction_against_the_example_of_the_library():
    """Example of `fluids.Muller_Steinhagen_Heck` (fluids documentation): 793.446545743 Pa in 1 m, a smooth tube.

    The library takes Clamond's friction factor and 64/Re; ours is Churchill's, which differs by up to 2 %.
    """
    flux = 0.6 / (0.25 * math.pi * 0.05**2)
    gradient = two_phase_gradient(
        tube(0.05), flux, np.array([0.1]), phase(915.0, 180e-6), phase(2.67, 14e-6), roughness=0.0
    )
    assert gradient[0] == pytest.approx(793.446545743, rel=0.02)


def test_two_phase_friction_meets_both_single_phases():
    liquid, vapour, channel = phase(600.0, 2e-4), phase(5.0, 9e-6), tube(8e-3)
    for x, only in ((0.0, liquid), (1.0, vapour)):
        both = two_phase_gradient(channel, 60.0, np.array([x]), liquid, vapour)
        assert both[0] == pytest.approx(single_phase_gradient(channel, 60.0, only)[0], rel=1e-12)


@pytest.mark.parametrize("reynolds", [800.0, 1e4, 3e5])
def test_single_phase_friction_against_the_library(reynolds):
    """`fluids.friction.Churchill_1977` and the definition of Darcy's factor."""
    diameter, viscosity, density = 8e-3, 1e-5, 5.0
    flux = reynolds * viscosity / diameter
    factor = fluids.friction.Churchill_1977(Re=reynolds, eD=1.5e-6 / diameter)
    gradient = single_phase_gradient(tube(diameter), flux, phase(density, viscosity))
    assert gradient[0] == pytest.approx(factor * flux**2 / (2.0 * density * diameter), rel=1e-9)


def test_turbulent_film_against_the_library():
    """`ht.turbulent_Gnielinski`, whose documented example is 254.62682749359632 at Re 1e5, Pr 1.2, f 0.0185."""
    assert ht.turbulent_Gnielinski(Re=1e5, Pr=1.2, fd=0.0185) == pytest.approx(254.62682749359632, rel=1e-12)
    diameter, viscosity = 8e-3, 1e-5
    fluid = phase(5.0, viscosity, 0.02, 1.2 * 0.02 / viscosity)
    film = single_phase_film(tube(diameter), 1e5 * viscosity / diameter, fluid)
    factor = (0.790 * math.log(1e5) - 1.64) ** -2
    nusselt = (factor / 8) * (1e5 - 1000) * 1.2 / (1 + 12.7 * (factor / 8) ** 0.5 * (1.2 ** (2 / 3) - 1))
    assert film[0] == pytest.approx(nusselt * 0.02 / diameter, rel=1e-9)


def test_laminar_film_and_its_joint_to_turbulent():
    fluid, diameter = phase(5.0, 1e-5, 0.02, 1500.0), 8e-3
    reynolds = np.array([500.0, 2299.9, 2300.1, 3999.9, 4000.1])
    film = np.array([single_phase_film(tube(diameter), r * 1e-5 / diameter, fluid)[0] for r in reynolds])
    assert film[0] == pytest.approx(48 / 11 * 0.02 / diameter)  # Incropera & DeWitt: 4.36 for constant flux
    assert np.all(np.diff(film) >= 0.0)
    assert film[2] == pytest.approx(film[1], rel=1e-3) and film[4] == pytest.approx(film[3], rel=1e-3)


def test_boiling_by_hand():
    """Gungor & Winterton (1987) without bubbles, worked out by hand for round numbers, Fr above 0.05."""
    liquid, vapour, diameter, flux, x = phase(600.0, 2e-4, 0.1, 2500.0), phase(6.0, 9e-6), 5e-3, 200.0, 0.5
    alone = 0.023 * (200.0 * 0.5 * 5e-3 / 2e-4) ** 0.8 * 5.0**0.4 * 0.1 / 5e-3
    expected = alone * (1.0 + 1.12 * 1.0 * 100.0**0.41)
    assert (flux / 600.0) ** 2 / (9.80665 * diameter) > 0.05
    assert boiling_film(tube(diameter), flux, np.array([x]), liquid, vapour)[0] == pytest.approx(expected, rel=1e-6)


def test_slow_boiling_in_a_horizontal_tube_is_worse():
    liquid, vapour = phase(600.0, 5e-5, 0.1, 2500.0), phase(6.0, 9e-6)
    flux = 60.0
    froude = (flux / 600.0) ** 2 / (9.80665 * 15e-3)
    film = boiling_film(tube(15e-3), flux, np.array([0.5]), liquid, vapour)[0]
    alone = 0.023 * (30.0 * 15e-3 / 5e-5) ** 0.8 * 1.25**0.4 * 0.1 / 15e-3
    assert froude == pytest.approx(0.068, rel=0.01)  # just above: no correction
    assert film == pytest.approx(alone * (1 + 1.12 * 100.0**0.41), rel=1e-6)
    slow = boiling_film(tube(30e-3), flux, np.array([0.5]), liquid, vapour)[0]
    alone = 0.023 * (30.0 * 30e-3 / 5e-5) ** 0.8 * 1.25**0.4 * 0.1 / 30e-3
    wet = (froude / 2) ** (0.1 - froude)
    assert wet < 1.0 and slow == pytest.approx(wet * alone * (1 + 1.12 * 100.0**0.41), rel=1e-6)


def test_mixture_resistance_by_hand():
    """Silver (1947), Bell & Ghaly (1973): x c dT/dh over the film of the vapour alone."""
    vapour, channel = phase(6.0, 9e-6, 0.02, 2000.0), tube(8e-3)
    alone = single_phase_film(channel, 0.5 * 60.0, vapour)[0]
    resistance = mixture_resistance(channel, 60.0, np.array([0.5]), vapour, np.array([4e-4]))[0]
    assert resistance == pytest.approx(0.5 * 2000.0 * 4e-4 / alone, rel=1e-12)
    assert mixture_resistance(channel, 60.0, np.array([0.5]), vapour, np.array([0.0]))[0] == 0.0  # azeotrope


def test_annulus_limits():
    assert laminar_nusselt(annulus(0.9999)) == pytest.approx(5.385, rel=1e-3)  # parallel plates, one side heated
    assert annulus_reynolds_factor(annulus(0.97)) == pytest.approx(2.0 / 3.0, rel=1e-3)  # 96/Re between plates
    assert annulus_reynolds_factor(annulus(1e-6)) == pytest.approx(1.0, rel=0.1)
    assert annulus_reynolds_factor(annulus(0.5)) == pytest.approx(64.0 / 95.25, rel=1e-3)  # f Re = 95.25: Kakac et al.
    assert annulus_factor(annulus(0.39)) == pytest.approx(1.0, rel=0.01)
    assert annulus_factor(tube(0.01)) == 1.0


def test_fin_efficiency_limits():
    fin = Channel(1e-4, 1e-2, 0.03, fin_height=0.01, fin_sheet=0.3)
    assert fin_efficiency(fin, np.array([1e-6]))[0] == pytest.approx(1.0)
    reach = math.sqrt(3e5 / 0.3) * 0.01
    assert fin_efficiency(fin, np.array([3e5]))[0] == pytest.approx(1.0 / reach, rel=1e-6)  # a tall fin: 1/mW


def test_tube_in_tube_by_hand():
    tubes = exchanger_tubes(TUBE_IN_TUBE, Tube(6e-3, 1e-3), Tube(12e-3, 1e-3))
    assert tubes.high.flow_area == pytest.approx(math.pi * 4e-6)
    assert tubes.low.flow_area == pytest.approx(math.pi / 4 * (100e-6 - 36e-6))
    assert tubes.low.hydraulic_diameter == pytest.approx(4e-3)  # D - d of an annulus
    assert tubes.wall_resistance == pytest.approx(math.log(1.5) / (2 * math.pi * 339.0))
    assert tubes.metal_area == pytest.approx(math.pi / 4 * (36 - 16 + 144 - 100) * 1e-6)
    assert tubes.mass == pytest.approx(8940.0 * tubes.metal_area)
    assert tubes.low_leak_share == 1.0
    turned = exchanger_tubes(TUBE_IN_TUBE, Tube(6e-3, 1e-3), Tube(12e-3, 1e-3), high_in_small=False)
    assert turned.high == tubes.low and turned.low == tubes.high and turned.low_leak_share == 0.0


def test_bundle_by_hand():
    tubes = exchanger_tubes(TUBES_IN_SHELL, Tube(3e-3, 0.5e-3), Tube(12e-3, 1e-3), count=5)
    assert tubes.high.flow_area == pytest.approx(5 * math.pi * 1e-6)
    wetted = math.pi * (5 * 3e-3 + 10e-3)
    assert tubes.low.hydraulic_diameter == pytest.approx(math.pi * (100 - 45) * 1e-6 / wetted)
    assert bundle_diameter(1.0, 3) == pytest.approx(1 + 2 / math.sqrt(3)) and bundle_diameter(1.0, 7) == 3.0


def test_soldered_tubes_have_fins_and_a_seam():
    one = exchanger_tubes(SOLDERED, Tube(6e-3, 1e-3), Tube(10e-3, 1e-3))
    two = exchanger_tubes(SOLDERED, Tube(6e-3, 1e-3), Tube(10e-3, 1e-3), count=2)
    assert one.high.fin_height == pytest.approx(math.pi * 2e-3) and two.low.fin_height < one.low.fin_height
    assert two.wall_resistance == pytest.approx(0.5 * one.wall_resistance)
    assert one.wall_resistance == pytest.approx((2e-3 / 339.0 + 0.2e-3 / 50.0) / 3e-3)


def test_every_standard_tube_has_a_bore_and_grows():
    for sizes in STANDARD_TUBES.values():
        tubes = [Tube(*size) for size in sizes]
        assert all(a.outer_diameter < b.outer_diameter for a, b in pairwise(tubes))
        assert all(0.5 < tube.bore / tube.outer_diameter < 0.95 for tube in tubes)


@pytest.mark.parametrize(
    "arguments, complaint",
    [
        ((TUBE_IN_TUBE, Tube(10e-3, 1e-3), Tube(12e-3, 1e-3)), "does not fit into the bore"),
        ((TUBES_IN_SHELL, Tube(4e-3, 1e-3), Tube(12e-3, 1e-3), 7), "bundle of 7"),
        ((TUBE_IN_TUBE, Tube(4e-3, 1e-3), Tube(12e-3, 1e-3), 2), "one small tube"),
        ((TUBES_IN_SHELL, Tube(4e-3, 1e-3), Tube(12e-3, 1e-3), 0), "at least 1"),
        (("spiral", Tube(4e-3, 1e-3), Tube(12e-3, 1e-3)), "unknown kind"),
        ((TUBE_IN_TUBE, Tube(4e-3, 1e-3), Tube(12e-3, 1e-3), 1, "tin"), "unknown tube material 'tin'"),
        ((SOLDERED, Tube(4e-3, 1e-3), Tube(12e-3, 1e-3), 1, "copper", True, 0.02), "seam"),
    ],
)
def test_geometries_that_cannot_be_are_refused(arguments, complaint):
    with pytest.raises(InputError, match=complaint):
        exchanger_tubes(*arguments)


@pytest.mark.parametrize("diameter, wall", [(6e-3, 3e-3), (0.0, 1e-3), (6e-3, 0.0), (float("nan"), 1e-3)])
def test_tubes_that_cannot_be_are_refused(diameter, wall):
    with pytest.raises(InputError):
        Tube(diameter, wall)


def test_steel_conducts_less_than_copper():
    assert METALS["stainless steel"].conductivity < 0.1 * METALS["copper"].conductivity
