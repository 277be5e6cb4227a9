"""Coefficients and their sources, and the scripts that wrote them."""
