"""From the amounts that a circuit must hold to what is done at the bench: bottles, grams, gauge pressures, errors."""
