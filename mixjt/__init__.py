"""Design of small mixed-gas throttle refrigerators; see the README for the commands."""

__version__ = "0.1.0"

__all__ = [
    "bubble_pressure",
    "bubble_temperature",
    "dew_pressure",
    "dew_temperature",
    "enthalpy",
    "enthalpy_difference",
]


def __getattr__(name):
    """Import the property functions on first use: they bring the compiled engine with them."""
    if name in __all__:
        from mixjt import api

        return getattr(api, name)
    raise AttributeError(f"module 'mixjt' has no attribute '{name}'")
