"""Fit of the parameter set "calibrated-srk"; nothing of the program itself imports this package."""
