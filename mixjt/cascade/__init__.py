"""Cascades of vapour-compression stages."""
