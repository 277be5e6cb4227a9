"""The recuperator: its sides, and what real tube does."""
