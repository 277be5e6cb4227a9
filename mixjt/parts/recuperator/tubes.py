"""Recuperators made of tube: flow areas, hydraulic diameters, walls and metal of what can be bent and soldered.

Three kinds: one tube inside another (the outer stream flows in the annulus), several small tubes inside one large
tube, and small tubes soldered along the outside of a large one. All lengths in metres; what belongs to a length
of exchanger is given per metre of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.bounds import require
from mixjt.errors import InputError

ROUND, ANNULUS, BUNDLE = "round", "annulus", "bundle"
TUBE_IN_TUBE, TUBES_IN_SHELL, SOLDERED = "tube in tube", "tubes in shell", "soldered tubes"
RECUPERATOR_KINDS = (TUBE_IN_TUBE, TUBES_IN_SHELL, SOLDERED)
INCH = 25.4e-3

CELLS = 100  # of a rating

SOLDER_CONDUCTIVITY = 50.0  # W/(m K), tin solders at room temperature, from memory
SOLDER_THICKNESS = 0.2e-3  # m, of a filled gap (common practice, no source)


@dataclass(frozen=True)
class Metal:
    """Thermal conductivity [W/(m K)] and density [kg/m3] of a tube metal, constant over the exchanger."""

    conductivity: float
    density: float


METALS = {
    # Phosphorus-deoxidised copper C12200 at 20 degC: Copper Development Association data sheet (from memory). It
    # conducts less when cold, which a thin wall hardly notices; axial conduction is then overstated, on the safe side.
    "copper": Metal(339.0, 8940.0),
    # Type 304: 14.9 at 300 K and 9.2 at 100 K, Incropera & DeWitt, appendix A.1 (from memory); a mean is used.
    "stainless steel": Metal(12.0, 7900.0),
    # Cartridge brass C26000: 110 at 300 K and 75 at 100 K, same table (from memory); a mean is used.
    "brass": Metal(95.0, 8530.0),
}

# Outside diameter and wall [m] of refrigeration copper tube. From memory, not confirmed: the sizes of soft coils in
# ASTM B280, and usual sizes of EN 12735-1. Suppliers differ: measure what is bought.
STANDARD_TUBES = {
    "ASTM B280": tuple(
        (outside * INCH, wall * INCH)
        for outside, wall in (
            (1 / 8, 0.030), (3 / 16, 0.030), (1 / 4, 0.030), (5 / 16, 0.032), (3 / 8, 0.032), (1 / 2, 0.032),
            (5 / 8, 0.035), (3 / 4, 0.035), (7 / 8, 0.045), (9 / 8, 0.050),
        )
    ),
    "EN 12735-1": tuple(
        (outside * 1e-3, wall * 1e-3)
        for outside, wall in (
            (4, 0.5), (5, 0.5), (6, 1.0), (8, 1.0), (10, 1.0), (12, 1.0), (15, 1.0), (16, 1.0), (18, 1.0),
            (22, 1.0), (28, 1.0),
        )
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Tube:
    """A round tube: outside diameter and wall [m].

    Raises
    ------
    InputError
        For a tube without a bore.
    """

    outer_diameter: float
    wall: float

    def __post_init__(self):
        require("tube outside diameter", self.outer_diameter, above=0.0)
        require("tube wall", self.wall, above=0.0)
        if not 2.0 * self.wall < self.outer_diameter:
            raise InputError(
                f"a tube of {1e3 * self.outer_diameter:.4g} mm outside with a wall of {1e3 * self.wall:.4g} mm "
                "has no bore"
            )

    @property
    def bore(self) -> float:
        """Inner diameter [m]."""
        return self.outer_diameter - 2.0 * self.wall

    @property
    def metal_area(self) -> float:
        """Cross-section of the metal [m2]."""
        return 0.25 * math.pi * (self.outer_diameter**2 - self.bore**2)

    @property
    def wall_resistance_factor(self) -> float:
        """Radial resistance of a metre of wall times its conductivity: ln(D/d) / 2 pi."""
        return math.log(self.outer_diameter / self.bore) / (2.0 * math.pi)


@dataclass(frozen=True)
class Channel:
    """What one stream flows through; perimeters and areas are those of all its tubes together.

    flow_area [m2]; hydraulic_diameter [m], four times flow area over wetted perimeter; heated_perimeter [m], where
    heat passes; shape is ROUND, ANNULUS or BUNDLE; diameter_ratio is inner over outer diameter of an annulus.
    fin_height [m] and fin_sheet [W/K, conductivity times wall] tell how far heat must creep along a tube wall to the
    solder; a height of nought means that the whole perimeter is next to the other stream.
    """

    flow_area: float
    hydraulic_diameter: float
    heated_perimeter: float
    shape: str = ROUND
    diameter_ratio: float = 0.0
    fin_height: float = 0.0
    fin_sheet: float = 1.0


@dataclass(frozen=True)
class ExchangerTubes:
    """A recuperator per metre of its length.

    wall_resistance is that of the metal and solder between the streams [m K/W]; metal_area the cross-section that
    conducts along the exchanger [m2]; mass in kg/m; low_leak_share is the share of the heat leak that reaches the
    low-pressure stream, because it lies outside.
    """

    kind: str
    high: Channel
    low: Channel
    material: str
    wall_resistance: float
    metal_area: float
    mass: float
    low_leak_share: float
    text: str

    @property
    def axial_conductance(self) -> float:
        """Conductivity times metal cross-section [W m/K]."""
        return metal(self.material).conductivity * self.metal_area


@dataclass(frozen=True)
class Coil:
    """A recuperator of given tubes.

    length [m] is None where it is as long as the approach or the conductance stated asks for; cells are those of its
    rating; film_factor multiplies what the correlations of heat transfer give.
    """

    tubes: ExchangerTubes
    length: float | None = None
    cells: int = CELLS
    film_factor: float = 1.0

    def __post_init__(self):
        if self.length is not None:
            require("length of the recuperator", self.length, above=0.0)


def metal(name: str) -> Metal:
    """A tube metal by its name.

    Raises
    ------
    InputError
    """
    if name not in METALS:
        raise InputError(f"unknown tube material '{name}'; known are {', '.join(METALS)}")
    return METALS[name]


def exchanger_tubes(
    kind: str,
    small: Tube,
    large: Tube,
    count: int = 1,
    material: str = "copper",
    high_in_small: bool = True,
    joint_width: float = 3e-3,
) -> ExchangerTubes:
    """The geometry of a recuperator.

    Parameters
    ----------
    kind : str
        TUBE_IN_TUBE, TUBES_IN_SHELL or SOLDERED.
    small, large : Tube
        The inner (or soldered-on) tube and the outer one.
    count : int
        Small tubes in parallel; 1 for a tube in a tube.
    material : str
        A key of METALS, for both tubes.
    high_in_small : bool
        Whether the high-pressure stream flows in the small tubes.
    joint_width : float
        Width of the solder seam between a small and the large tube [m]; for soldered tubes only.

    Raises
    ------
    InputError
        For tubes that do not fit into each other, an unknown material or kind, or a wrong count.
    """
    conducting = metal(material)
    if kind not in RECUPERATOR_KINDS:
        raise InputError(f"unknown kind of recuperator '{kind}'; known are {', '.join(RECUPERATOR_KINDS)}")
    if isinstance(count, bool) or not isinstance(count, int) or count < 1:
        raise InputError(f"the number of small tubes must be a whole number of at least 1, got {count}")
    if kind == TUBE_IN_TUBE and count != 1:
        raise InputError(f"a tube in a tube has one small tube, got {count}; several make the kind '{TUBES_IN_SHELL}'")
    if kind == SOLDERED:
        inside, outside, resistance = _soldered(small, large, count, conducting, joint_width)
    else:
        inside, outside, resistance = _nested(kind, small, large, count, conducting)
    area = count * small.metal_area + large.metal_area
    leak = 0.5 if kind == SOLDERED else (1.0 if high_in_small else 0.0)
    high, low = (inside, outside) if high_in_small else (outside, inside)
    return ExchangerTubes(
        kind=kind, high=high, low=low, material=material, wall_resistance=resistance, metal_area=area,
        mass=conducting.density * area, low_leak_share=leak, text=_text(kind, small, large, count, material),
    )  # fmt: skip


def _nested(kind: str, small: Tube, large: Tube, count: int, conducting: Metal):
    """Channels inside the small tubes and around them, and the wall between [m K/W]."""
    bundle = bundle_diameter(small.outer_diameter, count)
    if not bundle < large.bore:
        what = "the inner tube" if count == 1 else f"a bundle of {count} small tubes"
        raise InputError(
            f"{what} measures {1e3 * bundle:.4g} mm and does not fit into the bore of {1e3 * large.bore:.4g} mm"
        )
    inside = Channel(count * _circle(small.bore), small.bore, count * math.pi * small.bore)
    area = _circle(large.bore) - count * _circle(small.outer_diameter)
    heated = count * math.pi * small.outer_diameter
    hydraulic = 4.0 * area / (heated + math.pi * large.bore)
    shape = ANNULUS if kind == TUBE_IN_TUBE else BUNDLE
    ratio = small.outer_diameter / large.bore if shape == ANNULUS else 0.0
    outside = Channel(area, hydraulic, heated, shape, ratio)
    return inside, outside, small.wall_resistance_factor / (conducting.conductivity * count)


def _soldered(small: Tube, large: Tube, count: int, conducting: Metal, joint_width: float):
    """Channels of two kinds of tube side by side, whose walls are fins rooted in the solder seams.

    Each half of a small tube's circumference is a fin from its seam; so is each stretch of the large tube's
    between two seams, from both ends.
    """
    require("joint width", joint_width, above=0.0)
    room = math.pi * large.outer_diameter / count
    if not joint_width < min(room, 0.5 * math.pi * small.outer_diameter):
        raise InputError(
            f"a seam {1e3 * joint_width:.4g} mm wide does not fit {count} tubes of "
            f"{1e3 * small.outer_diameter:.4g} mm on one of {1e3 * large.outer_diameter:.4g} mm"
        )
    if count > 1 and count * small.outer_diameter > math.pi * (large.outer_diameter + small.outer_diameter):
        raise InputError(f"{count} small tubes do not fit around the large one")
    k = conducting.conductivity
    inside = Channel(count * _circle(small.bore), small.bore, count * math.pi * small.bore,
                     fin_height=0.5 * math.pi * small.bore, fin_sheet=k * small.wall)  # fmt: skip
    outside = Channel(_circle(large.bore), large.bore, math.pi * large.bore,
                      fin_height=0.5 * math.pi * large.bore / count, fin_sheet=k * large.wall)  # fmt: skip
    walls = (small.wall + large.wall) / (k * joint_width)
    solder = SOLDER_THICKNESS / (SOLDER_CONDUCTIVITY * joint_width)
    return inside, outside, (walls + solder) / count


def bundle_diameter(diameter: float, count: int) -> float:
    """Diameter [m] of the smallest circle around equal round tubes, as far as needed for a check of fit.

    Exact up to seven tubes (one, a pair, a ring around nothing or around one tube); beyond that a packing of
    70 % is taken (common practice, no source).
    """
    if count == 1:
        return diameter
    if count <= 6:
        return diameter * (1.0 + 1.0 / math.sin(math.pi / count))
    return 3.0 * diameter if count == 7 else diameter * math.sqrt(count / 0.7)


def _circle(diameter: float) -> float:
    return 0.25 * math.pi * diameter**2


def _text(kind: str, small: Tube, large: Tube, count: int, material: str) -> str:
    def size(tube: Tube) -> str:
        return f"{1e3 * tube.outer_diameter:.4g} x {1e3 * tube.wall:.3g} mm"

    number = f"{count} x " if count > 1 else ""
    joint = "along" if kind == SOLDERED else "in"
    return f"{material}, {number}{size(small)} {joint} {size(large)}"
