"""The demo machine is one machine, what a case says twice must agree, and its charge at rest is known."""

import json
import re
from pathlib import Path

import pytest

from mixjt.case.case import read_case
from mixjt.case.contradictions import contradictions
from mixjt.case.standstill_case import standstill_request
from mixjt.cli.app import main
from mixjt.errors import InputError
from mixjt.parts.recuperator.tubes import TUBE_IN_TUBE, Tube, exchanger_tubes

DEMO = Path(__file__).parent.parent / "mixtures-demo"
ONE_MACHINE = ("receiver-120K", "receiver-tubes", "receiver-cooldown", "receiver-95K", "receiver-precooled",
               "liquid-nitrogen")  # fmt: skip
AT_120_K = ONE_MACHINE[:3]
INSULATED = ("receiver-120K", "receiver-95K", "receiver-precooled", "liquid-nitrogen")
BLENDS = (*ONE_MACHINE, "preamp-cascade")


def case(name: str):
    return read_case(DEMO / f"{name}.toml")


def changed(tmp_path, name: str, *changes: tuple[str, str]):
    text = (DEMO / f"{name}.toml").read_text(encoding="utf-8")
    for pattern, put in changes:
        text, count = re.subn(pattern, put, text, flags=re.DOTALL)
        assert count == 1, pattern
    path = tmp_path / "case.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_parts_are_the_same_in_every_file():
    first = case("receiver-120K")
    for name in ONE_MACHINE[1:]:
        other = case(name)
        assert other.circuit.compressor == first.circuit.compressor, name
        for table in ("volumes", "standstill", "aftercooler"):
            assert other.tables[table] == first.tables[table], (name, table)
        if not other.circuit.of_stated_length:  # else the approach follows from the tubes
            assert other.circuit.recuperator_approach == first.circuit.recuperator_approach, name


def test_the_insulation_is_the_same_where_it_is_stated():
    first = case(INSULATED[0]).circuit.insulation
    assert first.conductance == pytest.approx(0.017, rel=0.01)  # regression value
    assert all(case(name).circuit.insulation == first for name in INSULATED[1:])


def test_load_blend_and_pressures_of_the_120_K_machine_are_the_same():
    first = case("receiver-120K")
    for name in AT_120_K[1:]:
        other = case(name)
        assert other.load == first.load and other.blend.to_dict() == pytest.approx(first.blend.to_dict())
        assert other.circuit.suction_pressure == first.circuit.suction_pressure
        assert other.circuit.discharge_pressure == first.circuit.discharge_pressure
        assert other.circuit.cold_temperature == first.circuit.cold_temperature
    wound, cooled = (case(name).circuit.coil for name in AT_120_K[1:])
    assert wound == cooled


@pytest.mark.parametrize("name", BLENDS)
def test_no_demo_contradicts_itself_and_each_knows_its_charge(name):
    assert contradictions(case(name)) == []
    rest = standstill_request(case(name))
    assert (rest.volumes or rest.charge) and rest.largest_pressure


def test_the_coil_holds_what_geometry_says():
    """Bore 4 mm, annulus from 6 to 10 mm, 50.3 mm2 of copper of 8940 kg/m3 (C12200): by hand for 30 m."""
    coil = exchanger_tubes(TUBE_IN_TUBE, Tube(6e-3, 1e-3), Tube(12e-3, 1e-3))
    assert 30.0 * coil.high.flow_area == pytest.approx(0.377e-3, rel=1e-3)
    assert 30.0 * coil.low.flow_area == pytest.approx(1.508e-3, rel=1e-3)
    assert 30.0 * coil.mass == pytest.approx(13.48, rel=1e-3)


def test_volumes_and_copper_that_no_such_coil_has_are_named(tmp_path):
    path = changed(
        tmp_path, "receiver-cooldown", (r'recuperator_high = "0.38 L"', 'recuperator_high = "0.1 L"'),
        (r'recuperator_copper = "13.5 kg"', 'recuperator_copper = "1.5 kg"'),
    )  # fmt: skip
    high, copper = contradictions(read_case(path))
    assert high.startswith("[volumes] recuperator_high says 0.1 L") and "0.377 L" in high
    assert copper.startswith("[cold_mass] recuperator_copper says 1.5 kg") and "13.5 kg" in copper


def test_volume_and_charge_stand_in_one_table_only(tmp_path):
    twice = changed(tmp_path, "receiver-120K", (r"\[standstill\]", '[standstill]\ncharge = "90 g"'))
    with pytest.raises(InputError, match=r"\[volumes\] says it already"):
        standstill_request(read_case(twice))
    alone = changed(tmp_path, "receiver-120K", (r"\[volumes\].*?\n\n", ""), (r"\[standstill\]", '[standstill]\ncharge = "90 g"'))
    with pytest.raises(InputError, match="needs the volume"):
        standstill_request(read_case(alone))
    none = changed(tmp_path, "receiver-120K", (r"\[volumes\].*?\n\n", ""))
    assert standstill_request(read_case(none)) is None


def cycle_record(capsys, path) -> dict:
    assert main(["cycle", str(path), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_cycle_tells_the_charge_at_rest_against_the_rating(tmp_path, capsys):
    record = cycle_record(capsys, DEMO / "receiver-120K.toml")
    assert record["hot_standing_pressure_Pa"] > record["standing_pressure_Pa"] > record["suction_pressure_Pa"]
    assert record["hot_standing_pressure_Pa"] < record["largest_standing_pressure_Pa"] == 16e5
    assert record["buffer_volume_m3"] == 0.0 and not any("standstill" in text for text in record["warnings"])
    weak = changed(tmp_path, "receiver-120K", (r'largest_pressure = "16 bar"', 'largest_pressure = "8 bar"'))
    record = cycle_record(capsys, weak)
    assert record["buffer_volume_m3"] > 0.0 and "above the largest pressure of 8 bar" in record["warnings"][0]


def test_an_unknown_charge_is_null_and_says_which_table_to_fill(tmp_path, capsys):
    record = cycle_record(capsys, changed(tmp_path, "receiver-120K", (r"\[volumes\].*?\n\n", "")))
    assert record["standing_pressure_Pa"] is record["hot_standing_pressure_Pa"] is record["buffer_volume_m3"] is None
    assert any("[volumes]" in text and "not known" in text for text in record["warnings"])


def test_a_coil_that_does_not_hold_the_stated_volume_is_named(tmp_path, capsys):
    path = changed(tmp_path, "receiver-tubes", (r'length = "30 m"', 'length = "15 m"'))
    assert main(["recuperator", str(path), "--json"]) == 0
    warnings = json.loads(capsys.readouterr().out)["warnings"]
    assert any("recuperator_low" in text for text in warnings)
