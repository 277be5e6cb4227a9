"""Thermodynamic properties of blends: equations of state, phase splits, saturation."""
