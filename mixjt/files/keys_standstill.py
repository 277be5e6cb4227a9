"""Keys of the case file's table [standstill]."""

from __future__ import annotations

from mixjt.files.schema import Key

STANDSTILL = {
    "volume": Key(
        "volume", "all of the circuit that holds gas, buffer included", within="(0, 1]",
        otherwise="the sum of [volumes]",
    ),
    "charge": Key(
        "mass", "what is filled in", within="(0, 100]", otherwise="that of [volumes], or several are tabulated"
    ),
    "hottest_temperature": Key(
        "temperature", "of the hottest day the machine may stand through", default="50 degC", within="[250, 370]"
    ),
    "largest_pressure": Key(
        "pressure", "the lowest rating of a part in the circuit", within="[1e5, 4e7]", otherwise="not checked"
    ),
}
