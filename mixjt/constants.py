"""Physical constants in SI units.

Sources: BIPM, The International System of Units, 9th edition (2019) for the molar gas constant;
the standard atmosphere is defined by resolution 4 of the 10th CGPM (1954), standard gravity by the 3rd CGPM (1901).
"""

GAS_CONSTANT = 8.31446261815324  # J/(mol K), exact by the SI of 2019
ATMOSPHERE = 101325.0  # Pa, exact by definition
GRAVITY = 9.80665  # m/s2, exact by definition
ZERO_CELSIUS = 273.15  # K, exact by definition
REFERENCE_TEMPERATURE = 298.15  # K, zero of our ideal-gas enthalpies and entropies
REFERENCE_PRESSURE = ATMOSPHERE  # Pa, zero of our ideal-gas entropies
