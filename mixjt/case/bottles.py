"""What can be bought, and the blend made of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from mixjt.blend import Blend, Ingredient, expand, pure_ingredient, refuse_oxygen_with_fuel
from mixjt.case.schema import FilePlace, located, read_composition, read_table
from mixjt.case.tables import BLEND_TABLE, BOTTLE_KEYS, BOTTLE_TABLE, CHARGE_TABLE, MASS
from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError
from mixjt.gases import resolve_name
from mixjt.keys import keys_of
from mixjt.studies.search.search_request import Bottle


def case_bottles(raw, place: FilePlace) -> tuple[Bottle, ...]:
    """The bottles of a case, one for each header [[bottle]]."""
    if not isinstance(raw, list):
        raise InputError(f"{place.at(BOTTLE_TABLE)}: write each bottle under its own header [[{BOTTLE_TABLE}]]")
    bottles = []
    for number, entry in enumerate(raw, start=1):
        here = place.table(f"[[{BOTTLE_TABLE}]]", number)
        bottle = _bottle(read_table(entry, BOTTLE_KEYS, here, ATMOSPHERE), here)
        if bottle.ingredient.name in [other.ingredient.name for other in bottles]:
            raise InputError(f"{here.at()}: there is another bottle of {bottle.ingredient.name}")
        bottles.append(bottle)
        with located(here.at()):
            refuse_oxygen_with_fuel(name for other in bottles for name in other.ingredient.gases)
    return tuple(bottles)


def _bottle(values: dict, place: FilePlace) -> Bottle:
    gas, name, composition = values["gas"], values["name"], values["composition"]
    if (gas is None) == (name is None) or (name is None) != (composition is None):
        raise InputError(f"{place.at()}: give either gas, or name and composition")
    if values["least"] > values["most"]:
        raise InputError(f"{place.at('least')}: {values['least']:g} is above most = {values['most']:g}")
    with located(place.at("composition" if gas is None else "gas")):
        if gas is not None:
            ingredient = pure_ingredient(gas)
        else:
            ingredient = Ingredient(name, tuple(composition), tuple(composition.values()))
    return Bottle(ingredient, **{one.field.name: values[one.name] for one in keys_of(Bottle)})


def blend_from_text(text: str, bottles: Sequence[Bottle] = ()) -> Blend:
    """A blend such as "nitrogen=0.4, propane=20 %, camping gas=0.4", bottles of mixtures by their names.

    Raises
    ------
    InputError
        Naming the part that cannot be read, an unknown gas, or fractions that do not sum to 1.
    """
    amounts = amounts_from_text(text)
    with located("blend"):
        return _mixed(amounts, bottles)


def amounts_from_text(text: str) -> dict[str, float]:
    """The amounts of such a blend by the names in it; errors as `blend_from_text`, of gases none."""
    amounts = {}
    for part in text.split(","):
        name, _, amount = (piece.strip() for piece in part.partition("="))
        if not (name and amount):
            raise InputError(
                f'blend: cannot read "{part.strip()}"; write it like "nitrogen=0.4, propane=0.6"'
            )
        if name in amounts:
            raise InputError(f"blend: {name} is given twice")
        amounts[name] = amount
    with located("blend"):
        return read_composition(amounts, "mole fraction of")


def spelled(raw: dict, names: Iterable[str]) -> dict[str, str]:
    """How a case writes the names of gases and bottles in its [blend] or its bottles; else as they are."""
    bottles = raw.get(BOTTLE_TABLE, [])
    mixtures = {bottle["name"] for bottle in bottles if "name" in bottle}
    written = (*(bottle["gas"] for bottle in bottles if "gas" in bottle), *raw.get(BLEND_TABLE, {}))
    known = {resolve_name(name): name for name in written if name not in mixtures}
    return {name: name if name in mixtures else known.get(resolve_name(name), name) for name in names}


def case_blend(raw: dict, bottles: Sequence[Bottle], place: FilePlace) -> Blend | None:
    """The blend of a case; None where it has none."""
    if BLEND_TABLE not in raw:
        return None
    here = place.table(f"[{BLEND_TABLE}]").at()
    amounts = read_composition(raw[BLEND_TABLE], here)
    with located(here):
        return _mixed(amounts, bottles)


def case_charge(raw: dict, bottles: Sequence[Bottle], place: FilePlace) -> dict[str, float] | None:
    """What has been weighed in of each gas [mol], bottles of mixtures among it; None where a case has no [charge]."""
    if CHARGE_TABLE not in raw:
        return None
    here, written = place.table(f"[{CHARGE_TABLE}]"), raw[CHARGE_TABLE]
    masses = read_table(written, dict.fromkeys(written, MASS) if isinstance(written, dict) else {}, here, ATMOSPHERE)
    if not masses:
        raise InputError(f"{here.at()} holds nothing: state the mass of every gas and bottle filled in")
    with located(here.at()):
        items = _items(masses, bottles)
        shares = [mass / Blend(item.gases, item.fractions).molar_mass for item, mass in zip(items, masses.values(), strict=True)]
        total = sum(shares)
        mixed = expand(items, [share / total for share in shares])
    return {name: x * total for name, x in mixed.to_dict().items() if x > 0.0}


def _items(names: Iterable[str], bottles: Sequence[Bottle]) -> list[Ingredient]:
    """Gases and bottles of mixtures by their names."""
    known = {bottle.ingredient.name: bottle.ingredient for bottle in bottles}
    return [known.get(name) or pure_ingredient(name) for name in names]


def _mixed(amounts: dict[str, float], bottles: Sequence[Bottle]) -> Blend:
    """Gases and bottles of mixtures poured together."""
    return expand(_items(amounts, bottles), list(amounts.values()))
