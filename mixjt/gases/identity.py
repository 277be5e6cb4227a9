"""What the build types in: names, designations, and the few values that the libraries do not carry."""

from __future__ import annotations

from dataclasses import dataclass, field

ISO_817 = "ISO 817:2014 and ASHRAE 34, from memory"
NO_INFRARED = "0: no infrared absorption by a monatomic or homonuclear gas"
SHORT_LIVED = "0: direct effect below 0.05, lives days or less; not listed in IPCC AR6; from memory"
NUMBER_RULE = "ISO 817 rule for elements, 700 + molar mass; from memory"


@dataclass(frozen=True)
class Identity:
    """Typed facts about one gas.

    coolprop is the fluid's name in CoolProp; typed maps a field to (value, source) and wins over the
    libraries; notes are added to a field's source; vibrations are (wavenumber [1/cm], degeneracy) of a
    non-linear molecule whose ideal heat capacity is summed from them.
    """

    name: str
    coolprop: str
    r_number: str
    aliases: tuple[str, ...] = ()
    typed: dict = field(default_factory=dict)
    notes: dict = field(default_factory=dict)
    vibrations: tuple[tuple[float, int], ...] = ()
    refrigerant: bool = True


IDENTITIES = (
    Identity("nitrogen", "Nitrogen", "R-728", typed={"gwp100": (0.0, NO_INFRARED)}),
    Identity("argon", "Argon", "R-740", typed={"gwp100": (0.0, NO_INFRARED)}),
    Identity("neon", "Neon", "R-720", typed={"gwp100": (0.0, NO_INFRARED)}),
    Identity(
        "krypton",
        "Krypton",
        "R-784",
        typed={"gwp100": (0.0, NO_INFRARED), "r_number": ("R-784", NUMBER_RULE)},
    ),
    Identity(
        "oxygen",
        "Oxygen",
        "R-732",
        typed={"gwp100": (0.0, NO_INFRARED)},
        notes={
            "refrigerant": "an impurity of feed gases; never charge oxygen into a circuit with oil or fuel gas"
        },
        refrigerant=False,
    ),
    Identity("methane", "Methane", "R-50"),
    Identity("ethylene", "Ethylene", "R-1150", ("ethene",), typed={"gwp100": (0.0, SHORT_LIVED)}),
    Identity(
        "ethane",
        "Ethane",
        "R-170",
        notes={
            "enthalpy_of_fusion": "only about 580 J/mol of it is taken up at the melting point, the rest by the"
            " solid's transition 0.5 K below (Witt and Kemp, J. Am. Chem. Soc. 59 (1937) 273, from memory)"
        },
    ),
    Identity("propylene", "Propylene", "R-1270", ("propene",), typed={"gwp100": (0.0, SHORT_LIVED)}),
    Identity("propane", "n-Propane", "R-290"),
    Identity(
        "isobutane",
        "IsoButane",
        "R-600a",
        ("i-butane", "iso-butane", "2-methylpropane", "methylpropane"),
        typed={"safety_class": ("A3", ISO_817), "gwp100": (0.0, SHORT_LIVED)},
    ),
    Identity(
        "n-butane",
        "n-Butane",
        "R-600",
        ("butane", "normal butane"),
        notes={
            "enthalpy_of_fusion": "the solid takes up about 2070 J/mol more in a transition at 107.6 K"
            " (Aston and Messerly, J. Am. Chem. Soc. 62 (1940) 1917, from memory)"
        },
    ),
    Identity(
        "isopentane",
        "Isopentane",
        "R-601a",
        ("i-pentane", "iso-pentane", "2-methylbutane", "methylbutane"),
        typed={"gwp100": (0.0, SHORT_LIVED)},
    ),
    Identity(
        "n-pentane",
        "n-Pentane",
        "R-601",
        ("pentane", "normal pentane"),
        typed={"safety_class": ("A3", ISO_817), "gwp100": (0.0, SHORT_LIVED)},
        notes={
            "ideal_cp": "below 143 K the equation is extrapolated and probably high (by about R at 100 K, from"
            " an estimate with the lowest torsions); it cancels from enthalpy differences at one temperature"
        },
    ),
    Identity(
        "tetrafluoromethane",
        "R14",
        "R-14",
        ("carbon tetrafluoride",),
        typed={"safety_class": ("A1", ISO_817)},
        vibrations=((908.4, 1), (434.5, 2), (1283.0, 3), (631.2, 3)),
        notes={
            "ideal_cp": "wavenumbers of T. Shimanouchi, NSRDS-NBS 39 (1972), from memory; the ideal part of"
            " CoolProp's equation (Platzer, Polt and Maurer, Thermophysical Properties of Refrigerants, 1990) falls below the 4 R of a rigid non-linear molecule below 80 K"
        },
    ),
    Identity("trifluoromethane", "R23", "R-23", ("fluoroform",), typed={"safety_class": ("A1", ISO_817)}),
    Identity(
        "carbon dioxide",
        "CarbonDioxide",
        "R-744",
        typed={"normal_boiling_point": (194.69, "sublimes: solid and vapour at 101325 Pa; from memory")},
    ),
)
