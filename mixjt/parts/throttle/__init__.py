"""Throttles: capillaries and valves."""
