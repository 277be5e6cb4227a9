"""The gas catalogue against CoolProp, chemicals, thermo, statistical mechanics and published tables."""

import json
import re
import subprocess
import sys

import numpy as np
import pytest
from numpy.polynomial.polynomial import polyval

from mixjt.errors import InputError, UnknownGasError
from mixjt.gases import gas, gas_names, gas_table, resolve_name
from mixjt.gases.build import build_catalogue
from mixjt.gases.ideal_fit import fit_heat_capacity, harmonic_heat_capacity
from mixjt.gases.identity import IDENTITIES

REQUIRED = {
    "nitrogen",
    "argon",
    "neon",
    "methane",
    "ethylene",
    "ethane",
    "propylene",
    "propane",
    "isobutane",
    "n-butane",
    "isopentane",
    "n-pentane",
    "tetrafluoromethane",
    "trifluoromethane",
}
WORKING_RANGE = np.linspace(60.0, 450.0, 79)


def ideal_cp(name, temperature):
    return polyval(np.asarray(temperature) / 298.15, gas(name).ideal_cp)


# --- names


def test_required_gases_are_there():
    assert REQUIRED <= set(gas_names())


def test_names_come_in_order_of_boiling_point():
    boiling = [gas(name).normal_boiling_point for name in gas_names()]
    assert boiling == sorted(boiling)
    assert gas_names()[:3] == ("neon", "nitrogen", "argon")


@pytest.mark.parametrize(
    "spelling, name",
    [
        ("R-290", "propane"),
        ("r290", "propane"),
        ("Propane", "propane"),
        (" n-Butane ", "n-butane"),
        ("butane", "n-butane"),
        ("R-600A", "isobutane"),
        ("i-butane", "isobutane"),
        ("propene", "propylene"),
        ("ethene", "ethylene"),
        ("N2", "nitrogen"),
        ("74-82-8", "methane"),
        ("carbon-dioxide", "carbon dioxide"),
        ("carbon tetrafluoride", "tetrafluoromethane"),
        ("R-23", "trifluoromethane"),
    ],
)
def test_other_spellings(spelling, name):
    assert resolve_name(spelling) == name
    assert gas(spelling).name == name


def test_every_identifier_leads_back_to_its_gas():
    for name in gas_names():
        entry = gas(name)
        for spelling in (entry.name, entry.cas, entry.r_number, *entry.aliases):
            assert resolve_name(spelling) == name


@pytest.mark.parametrize(
    "name, near", [("propan", "propane"), ("R-2900", "propane"), ("nitrogne", "nitrogen")]
)
def test_unknown_gas_names_the_nearest(name, near):
    with pytest.raises(UnknownGasError) as caught:
        gas(name)
    text = str(caught.value)
    assert near in text and f"'{name}'" in text and "mixjt gases" in text
    assert "\n" not in text
    assert isinstance(caught.value, InputError)


@pytest.mark.parametrize("name", ["", "helium-like stuff", "C4H10", "C5H12"])
def test_names_that_fit_no_single_gas(name):
    with pytest.raises(UnknownGasError):
        gas(name)


def test_cas_numbers_have_the_right_check_digit():
    # The last digit is the sum of the others, each times its place from the right, modulo 10 (CAS rule).
    for name in gas_names():
        digits = [int(d) for d in gas(name).cas.replace("-", "")]
        total = sum(place * digit for place, digit in enumerate(reversed(digits[:-1]), start=1))
        assert total % 10 == digits[-1]


# --- constants against sources other than the one they came from


def test_molar_mass_against_atomic_masses():
    import chemicals

    for name in gas_names():
        entry = gas(name)
        expected = 1e-3 * chemicals.MW(entry.cas)
        assert entry.molar_mass == pytest.approx(expected, rel=5e-5)


def test_critical_point_against_other_compilations():
    import chemicals

    for name in gas_names():
        entry = gas(name)
        for method in {"IUPAC", "MATTHEWS", "CRC"} & set(chemicals.Tc_methods(entry.cas)):
            assert entry.critical_temperature == pytest.approx(
                chemicals.Tc(entry.cas, method=method), rel=2e-3
            )
        for method in {"IUPAC", "MATTHEWS", "CRC"} & set(chemicals.Pc_methods(entry.cas)):
            # Compilations of pc scatter by 2 % themselves (neon 2.65 to 2.76 MPa).
            assert entry.critical_pressure == pytest.approx(chemicals.Pc(entry.cas, method=method), rel=0.04)


def test_acentric_factor_against_another_compilation():
    import chemicals

    for name in gas_names():
        cas = gas(name).cas
        expected = chemicals.omega(cas, method="PSRK")
        assert gas(name).acentric_factor == pytest.approx(expected, abs=0.011)


