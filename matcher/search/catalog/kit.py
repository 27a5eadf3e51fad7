"""The kit: small parts that each main part needs, with quantities and prices.

A head unit needs its harness and antenna adapter, a loudspeaker its sealing and terminals, an amplifier its fuse,
holder, ground lead and all wire. Each slot has its own kit, so a package's kit costs the sum over its slots. An item
that no list offers costs the shop's estimate, or the highest listed price of its kind: it never makes a package
cheaper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal
from typing import Any, NamedTuple

import numpy as np

from matcher.formulas.cable import area_for_current_mm2
from matcher.formulas.speaker_wire import area_for_loss_mm2, standard_area_mm2
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell
from matcher.search.catalog.wishes import in_time
from matcher.settings import KIT_PRICES, Settings

CABLE, BOARD = "cable", "board"
UNITS = {kind: "m" if kind == CABLE else unit for kind, unit, _ in KIT_PRICES} | {"ground_cable": "m"}
"""Unit in which each kind of item is counted."""
SIZE_FIELDS = {
    "fuse": "rated_a",
    "fuse_holder": "rated_a",
    "distribution": "rated_a",
    "ground_lead": "area_mm2",
    "ground_cable": "area_mm2",
    "speaker_wire": "area_mm2",
    "terminal": "area_mm2",
}
"""By kind the figure that has to suffice; a fuse has just this rating."""
OFFERED_AS = {"ground_cable": "ground_lead"}
"""Kinds of items that lists offer under the name of another."""
PIECES_OF_AMPLIFIER = {"grommet": 1, "terminal": 4}
"""One grommet in the firewall; a terminal at each end of supply cable and ground lead."""
TERMINALS_OF_SPEAKER = 2
HUNDRED = Decimal(100)
NO_STOCK_HAS = 1_000_000
"""More packs of one part than any shop has."""


class KitNeed(NamedTuple):
    """An item that a main part needs."""

    kind: str
    quantity: Decimal
    size: Decimal | None = None
    """Rating in A of a fuse, holder or block, or area of wire in mm2; None if it has no size or an unknown one."""
    runs: int = 0
    """Number of leads of equal length, each in one piece; 0 if it is cut from a roll."""
    estimated: bool = False
    """Whether its quantity is the shop's estimate, as the car's way was not measured."""


class KitItem(NamedTuple):
    """An item with the catalog part that serves; none if no list offers one."""

    need: KitNeed
    part_id: str | None
    cents: int
    """Price of the quantity used; an estimate if no list offers it."""
    pack_of: int = 1


Kit = tuple[KitItem, ...]


def kit_cents(kit: Kit) -> int:
    """Price of a kit."""
    return sum(item.cents for item in kit)


class _Offer(NamedTuple):
    price: Decimal
    """Price of one unit."""
    part_id: str
    size: Decimal | None
    pack_of: int
    most: Decimal | None
    """Units available by the job's delivery date; None if unlimited."""


class KitPrices:
    """Installation parts of a catalog by kind, with a cache of priced items."""

    def __init__(self, catalog: Catalog) -> None:
        self._settings, self._offers = catalog.settings, _offers(catalog)
        self._dearest = {kind: max(one.price for one in some) for kind, some in self._offers.items()}
        self._dearest |= {CABLE: _dearest_cable(catalog), BOARD: _dearest_board(catalog)}
        self._items: dict[KitNeed, KitItem] = {}

    def kit(self, needs: Iterable[KitNeed]) -> Kit:
        """Return the items for some needs."""
        return tuple(map(self._item, needs))

    def _item(self, need: KitNeed) -> KitItem:
        if need not in self._items:
            self._items[need] = self._found(need)
        return self._items[need]

    def _found(self, need: KitNeed) -> KitItem:
        offers = (one for one in self._offers.get(OFFERED_AS.get(need.kind, need.kind), ()) if _suffices(one, need))
        offer = min(offers, key=lambda one: (one.price * _used(one, need), one.part_id), default=None)
        if offer is not None:
            return KitItem(need, offer.part_id, _cents(offer.price * _used(offer, need)), offer.pack_of)
        kind = OFFERED_AS.get(need.kind, need.kind)
        price = self._settings.charged(f"kit_price.{kind}") or self._dearest.get(kind, Decimal(0))
        times = (need.size or Decimal(0)) if need.kind == CABLE else Decimal(1)
        return KitItem(need, None, _cents(price * need.quantity * times))


def kit_prices(catalog: Catalog) -> KitPrices:
    """Return the installation parts of a catalog."""
    prices: KitPrices = catalog.once(("kit prices",), lambda: KitPrices(catalog), ("install", "cable", "accessory"))
    return prices


