"""The lines that a new case offers: examples of the keys most builders need, and how to find their values.

Tables and keys stand in the order of the file. What a key means is said by its declaration (`mixjt.case.tables`).
The examples are invented, and how to measure is common practice, no source.
"""

WATER = "measure it with water, or reckon it from the tubes"
ALL_VOLUMES = f"{WATER}; with all of these the pressure at rest is known, which every part must stand"
READY: dict[str, dict[str, tuple[object, str]]] = {
    "ambient": {
        "temperature": ("25 degC", ""),
        "temperature_range": (
            ["10 degC", "40 degC"],
            "beside it, for winter and summer",
        ),
        "pressure": ("0.95 bar", "of a barometer at your place, not reduced to sea level"),
    },
    "compressor": {
        "type": ("rotary", "a cutaway or data sheet of the model number tells"),
        "displacement": (
            "6.4 cm3",
            "in the data sheet, or bore^2 x pi/4 x stroke x cylinders of a machine of its model",
        ),
        "speed": ("2900 rpm", "two poles turn some 2900 rpm at 50 Hz and 3500 rpm at 60 Hz"),
        "voltage": ("230 V", ""),
        "largest_current": ("4 A", "of fuse and wiring"),
        "largest_power": ("800 W", ""),
    },
    "rating": {
        "capacity": ("4000 BTU/h", "or in its data sheet, or that of the appliance it came from"),
        "refrigerant": ("R-22", ""),
        "point": ("air conditioning", "freezers are low, refrigerated counters medium back-pressure"),
        "standard": ("ASHRAE", "the data sheet names it, or its temperatures tell"),
        "power": ("420 W", "in the data sheet"),
        "nominal_power": ("1/3 hp", "instead of capacity"),
        "frequency": ("50 Hz", ""),
        "rated_current": ("2.2 A", "RLA"),
        "locked_rotor_current": (
            "11 A",
            "with it mixjt cooldown tells whether the first start trips the motor",
        ),
    },
    "circuit": {
        "suction_pressure": ("2 bar", "a gauge at the suction line plus the pressure of the air"),
        "discharge_pressure": (
            "14 bar",
            "a gauge at the discharge line likewise; below the rating of the weakest part",
        ),
    },
    "aftercooler": {
        "approach": ("8 K", "a thermometer on its outlet, insulated, against one in the air"),
        "pressure_drop": ("0.1 bar", ""),
        "face_area": ("600 cm2", "instead of approach: height x width of the finned block"),
    },
    "recuperator": {
        "approach": ("4 K", "30 m of tube in tube may reach it; mixjt recuperator finds the length"),
        "conductance": ("35 W/K", "instead of approach"),
        "pressure_drop_high": ("0.25 bar", ""),
        "pressure_drop_low": ("0.15 bar", ""),
    },
    "recuperator_tubes": {
        "kind": ("tube in tube", ""),
        "small_diameter": ("6 mm", "a calliper"),
        "small_wall": ("1 mm", "a calliper at a fresh cut, or half of outside less inside diameter"),
        "large_diameter": ("12 mm", ""),
        "large_wall": ("1 mm", ""),
        "length": ("30 m", "it makes [recuperator] needless"),
    },
    "throttle": {
        "diameter": ("0.8 mm", "the shank of the drill that just enters"),
        "length": ("2 m", "leave it out, and mixjt throttle finds it"),
        "tolerance": ("0.02 mm", ""),
    },
    "insulation": {
        "kind": ("polyurethane foam", ""),
        "thickness": ("80 mm", ""),
        "diameter": ("40 cm", ""),
        "height": ("50 cm", ""),
        "measured": ("outside", ""),
        "other": ("8 mW/K", ""),
    },
    "cold_end": {
        "temperature": ("120 K", "a sensor on the evaporator's outlet"),
        "load": ("12 W", "in vacuum, the watts of a heater that holds the temperature; else reckoned"),
    },
    "volumes": {
        "hot": ("0.9 L", ALL_VOLUMES),
        "recuperator_high": ("0.38 L", WATER),
        "recuperator_low": ("1.5 L", WATER),
        "evaporator": ("0.1 L", WATER),
        "buffer": ("5 L", WATER),
    },
    "oil": {
        "kind": ("mineral", "the label or the data sheet says it"),
        "mass": ("250 g", "weighed when it is poured out"),
    },
    "standstill": {
        "largest_pressure": ("16 bar", "stamped on the parts or in their data sheets"),
        "hottest_temperature": ("50 degC", ""),
    },
    "bench": {
        "room_volume": ("30 m3", "length x width x height; the charge is then held against what the room bears"),
        "scale_resolution": ("1 g", ""),
    },
    "cold_mass": {
        "copper": ("300 g", "a scale"),
        "recuperator_copper": ("6 kg", "a scale"),
    },
    "search": {
        "suction_pressure_range": (["2 bar", "5 bar"], ""),
        "discharge_pressure_range": (["12 bar", "20 bar"], ""),
        "objective": ("power at the load", ""),
        "largest_number_of_gases": (5, ""),
        "smallest_fraction": (0.02, "what your scale still weighs well"),
        "smallest_freezing_margin": ("2 K", "what freezes blocks the throttle"),
        "suction_superheat": ("5 K", "liquid damages the compressor"),
    },
}
ALWAYS = {("search", "smallest_freezing_margin"): "2 K"}  # stated, as a guess, though nobody is asked