def test_boiling_points_against_published_values():
    # CRC Handbook of Chemistry and Physics, through chemicals; nitrogen from Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361.
    import chemicals

    for name in gas_names():
        cas = gas(name).cas
        # Carbon dioxide sublimes: not in the handbook's table, but in Yaws's.
        method = next(m for m in chemicals.Tb_methods(cas) if m.startswith("CRC") or name == "carbon dioxide")
        assert gas(name).normal_boiling_point == pytest.approx(chemicals.Tb(cas, method=method), abs=0.2)
    assert gas("nitrogen").normal_boiling_point == pytest.approx(77.355, abs=1e-3)


def test_triple_points_against_melting_points():
    # The melting point at one atmosphere lies within a fraction of a kelvin of the triple point.
    import chemicals

    for name in gas_names():
        entry = gas(name)
        if name == "carbon dioxide":  # has no melting point at one atmosphere
            continue
        method = next(m for m in chemicals.Tm_methods(entry.cas) if m.startswith("CRC"))
        assert entry.triple_point_temperature == pytest.approx(
            chemicals.Tm(entry.cas, method=method), abs=0.3
        )


@pytest.mark.parametrize(
    "name, joules_per_mole",
    [
        ("nitrogen", 720),
        ("argon", 1188),
        ("methane", 941),
        ("ethylene", 3351),
        ("propylene", 2998),
        ("propane", 3524),
        ("isobutane", 4540),
        ("n-butane", 4661),
        ("n-pentane", 8393),
        ("oxygen", 444),
    ],
)
def test_enthalpy_of_fusion(name, joules_per_mole):
    # Domalski and Hearing, J. Phys. Chem. Ref. Data 25 (1996) 1, from memory.
    assert gas(name).enthalpy_of_fusion == pytest.approx(joules_per_mole, rel=0.015)


# --- safety and climate


@pytest.mark.parametrize(
    "name, percent",
    [
        ("methane", 4.4),
        ("ethane", 2.4),
        ("ethylene", 2.3),
        ("propane", 1.7),
        ("n-butane", 1.4),
        ("isobutane", 1.3),
        ("propylene", 2.0),
        ("isopentane", 1.3),
    ],
)
def test_lower_flammable_limits(name, percent):
    # IEC 60079-20-1, from memory.
    assert gas(name).lower_flammable_limit == pytest.approx(percent / 100)


def test_flammable_gases_are_class_a3_and_no_others():
    for name in gas_names():
        assert (gas(name).safety_class == "A3") == gas(name).flammable


@pytest.mark.parametrize(
    "name, value",
    [
        ("methane", 27.9),
        ("tetrafluoromethane", 7380),
        ("trifluoromethane", 14600),
        ("ethane", 0.437),
        ("propane", 0.02),
        ("n-butane", 0.006),
        ("carbon dioxide", 1),
        ("argon", 0),
    ],
)
def test_warming_potentials(name, value):
    # IPCC AR6 WG1 (2021), table 7.SM.7, from memory.
    assert gas(name).gwp100 == value


def test_only_oxygen_is_no_refrigerant():
    assert [name for name in gas_names() if not gas(name).refrigerant] == ["oxygen"]


# --- ideal-gas heat capacity


def test_heat_capacity_follows_the_reference_equation():
    import CoolProp

    for identity in IDENTITIES:
        if identity.vibrations:
            continue
        state = CoolProp.AbstractState("HEOS", identity.coolprop)
        state.specify_phase(CoolProp.iphase_gas)
        for temperature in WORKING_RANGE:
            state.update(CoolProp.DmolarT_INPUTS, 1e-6, temperature)
            expected = state.cp0molar() / state.gas_constant()
            assert ideal_cp(identity.name, temperature) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    "name, rigid, wavenumbers",
    [
        # Fundamentals of T. Shimanouchi, NSRDS-NBS 39 (1972), and Herzberg, Infrared and Raman
        # Spectra (1945), from memory; degenerate ones
        # repeated. rigid is cp0/R of translation and rotation.
        ("argon", 2.5, []),
        ("neon", 2.5, []),
        ("krypton", 2.5, []),
        ("nitrogen", 3.5, [2330]),
        ("carbon dioxide", 3.5, [1333, 667, 667, 2349]),
        ("methane", 4.0, [2917, 1534, 1534] + 3 * [3019] + 3 * [1306]),
        ("ethylene", 4.0, [3026, 1623, 1342, 1023, 3103, 1236, 949, 943, 3106, 826, 2989, 1444]),
        ("trifluoromethane", 4.0, [3036, 1117, 700, 1372, 1372, 1152, 1152, 507, 507]),
        ("tetrafluoromethane", 4.0, [908] + 2 * [435] + 3 * [1283] + 3 * [631]),
    ],
)
def test_heat_capacity_against_statistical_mechanics(name, rigid, wavenumbers):
    temperatures = np.array([60.0, 100.0, 200.0, 300.0, 400.0])
    u = 1.438777 * np.array(wavenumbers, dtype=float)[:, None] / temperatures
    expected = rigid + np.sum(u**2 * np.exp(u) / np.expm1(u) ** 2, axis=0)
    # 0.5 %: anharmonic terms, and isotopes in the case of nitrogen, are left out.
    assert ideal_cp(name, temperatures) == pytest.approx(expected, rel=5e-3)