def _offers(catalog: Catalog) -> dict[str, list[_Offer]]:
    parts = catalog.parts("install")
    found: dict[str, list[_Offer]] = {}
    any_number = in_time(parts, catalog.wishes, catalog.settings, NO_STOCK_HAS)
    for row in range(len(parts)):
        kind, unit = (cell(parts.cells[name], row) for name in ("kind", "unit"))
        if kind is None or (unit or "piece") != UNITS[kind]:
            continue
        field, pack_of = SIZE_FIELDS.get(kind), int(cell(parts.cells["pack_of"], row) or 1)
        size = None if field is None else cell(parts.cells[field], row)
        price = (cell(parts.cells["price"], row) or Decimal(0)) / pack_of
        most = None if any_number[row] else (cell(parts.cells["stock"], row) or 0) * Decimal(pack_of)
        found.setdefault(kind, []).append(_Offer(price, str(parts.part_ids[row]), size, pack_of, most))
    return found


def _cents(amount: Decimal) -> int:
    return int((amount * 100).quantize(Decimal(1), ROUND_HALF_UP))


def _used(offer: _Offer, need: KitNeed) -> Decimal:
    """Quantity of an offer to be paid: the length cut off a roll, or whole leads."""
    return Decimal(need.runs * offer.pack_of) if need.runs else need.quantity


def _suffices(offer: _Offer, need: KitNeed) -> bool:
    """Whether an offer is large enough; a fuse must match exactly. An unknown size never suffices."""
    if offer.most is not None and offer.most < _used(offer, need):
        return False
    if need.runs and offer.pack_of * need.runs < need.quantity:
        return False
    if need.kind not in SIZE_FIELDS:
        return True
    if offer.size is None or need.size is None:
        return False
    return offer.size == need.size if need.kind == "fuse" else offer.size >= need.size


def _dearest_board(catalog: Catalog) -> Decimal:
    """Highest price of a board in the lists."""
    parts = catalog.parts("accessory")
    prices = (cell(parts.cells["price"], row) for row in range(len(parts)) if cell(parts.cells["kind"], row) == BOARD)
    return max((price for price in prices if price is not None), default=Decimal(0))


def _dearest_cable(catalog: Catalog) -> Decimal:
    """Highest price of cable in the lists, per mm2 and meter."""
    cells = catalog.parts("cable").cells
    price, area, length = (cells[name] for name in ("price", "area_mm2", "length_m"))
    known = np.asarray(area.known) & np.asarray(length.known) & (area.values > 0) & (length.values > 0)
    if not known.any():
        return Decimal(0)
    # price / (area * length), each in millionths
    dearest = np.max(price.values[known] / (area.values[known] * (length.values[known] / 1e6)))
    return Decimal(repr(float(dearest))).quantize(Decimal("0.0001"))


def kit_at(catalog: Catalog, kind: str, vehicle_id: str, opening_id: str) -> Kit:
    """Return the kit of a part in an opening: a head unit in the dash, loudspeakers at their place."""
    vehicle = catalog.vehicle(vehicle_id)
    if kind == "dash":
        return kit_prices(catalog).kit(head_needs(vehicle.row))
    if kind == "speaker":
        return kit_prices(catalog).kit(speaker_needs(vehicle.opening_row(kind, opening_id), catalog.settings))
    return ()


def head_needs(vehicle: Mapping[str, Any]) -> list[KitNeed]:
    """Return the kit of a new head unit in a vehicle."""
    wheel = [KitNeed("wheel_interface", Decimal(1))] if vehicle.get("keys_on_wheel") else []
    return [KitNeed("harness", Decimal(1)), KitNeed("antenna_adapter", Decimal(1)), *wheel]


def speaker_needs(opening: Mapping[str, Any], settings: Settings) -> list[KitNeed]:
    """Return the kit of new loudspeakers at an opening."""
    count = Decimal(opening.get("count") or 2)
    terminals = KitNeed("terminal", count * TERMINALS_OF_SPEAKER, place_wire(opening, settings).size)
    found = [KitNeed("sealing", count * settings["kit_sealing_m"]), terminals]
    if opening.get("behind") == "moving_glass":
        found.append(KitNeed("damping", count * settings["kit_damping_m2"]))
    if opening.get("role") == "tweeter":
        found.append(KitNeed("filter", Decimal(1)))  # its crossover
    return found


def place_wire(opening: Mapping[str, Any], settings: Settings) -> KitNeed:
    """Wire from an amplifier to the loudspeakers of an opening: one for each, shared or bridged or not."""
    count, each = Decimal(opening.get("count") or 2), opening.get("wire_m")
    length = settings["kit_wire_m.place"] if each is None else Decimal(each)
    wire = _tenths(count * length * (1 + settings["kit_spare_pct"] / HUNDRED))
    return KitNeed("speaker_wire", wire, _wire_mm2("place", None, settings, length), estimated=each is None)


