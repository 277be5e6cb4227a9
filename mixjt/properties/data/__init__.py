"""Parameter sets of the cubic equations: per set one JSON file and one CSV file of pairs."""