def test_heat_capacity_against_another_compilation():
    # Thermodynamics Research Center, through thermo; it is given from 200 K for the heavier ones.
    import thermo

    for name in gas_names():
        table = thermo.HeatCapacityGas(CASRN=gas(name).cas)
        if "TRCIG" not in table.all_methods:
            assert name in ("argon", "krypton", "neon")
            continue
        for temperature in (200.0, 300.0, 450.0):
            expected = table.calculate(temperature, "TRCIG") / 8.314462618
            assert ideal_cp(name, temperature) == pytest.approx(expected, rel=0.01)


def test_heat_capacity_never_falls_below_rigid_rotation():
    # 5/2, 7/2, 4 for atoms, linear and other molecules: vibration only adds to it.
    linear = ("nitrogen", "oxygen", "carbon dioxide")
    atoms = ("argon", "neon", "krypton")
    for name in gas_names():
        least = 2.5 if name in atoms else 3.5 if name in linear else 4.0
        assert np.min(ideal_cp(name, WORKING_RANGE)) > least * (1 - 1.1e-4)


def test_fit_recovers_a_known_polynomial():
    coefficients, deviation = fit_heat_capacity(lambda T: 3.0 + 2.0 * (T / 298.15) ** 3)
    assert coefficients == pytest.approx([3.0, 0.0, 0.0, 2.0], abs=1e-10)
    assert deviation < 1e-12


def test_harmonic_limit_is_one_r_per_vibration():
    cp0 = harmonic_heat_capacity([(500.0, 2), (1000.0, 1)])
    assert cp0(1e6) == pytest.approx(7.0, abs=1e-5)
    assert cp0(20.0) == pytest.approx(4.0, abs=1e-9)


# --- the data file


def strip_versions(text):
    return re.sub(r"(CoolProp|chemicals) [\d.]+", r"\1", text)


def test_data_file_is_what_the_build_writes():
    from importlib.resources import files

    stored = json.loads(files("mixjt.gases").joinpath("gases.json").read_text())["gases"]
    built = build_catalogue()["gases"]
    assert [row["values"]["name"] for row in stored] == [row["values"]["name"] for row in built]
    for old, new in zip(stored, built):
        assert old["values"].keys() == new["values"].keys()
        for key, value in new["values"].items():
            if key == "ideal_cp":  # compared as a curve: single coefficients are ill-conditioned
                t = WORKING_RANGE / 298.15
                assert polyval(t, old["values"][key]) == pytest.approx(polyval(t, value), rel=1e-9)
            elif isinstance(value, float):
                assert old["values"][key] == pytest.approx(value, rel=1e-9, abs=0)
            else:
                assert old["values"][key] == value
        for key, source in new["sources"].items():
            assert strip_versions(old["sources"][key]) == strip_versions(source)


def test_every_value_has_a_source():
    for name in gas_names():
        sources = gas(name).sources
        for row_field in gas(name).__dataclass_fields__:
            if row_field != "sources":
                assert sources[row_field].strip()


def test_table_has_a_row_per_gas_with_units_in_its_keys():
    rows = gas_table()
    assert [row["gas"] for row in rows] == list(gas_names())
    methane = rows[gas_names().index("methane")]
    assert methane["molar_mass_g_per_mol"] == pytest.approx(16.04, abs=0.01)
    assert methane["critical_pressure_bar"] == pytest.approx(45.99, abs=0.01)
    assert methane["lower_flammable_limit_percent"] == pytest.approx(4.4)
    assert rows[0]["lower_flammable_limit_percent"] is None


def test_reading_the_catalogue_needs_no_library():
    code = (
        "import sys, mixjt.gases; mixjt.gases.gas('R-290');"
        "print([m for m in ('CoolProp', 'thermo', 'chemicals', 'numpy', 'scipy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
