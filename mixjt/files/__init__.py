"""Files at the edge: tables, JSON and sets of outputs written."""
