"""Bottles of small searches, as a case file lists them."""

BOTTLES = """
[[bottle]]
gas = "nitrogen"
most = 0.3
[[bottle]]
gas = "methane"
[[bottle]]
gas = "ethane"
[[bottle]]
gas = "isobutane"
[[bottle]]
name = "camping gas"
composition = {propane = 0.3, n-butane = 0.7}
"""
