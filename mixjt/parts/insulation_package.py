"""How easily heat leaks into an insulated package, from what its walls are made of and how large they are.

Conductance G = k S + what runs through the insulation, with k the mean conductivity between ambient and the cold and S
the shape factor of the walls [m]. All walls have one thickness t, the cold inside one temperature, the outside that of
the room (the film of air outside adds a few per cent to the resistance of a foam and is left out).

A box, of inner area A and inner edges of total length L (Langmuir, Adams & Meikle, Transactions of the American
Electrochemical Society 24 (1913) 53, from memory; the factors stand in every textbook, as Incropera & DeWitt's table of
shape factors; good for inner dimensions above t/5):

    S = A/t + 0.54 L + 8 (0.15 t)

A cylinder, of inner diameter d, outer D and inner height h: the wall by the logarithmic mean of its areas, the ends as
plates, and two edges by the same factor. A bent edge passes somewhat more than its inner length says; taken at d/2 + t/5
the whole is within 2 % of numerical solutions from thick walls to thin ones (`tests/test_insulation.py`):

    S = 2 pi h/ln(D/d) + 2 (pi/4) d**2/t + 2 (0.54) 2 pi (d/2 + t/5)

Mean conductivities between room temperature and 77 to 90 K: R. F. Barron, Cryogenic Systems, tables of the chapter on
storage (foams; gas-filled powders and fibres; evacuated powders), from memory. That of perlite lies between the 0.026 of
50 kg/m3 and the 0.044 of 210 kg/m3; evacuated perlite is that of 180 kg/m3 below 0.1 Pa. A dry, well sealed polyurethane
foam may be a third better, wet or cracked foam twice as bad.

Reflecting layers in vacuum pass about 1 W/m2 from 300 K to 77 K where 30 of them are laid well, in inverse proportion to
their number (figures of large cryostats, from memory). Wrapped by hand around a small cold box they are several times
worse, through seams, edges and pressure: three times is taken (common practice, no source). By far most of it is
radiation and does not fall as the difference does, so that G holds for cold ends of about 77 to 120 K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.bounds import require
from mixjt.errors import InputError
from mixjt.keys import TEXT, WHOLE, key

LAYERS = "layers in vacuum"
CONDUCTIVITIES = {  # W/(m K)
    "polyurethane foam": 0.033,
    "polystyrene foam": 0.033,
    "glass wool": 0.025,
    "mineral wool": 0.035,
    "perlite": 0.035,
    "evacuated perlite": 0.00095,
}
KINDS = (*CONDUCTIVITIES, LAYERS)
LAYERS_CONDUCTANCE = 3.0 * 30.0 * 1.0 / (300.0 - 77.0)  # W/(m2 K) times their number
EDGE, CORNER = 0.54, 0.15
SMALLEST_INSIDE = 0.2  # of the thickness
UNLESS = "needed unless conductance is stated"


@dataclass(frozen=True)
class InsulationPackage:
    """Insulation of one thickness around a cylinder (diameter, height) or a box (length, width, height); SI units.

    sized_outside tells what was measured; other [W/K] is what supports, tubes and wires conduct beside the insulation.

    Raises
    ------
    InputError
        Where it is stated by half, twice, or cannot be.
    """

    kind: str | None = key(TEXT, "what insulates", default=None, choices=KINDS, otherwise="from conductivity")
    conductivity: float | None = key(
        "heat_conductivity", "its mean thermal conductivity between ambient and the cold", default=None, within="(0, 1]",
        otherwise="by kind",
    )
    layers: int | None = key(
        WHOLE, 'reflecting layers; "layers in vacuum" only', default=None, within="[1, 200]", otherwise="-"
    )
    thickness: float | None = key(
        "length", "of the insulation, the same all around", default=None, within="(0, 2]", otherwise=UNLESS
    )
    diameter: float | None = key("length", "of a cylinder", default=None, within="(0, 5]", otherwise="-")
    length: float | None = key("length", "of a box", default=None, within="(0, 5]", otherwise="-")
    width: float | None = key("length", "of a box", default=None, within="(0, 5]", otherwise="-")
    height: float | None = key("length", "of a cylinder or a box", default=None, within="(0, 5]", otherwise=UNLESS)
    sized_outside: bool = key(
        TEXT, "where diameter or length and width, and height, are measured", at="measured", default=True,
        choices={"outside": True, "inside": False},
    )
    other: float = key(
        "heat_conductance", "what supports, tubes and wires conduct beside the insulation", default=0.0, within="[0, 100]"
    )

    def __post_init__(self):
        for name in ("conductivity", "layers", "thickness", "diameter", "length", "width", "height"):
            if getattr(self, name) is not None:
                require(f"insulation {name}", getattr(self, name), above=0.0)
        require("insulation other", self.other, least=0.0)
        self._check_stuff()
        self._check_walls()

    def _check_stuff(self):
        if (self.kind is None) == (self.conductivity is None):
            raise InputError("state what the insulation is (kind) or its conductivity, one of the two")
        if self.kind is not None and self.kind not in KINDS:
            raise InputError(f'there is no insulation "{self.kind}"; choose one of {", ".join(KINDS)}')
        if (self.layers is not None) != (self.kind == LAYERS):
            raise InputError(f'"{LAYERS}" and their number, layers, go together')

    def _check_walls(self):
        if self.thickness is None:
            raise InputError("the package lacks its thickness")
        box = (self.length, self.width)
        if (self.diameter is None) == (box == (None, None)) or None in (*(box if self.diameter is None else ()), self.height):
            raise InputError("the package needs diameter and height (a cylinder) or length, width and height (a box)")
        if min(self.inside) <= SMALLEST_INSIDE * self.thickness:
            raise InputError(
                f"walls of {1e3 * self.thickness:.4g} mm leave too little inside: {1e3 * max(min(self.inside), 0.0):.4g} mm; "
                f"the formulas want at least {SMALLEST_INSIDE:g} of the thickness"
            )

    @property
    def inside(self) -> tuple[float, ...]:
        """Inner diameter and height, or length, width and height [m]."""
        stated = (self.length, self.width, self.height) if self.diameter is None else (self.diameter, self.height)
        walls = 2.0 * self.thickness if self.sized_outside else 0.0
        return tuple(size - walls for size in stated)

    @property
    def shape_factor(self) -> float:
        """S [m]; see the head of the module."""
        thick = self.thickness
        if self.diameter is None:
            a, b, c = self.inside
            area, edges = 2.0 * (a * b + b * c + c * a), 4.0 * (a + b + c)
            return area / thick + EDGE * edges + 8.0 * CORNER * thick
        inner, height = self.inside
        wall = 2.0 * math.pi * height / math.log1p(2.0 * thick / inner)
        edges = 2.0 * 2.0 * math.pi * (0.5 * inner + 0.2 * thick)
        return wall + 0.5 * math.pi * inner**2 / thick + EDGE * edges

    @property
    def conductance(self) -> float:
        """G [W/K]"""
        if self.kind == LAYERS:
            mean = LAYERS_CONDUCTANCE / self.layers * self.thickness
        else:
            mean = CONDUCTIVITIES[self.kind] if self.conductivity is None else self.conductivity
        return mean * self.shape_factor + self.other
