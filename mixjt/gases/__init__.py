"""The gas catalogue: what a blend can be made of, every value with its source.

The values live in ``gases.json``, which ``python -m mixjt.gases.build`` writes from the libraries; at run
time only that file is read.
"""

from mixjt.gases.catalogue import Gas, gas, gas_names, gas_table, resolve_name

__all__ = ["Gas", "gas", "gas_names", "gas_table", "resolve_name"]
