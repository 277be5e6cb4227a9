"""Refrigeration circuits built from components and a property model."""
