"""Columns of a state that the kernels write: h and s over RT and R, pV/RT, mole fraction of vapour, phases, liquids,
G/RT, pV/RT of the liquids; the amount of each gas in the liquids follows from OUTPUTS on."""

H, S, VOLUME, VAPOUR, PHASES, LIQUIDS, GIBBS, LIQUID_VOLUME, OUTPUTS = range(9)
