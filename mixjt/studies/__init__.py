"""Studies: many circuits at once, searched or compared."""
