"""Throttle circuits: what is fixed of them, their solution, and what is read off it."""
