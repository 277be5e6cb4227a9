"""Compressors, from their label or from stated efficiencies."""
