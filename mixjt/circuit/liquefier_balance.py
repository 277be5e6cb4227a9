"""Energy and exergy balance of a liquefier, per mole of blend; see `mixjt.circuit.accounting`.

The feed is taken in at the room's temperature and supply pressure. What the machine delivers is the load, the
liquid's exergy over that of gas of the same composition at supply state, and, where a feed with impurities parts
into liquid and vapour of different composition, the work of that separation. Vapour that is vented warms up in
the room and expands to supply pressure, unused.
"""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.circuit import liquefier_records as feed_places
from mixjt.circuit import result as records
from mixjt.circuit.accounting import Account, Component, account, enthalpy, entropy, passing
from mixjt.circuit.balance import compressor_parts, delivered
from mixjt.circuit.ideal_liquefier import least_work
from mixjt.circuit.liquefier_records import FeedPassage
from mixjt.circuit.result import BalanceItem
from mixjt.fluid.feed import FeedGas
from mixjt.fluid.states import State
from mixjt.parts.compressor.compression import CompressionResult


@dataclass(frozen=True)
class FeedAccount:
    """account balances the machine, with product and load in place of the load alone.

    feed_work is electrical, J per mole of feed; product_least_work in J per mole of product; vented is the
    enthalpy that vented vapour lacks to the supply gas [J per mole of vapour], 0 where there is none.
    """

    account: Account
    feed_work: float
    product_least_work: float
    vented: float


def liquefier_balance(
    gas: FeedGas,
    passage: FeedPassage,
    points: dict[str, State],
    feed_points: dict[str, State],
    compression: CompressionResult,
    ratio: float,
    load: float,
    ambient: float,
    cold: float,
) -> FeedAccount:
    """Balance a solved liquefier.

    Parameters
    ----------
    points, feed_points : dict
        States of the blend and of the feed by place; flash_vapour_at_cold_end and flash_vapour_outlet are
        there where the vapour returns through the recuperator.
    ratio : float
        Moles of feed per mole of blend.
    load : float
        [J/mol of blend]
    ambient, cold : float
        Temperatures of the room and of the load [K].
    """
    supply, inlet = feed_points[feed_places.FEED_SUPPLY], feed_points[feed_places.FEED_INLET]
    product, vapour = feed_points[feed_places.PRODUCT], feed_points.get(feed_places.FLASH_VAPOUR)
    share = feed_points[feed_places.FEED_THROTTLE_OUTLET].vapour_fraction
    compressed = gas.model.state_tp(gas.z, ambient, passage.pressure)
    feed_work = least_work(compressed, supply, ambient) / passage.isothermal_efficiency
    warm_product = gas.model.state_tp(product.composition, ambient, passage.supply_pressure)
    liquid_work = least_work(product, warm_product, ambient)
    leaving = (1.0 - share) * _flow_exergy(product, ambient)
    vents: tuple[Component, ...] = ()
    vented = 0.0
    if vapour is not None:
        warm_vapour = gas.model.state_tp(vapour.composition, ambient, passage.supply_pressure)
        leaving += share * _flow_exergy(warm_vapour, ambient)
        last = feed_points.get(feed_places.FLASH_VAPOUR_OUTLET, vapour)
        vented = warm_vapour.enthalpy - last.enthalpy
        vents = (_in_the_room("vented vapour", last, warm_vapour, ratio * share, ambient),)
    product_exergy = ratio * (leaving - _flow_exergy(supply, ambient))
    compressor = _in_the_room("feed compressor", supply, inlet, ratio, ambient, ratio * feed_work)
    parts = (
        *compressor_parts(points, compression, ambient),
        compressor,
        *_cold_parts(points, feed_points, ratio, share, load, cold),
        *vents,
    )
    load_exergy = delivered(load, ambient, cold)
    balanced = account(parts, ambient, load_exergy + product_exergy, compression.work)
    liquid = ratio * (1.0 - share) * liquid_work
    delivered_items = [BalanceItem("load", load_exergy), BalanceItem("product", liquid)]
    if len(gas.z) > 1 and vapour is not None:
        delivered_items.append(BalanceItem("separation of the feed", product_exergy - liquid))
    items = (*balanced.exergy[:-1], *delivered_items)
    return FeedAccount(
        Account(items, balanced.energy_residual, balanced.exergy_residual), feed_work, liquid_work, vented
    )


def _flow_exergy(state: State, ambient: float) -> float:
    return enthalpy(state) - ambient * entropy(state)


def _in_the_room(
    name: str, before: State, after: State, flow: float, ambient: float, work: float = 0.0
) -> Component:
    """A component that exchanges what heat it must with the room."""
    heat = flow * (enthalpy(after) - enthalpy(before)) - work
    return passing(name, (before, after), flow=flow, heats=((heat, ambient),), work=work)


def _cold_parts(
    points, feed_points, ratio: float, share: float, load: float, cold: float
) -> tuple[Component, ...]:
    """Recuperator, both throttles and evaporator."""
    inlet, left = feed_points[feed_places.FEED_INLET], feed_points[feed_places.FEED_RECUPERATOR_OUTLET]
    cooled, flashed = (
        feed_points[feed_places.FEED_THROTTLE_INLET],
        feed_points[feed_places.FEED_THROTTLE_OUTLET],
    )
    before, after = points[records.THROTTLE_INLET], points[records.THROTTLE_OUTLET]
    evaporated = points[records.EVAPORATOR_OUTLET]
    warmed = feed_points.get(feed_places.FLASH_VAPOUR_COLD_END)
    flow = ratio * share
    returning = () if warmed is None else ((flow, warmed),)
    returned = () if warmed is None else ((flow, feed_points[feed_places.FLASH_VAPOUR_OUTLET]),)
    flash = () if warmed is None else ((flow, feed_points[feed_places.FLASH_VAPOUR]),)
    recuperator = Component(
        "recuperator",
        ((1.0, points[records.AFTERCOOLER_OUTLET]), (1.0, evaporated), (ratio, inlet), *returning),
        ((1.0, before), (1.0, points[records.COMPRESSOR_INLET]), (ratio, left), *returned),
    )
    evaporator = Component(
        "evaporator",
        ((1.0, after), (ratio, left), *flash),
        ((1.0, evaporated), (ratio, cooled), *returning),
        ((load, cold),),
    )
    return (
        recuperator,
        passing("throttle", (before, after)),
        evaporator,
        passing("feed throttle", (cooled, flashed), flow=ratio),
    )