def amplifier_needs(
    figures: Mapping[str, Any],
    fuse_a: Decimal | None,
    copper_mm2: Decimal | None,
    run_m: Decimal | None,
    cable_mm2: Decimal | None,
    settings: Settings,
    *,
    bass: bool,
    has_cable: bool,
    signal_m: Decimal | None = None,
    ground: str | None = None,
) -> list[KitNeed]:
    """Kit of an amplifier, from its figures; wire to loudspeakers of places goes with the plan that feeds them.

    Each of two amplifiers has its own fuse, cable and ground: on two spots nothing has to be split.

    Parameters
    ----------
    fuse_a, copper_mm2
        Its main fuse, and the least area of copper that carries it and keeps the drop.
    run_m
        Cable from the battery, m; the shop's estimate counts if it is not known.
    bass
        Whether it plays the bass: a box to be held, and the wire to it.
    cable_mm2, has_cable
        Area of its supply cable, and whether that is a part of the catalog.
    signal_m, ground
        Way from the head unit, m, and ground at the spot; the shop's estimate, and the body, count if not known.
    """
    spare = 1 + settings["kit_spare_pct"] / HUNDRED
    run = _tenths((settings["kit_run_m"] if run_m is None else run_m) * spare)
    by_fuse = copper_mm2 or _area_of(fuse_a, settings)  # until the run is known: the drop may want more
    area = _standard(max(filter(None, (by_fuse, cable_mm2)), default=None))
    found = [] if has_cable else [KitNeed(CABLE, run, area, estimated=run_m is None)]
    found += [KitNeed("fuse", Decimal(1), fuse_a), KitNeed("fuse_holder", Decimal(1), fuse_a)]
    if ground == "cable":
        found.append(KitNeed("ground_cable", run, area, estimated=run_m is None))
    else:
        found.append(KitNeed("ground_lead", settings["kit_ground_m"], area, estimated=ground is None))
    found += [
        KitNeed(kind, Decimal(many), area if kind in SIZE_FIELDS else None)
        for kind, many in PIECES_OF_AMPLIFIER.items()
    ]
    full, low = (int(figures[f"{which}_channels"] or 0) for which in ("full", "bass"))
    pairs = math.ceil(full / 2) + (1 if low or not full else 0)
    way, guessed = _tenths((settings["kit_run_m"] if signal_m is None else signal_m) * spare), signal_m is None
    found.append(KitNeed("remote_wire", way, estimated=guessed))
    found.append(KitNeed("signal_lead", pairs * way, runs=pairs, estimated=guessed))
    return found + (_bass_needs(figures, spare, settings) if bass else [])


def _bass_needs(figures: Mapping[str, Any], spare: Decimal, settings: Settings) -> list[KitNeed]:
    power = max((figures[name] for name in BASS_POWERS if figures[name] is not None), default=None)
    area = _wire_mm2("bass", power, settings)
    length = _tenths(settings["kit_wire_m.bass"] * spare)
    terminals = KitNeed("terminal", Decimal(TERMINALS_OF_SPEAKER), area)
    return [KitNeed("speaker_wire", length, area, estimated=True), terminals, KitNeed("strap", settings["kit_straps"])]


BASS_POWERS = ("bass_w_1ohm", "bass_w_2ohm", "bass_w_4ohm", "full_bridged_w_4ohm")


def board_needs(settings: Settings) -> list[KitNeed]:
    """Return the kit item for a board that the shop makes but has not priced."""
    is_priced = settings["made_board_price"] or settings["made_board_labour_h"] * settings["labour_rate"]
    return [] if is_priced else [KitNeed(BOARD, Decimal(1))]


def pair_needs(settings: Settings) -> list[KitNeed]:
    """Return the extra kit of two amplifiers on one spot: a distribution block that splits the supply."""
    return [KitNeed("distribution", Decimal(1), settings["kit_block_a"])]


def _wire_mm2(
    where: str, power_w: Decimal | None, settings: Settings, length_m: Decimal | None = None
) -> Decimal | None:
    """Area of loudspeaker wire: the larger of what its loss and its current ask for."""
    length, load = float(length_m or settings[f"kit_wire_m.{where}"]), float(settings[f"kit_wire_ohm.{where}"])
    by_loss = area_for_loss_mm2(length, load, float(settings["kit_wire_loss_pct"]) / 100)
    current = None if power_w is None else math.sqrt(float(power_w) / load)
    by_current = area_for_current_mm2(current, float(settings["cable_insulation_c"])) if current else 0.0
    areas = [area for area in (by_loss, by_current) if area is not None]
    return _standard(Decimal(repr(max(areas, default=0.0))))


def _area_of(current_a: Decimal | None, settings: Settings) -> Decimal | None:
    area = area_for_current_mm2(None if current_a is None else float(current_a), float(settings["cable_insulation_c"]))
    return None if area is None else Decimal(repr(area))


def _standard(area_mm2: Decimal | None) -> Decimal | None:
    area = None if area_mm2 is None else standard_area_mm2(float(area_mm2))
    return None if area is None else Decimal(str(area))


def _tenths(length_m: Decimal) -> Decimal:
    return length_m.quantize(Decimal("0.1"), ROUND_UP)
