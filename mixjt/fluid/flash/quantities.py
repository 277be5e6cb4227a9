"""Quantities whose derivatives with respect to amounts the kernels write, and which phases count as liquid."""

ENTHALPY, ENTROPY, VOLUME, LIQUID, QUANTITIES = range(5)  # over RT, R, RT/p and 1
LIQUID_ALONE, LIQUID_BESIDE = 1.3, 1.5  # reduced density above which a phase counts as liquid; the densest of
# several always does
