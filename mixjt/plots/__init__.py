"""Figures of results, for print and screen; the only package that imports matplotlib.

Import its modules late (inside the function that needs them): matplotlib is slow to load.
"""
