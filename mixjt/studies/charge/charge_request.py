"""What is known of the bench at which a circuit is filled, and of the room it stands in."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.bounds import require_fields
from mixjt.keys import key


@dataclass(frozen=True)
class ChargeRequest:
    """Temperatures [K], volumes [m3], local atmosphere [Pa]; scale [kg], errors of gauge [Pa] and thermometer [K].

    Defaults of scale and gauge are those of a kitchen scale and a small gauge (common practice, no source). Without a
    volume of the room it is not held against the charge.
    """

    volume: float
    atmosphere: float
    bench_temperature: float = key(
        "temperature", "of circuit and bottles while it is filled", within="[250, 330]", otherwise="that of [ambient]"
    )
    scale_resolution: float = key("mass", "the smallest step that the scale shows", default=1e-3, within="(0, 1]")
    largest_load: float = key("mass", "the heaviest bottle that the scale carries", default=5.0, within="(0, 1000]")
    gauge_error: float = key(
        "pressure_difference", "by how much a reading of the gauge may be off", default=5e3, within="(0, 1e6]"
    )
    temperature_error: float = key(
        "temperature_difference", "how well the gas's temperature is known while the gauge is read", default=2.0,
        within="[0, 30]",
    )
    room_volume: float | None = key(
        "room", "of the room that the machine stands in", default=None, within="(0, 1e5]",
        otherwise="the room is not held against the charge",
    )
    room_height: float = key("height", "from the room's floor to its ceiling", default=2.4, within="[1, 100]")
    release_height: float = key(
        "height", "of the lowest place above the floor where the machine may leak, at least 0.6 m", default=0.6,
        within="[0.6, 100]",
    )  # fmt: skip

    def __post_init__(self):
        names = ("volume", "atmosphere", "bench_temperature", "scale_resolution", "largest_load", "gauge_error")
        require_fields(self, "charge:", names, above=0.0)
        require_fields(self, "charge:", ("room_volume",), optional=True, above=0.0)
