"""The compiled flash: multi-fluid Helmholtz energies, one to five phases, sweeps along falling temperatures.

Kernels work on two records: `BLEND` (coefficients of the gases present, read only) and `WORK` (scratch of one
thread); see `layout`. Each kernel is compiled once and reached through its symbol; see `compiled`.
"""
