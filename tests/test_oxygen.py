"""Oxygen beside anything that burns: refused through every door, in one line; where oxygen is allowed it is warned of."""

import re
from pathlib import Path

import pytest
from cli_samples import refusal
from sensitivity_samples import MACHINE

import mixjt
from mixjt.blend import Blend, Ingredient, expand, pure_ingredient, refuse_oxygen_with_fuel
from mixjt.cli.app import main
from mixjt.errors import InputError
from mixjt.fluid.feed import nitrogen_feed
from mixjt.fluid.fluid import Fluid, checked_fluid
from mixjt.gases import gas, gas_names
from mixjt.studies.search.search_request import Bottle, SearchRequest

DEMO = Path(__file__).parent.parent / "mixtures-demo"
HAZARD = "can explode in a compressor"
# Flammable in air by IEC 60079-20-1 (2010), of the catalogue's gases; from memory.
FUELS = {
    "methane", "ethylene", "ethane", "propylene", "propane", "isobutane", "n-butane", "isopentane", "n-pentane",
}  # fmt: skip
COMMANDS = (
    "phases", "cycle", "pinch", "search", "cascade", "compare", "compressor", "recuperator", "throttle", "liquefy",
    "charge", "cooldown", "sheet", "sensitivity",
)  # fmt: skip
AIR = Ingredient("air", ("nitrogen", "oxygen"), (0.79, 0.21))


def test_just_the_fuels_of_the_standard_are_refused_with_oxygen():
    refused = set()
    for name in gas_names():
        try:
            refuse_oxygen_with_fuel(("R-732", name))
        except InputError:
            refused.add(name)
    assert refused == FUELS
    assert all("IEC 60079-20-1" in gas(name).sources["lower_flammable_limit"] for name in FUELS)


def test_blends_bottles_searches_and_circuits_refuse():
    class Model:
        gases = ("oxygen", "propane")

    for make in (
        lambda: Blend(("O2", "R-290"), (0.01, 0.99)),
        lambda: Ingredient("shop air and gas", ("oxygen", "ethane"), (0.2, 0.8)),
        lambda: expand([AIR, pure_ingredient("methane")], (0.1, 0.9)),
        lambda: SearchRequest(MACHINE, (Bottle(AIR), Bottle(pure_ingredient("methane")))),
        lambda: checked_fluid(Fluid(Model, [0.1, 0.9])),
        lambda: mixjt.enthalpy(["oxygen", "propane"], [0.1, 0.9], 1e5, [300.0]),
        lambda: mixjt.enthalpy_difference(["oxygen", "propane"], [0.1, 0.9], 1e5, 2e5, [300.0]),
        lambda: mixjt.dew_temperature(["R-732", "R-50"], [0.1, 0.9], [1e5]),
        lambda: mixjt.bubble_pressure(["R-732", "R-50"], [0.1, 0.9], [100.0]),
    ):
        with pytest.raises(InputError, match=HAZARD):
            make()


def test_oxygen_among_gases_that_do_not_burn_is_a_blend():
    assert Blend(("nitrogen", "argon", "oxygen"), (0.78, 0.01, 0.21)).fractions[2] == pytest.approx(0.21)
    assert Blend(("oxygen", "propane"), (0.0, 1.0)).without_absent().gases == ("propane",)
    assert mixjt.enthalpy(["nitrogen", "oxygen"], [0.79, 0.21], 1e5, [300.0]).shape == (1,)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_refuses_bottles_of_oxygen_beside_fuel(command, capsys, tmp_path):
    case = tmp_path / "case.toml"
    case.write_text((DEMO / "receiver-120K.toml").read_text() + '\n[[bottle]]\ngas = "oxygen"\n')
    assert HAZARD in refusal(capsys, command, str(case))


def test_blends_with_oxygen_are_refused_at_their_place(capsys, tmp_path):
    text = (DEMO / "receiver-120K.toml").read_text()
    case = tmp_path / "case.toml"
    case.write_text(re.sub(r"(?m)^nitrogen = ", "oxygen = ", text))
    assert re.search(r"\[blend\].*" + HAZARD, refusal(capsys, "cycle", str(case)))
    plain = str(DEMO / "receiver-120K.toml")
    assert HAZARD in refusal(capsys, "pinch", plain, "--blend", "oxygen=0.2, propane=0.8")


def test_the_catalogue_still_knows_oxygen(capsys):
    assert main(["gases", "oxygen", "methane"]) == 0
    assert "oxygen" in capsys.readouterr().out


# --- the liquefier's feed


def test_a_feed_holds_no_more_oxygen_than_air():
    """Dry air: 20.948 % oxygen, 0.934 % argon (U.S. Standard Atmosphere, 1976; from memory)."""
    assert nitrogen_feed(0.20948, 0.00934).fraction("oxygen") == pytest.approx(0.20948)
    with pytest.raises(InputError, match="more than air's 0.21: its liquid explodes with oil"):
        nitrogen_feed(0.4)
