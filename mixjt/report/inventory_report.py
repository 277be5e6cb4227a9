"""What is said of the charge that a circuit holds while it runs: by gas and by part."""

from __future__ import annotations

from mixjt.circuit.inventory import OIL, Inventory
from mixjt.report.figure import Figure, Listing, listing

CHARGE = "The charge that the circuit holds while it runs"
BY_GAS = (  # of (gas, its place in the blend, inventory)
    Figure("gas", lambda row: row[0], text="gas"),
    Figure("mass_g", lambda row: 1e3 * row[2].charge.amounts[row[1]] * _molar_mass(row), text="charged", form=".1f"),
    Figure("charged_fraction", lambda row: float(row[2].charge.fluid.z[row[1]]), text="of the charge", unit="mol/mol", form=".4f"),
    Figure("circulating_fraction", lambda row: float(row[2].fluid.z[row[1]]), text="circulates", unit="mol/mol", form=".4f"),
    Figure("oil_g", lambda row: 1e3 * _in_oil(row) * _molar_mass(row), text="in the oil", form=".2f"),
)  # fmt: skip
BY_PART = (  # of (part, inventory)
    Figure("part", lambda row: row[0], text="part"),
    Figure("mass_g", lambda row: 1e3 * row[1].mass_in(row[0]), text="mass", form=".1f"),
)
FIGURES = (  # of what `at_rest` tells
    Figure("charge_mass_g", lambda rest: rest.inventory and 1e3 * rest.inventory.charge.mass,
           "what the circuit holds while the blend circulates, liquid and gas in the oil included ([charge](charge.md)), its "
           "mole fractions, and where it is; `null` without `[volumes]`", "charge", CHARGE),
    Figure("charged_blend", lambda rest: rest.inventory and shares(rest.inventory.charge.fluid)),
    Figure("charge_by_gas", lambda rest: by_gas(rest.inventory), "what is charged and what circulates", rows=BY_GAS),
    Figure("charge_by_part", lambda rest: by_part(rest.inventory), "where it is while the circuit runs", rows=BY_PART),
)  # fmt: skip
CIRCULATION = (
    Figure("charge_residual", "miss", "of `cycle` with a `[charge]`: by which share of any gas what the circuit holds misses what "
           "was weighed in"),
)  # fmt: skip


def shares(fluid) -> dict[str, float]:
    """Mole fractions by gas, those present."""
    return {name: float(x) for name, x in zip(fluid.gases, fluid.z, strict=True) if x > 0.0}


def by_gas(inventory: Inventory | None) -> Listing | None:
    """A row a gas, or None."""
    if inventory is None:
        return None
    present = [(name, i) for i, name in enumerate(inventory.fluid.gases) if inventory.charge.amounts[i] > 0.0]
    return listing(BY_GAS, [(name, i, inventory) for name, i in present])


def by_part(inventory: Inventory | None) -> Listing | None:
    """A row a part, or None."""
    return None if inventory is None else listing(BY_PART, [(part, inventory) for part in inventory.parts])


def print_inventory(inventory: Inventory | None) -> None:
    """Both tables, where they are known."""
    if inventory is not None:
        by_gas(inventory).show(f"{CHARGE}: {1e3 * inventory.charge.mass:.4g} g")
        by_part(inventory).show("Where it is")


def _molar_mass(row) -> float:
    return float(row[2].fluid.model.molar_masses[row[1]])


def _in_oil(row) -> float:
    return float(row[2].parts[OIL][row[1]]) if OIL in row[2].parts else 0.0
