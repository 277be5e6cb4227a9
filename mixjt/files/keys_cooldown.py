"""Keys of the tables [volumes], which also tells the charge at rest, and [cold_mass]."""

from __future__ import annotations

from mixjt.files.schema import Key

VOLUMES = {
    "hot": Key("volume", "from the compressor's outlet through the aftercooler", True, within="(0, 1]"),
    "recuperator_high": Key("volume", "the recuperator's high side", True, within="(0, 1]"),
    "recuperator_low": Key("volume", "the recuperator's low side", True, within="(0, 1]"),
    "evaporator": Key("volume", "behind the throttle, down to the recuperator", True, within="(0, 1]"),
    "buffer": Key(
        "volume", "at ambient on the suction side: buffer, suction line, the shell of a rotary compressor not",
        True, within="(0, 1]",
    ),
    "charge": Key("mass", "what is filled in", True, within="(0, 100]"),
}  # fmt: skip
COLD_MASS = {
    "copper": Key("mass", "copper at the cold end", default="0 kg", within="[0, 1e4]"),
    "stainless_steel": Key("mass", "stainless steel at the cold end", default="0 kg", within="[0, 1e4]"),
    "aluminium": Key("mass", "aluminium at the cold end", default="0 kg", within="[0, 1e4]"),
    "recuperator_copper": Key("mass", "copper of the recuperator", default="0 kg", within="[0, 1e4]"),
    "heat_leak": Key(
        "heat_conductance", "heat from ambient per kelvin of the cold end below it, besides the load",
        default="0 W/K", within="[0, 1e3]",
    ),
    "coldest": Key(
        "temperature", "down to which the load line is followed", within="[60, 300]",
        otherwise="20 K below the cold end",
    ),
}  # fmt: skip
