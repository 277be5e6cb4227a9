"""Files at the edge: case files read, tables, JSON and sets of outputs written."""
