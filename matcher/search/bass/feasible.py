"""Boxes that fit a cargo space, and drivers that fit each box.

Only drivers of a catalog box's nominal size are matched with it: the rule of sizes refuses all others. A box made to
measure is matched with the drivers it is made for. Each rule is evaluated once per pair of distinct figure sets.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from matcher.kernel.columns import Columns, row_keys, word_code
from matcher.kernel.distinct import DistinctSets, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO
from matcher.kernel.verdicts import Codes, codes, worst
from matcher.rules.bass import BASS, FRAME_UNKNOWN, FRONT_MADE
from matcher.rules.cargo import CARGO
from matcher.rules.rule import FITS, NO, Rule, rules_of
from matcher.rules.terms import read_by
from matcher.search.bass.estimates import driver_terms
from matcher.search.bass.levels import (
    PORT,
    BoxTerms,
    DriverTerms,
    Floats,
    closed_levels,
    floats,
    levels_of,
    quiet_cm2,
    spread_share,
)
from matcher.search.bass.made import MADE_FOR, MadeBy, Workshop, as_part, made_cents, workshop
from matcher.search.bass.nets import SystemClass, nets_by_load
from matcher.search.bass.stock import (
    ELECTRIC,
    MADE,
    BoxGroup,
    BoxLoss,
    Flags,
    Stock,
    box_columns,
    driver_columns,
    read_columns,
    signature_of,
)
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts
from matcher.search.exact.choices import Ints
from matcher.search.fits.interfaces import lifted, money_cents
from matcher.search.fits.place import BOARD_STEP, DRILLED, LOOSEST, is_allowed
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings

SOUND = ("kind", "net_l", "tuned_hz", *PORT, "port_flared")
"""Figures of a box that determine its sound."""
AT_ONCE = 50_000
"""Number of pairs evaluated in one step, small enough for the processor's caches."""


def read_stock(catalog: Catalog, vehicle_id: str, opening_id: str, allowed: int) -> Stock:
    """Return all drivers and boxes that fit a cargo space within a step of the alteration ladder."""
    drivers, boxes = catalog.parts("subwoofer"), catalog.parts("enclosure")
    opening = catalog.vehicle(vehicle_id).opening("cargo", opening_id)
    return _Reading(drivers, boxes, opening, allowed, catalog.settings).stock(opening_id)


@dataclass
class _Reading:
    drivers: Parts
    boxes: Parts
    opening: Columns
    allowed: int
    settings: Settings
    _classes: dict[SystemClass, int] = field(default_factory=dict)

    def stock(self, opening_id: str) -> Stock:
        shop = workshop(self.opening, self.settings)
        made = () if shop is None else (each for drivers in MADE_FOR for each in self._made(shop, drivers))
        groups = [one for one in (*self._bought(), *made) if len(one.driver)]
        return Stock(
            opening_id=opening_id,
            drivers=self.drivers,
            boxes=self.boxes,
            opening=self.opening,
            workshop=shop,
            classes=list(self._classes),
            groups=groups,
            terms=self._terms,
            settings=self.settings,
        )

    def _bought(self) -> Iterator[BoxGroup]:
        """Yield the catalog's boxes by size, number of drivers and loss of points."""
        step, standing = self._standing(read_columns(self.boxes, "part", CARGO), len(self.boxes))
        cents, boxes = _money(self.boxes, 1, self.settings), np.flatnonzero(is_allowed(step, self.allowed))
        size, count = (self.boxes.cells[name].values for name in ("driver_size_in", "drivers"))
        losses, loss = np.unique(np.stack([step, standing, self._no_port]), axis=1, return_inverse=True)
        boxes = boxes[np.lexsort((cents[boxes], loss[boxes], count[boxes], size[boxes]))]
        for of_size in _runs(size[boxes]):
            drivers = np.flatnonzero(self.drivers.cells["size_in"].values == size[boxes[of_size.start]])
            codes = self._pair_codes(drivers, boxes[of_size])
            for alike in _runs(count[boxes[of_size]], loss[boxes[of_size]]):
                box, code = boxes[of_size][alike], codes[:, alike]
                many, (step_at, code_at, no_port) = int(count[box[0]]) // MICRO, losses[:, loss[box[0]]].tolist()
                kept = np.flatnonzero((code != NO).any(axis=1) & self._is_wired(drivers, many))
                sound, terms = self._sounds_of(box)
                limits = self._limits(drivers[kept], terms, many)
                of_box = box, cents[None, box], BoxLoss(step_at, code_at, bool(no_port)), sound, terms
                yield self._group(drivers[kept], many, code[kept], *of_box, limits)

    def _made(self, shop: Workshop, many: int) -> Iterator[BoxGroup]:
        """Yield boxes made to measure for this number of drivers of each model, by loss of points."""
        cells = self.drivers.cells
        shapes = shop.shapes(many, MadeBy(*(floats(cells[name]) for name in MadeBy._fields)), self.settings)
        boxes, every = shop.columns(many, shapes, self.settings), np.arange(len(self.drivers))
        step, standing = self._standing(as_part(boxes), len(every))
        at = Evaluation(driver_columns(self.drivers, every) | boxes | self.opening, self.settings)
        code = refused_or_not(np.broadcast_to(worst(rules_of(BASS), at), (len(every),)))
        net_l, (boards, labor) = floats(boxes["box.net_l"]), made_cents(shapes, self.settings)
        some = is_allowed(step, self.allowed) & (code != NO) & self._is_wired(every, many)
        for loss in sorted({*zip(step[some].tolist(), standing[some].tolist(), strict=True)}):
            driver = np.flatnonzero(some & (step == loss[0]) & (standing == loss[1]))
            sealed = np.ones(len(driver), np.bool_)
            terms = BoxTerms(sealed, ~sealed, net_l[driver], *np.full((2, len(driver)), np.nan))
            levels = closed_levels(self._terms.take(driver), many, net_l[driver], self.settings)
            power, travel = (each[:, None] for each in levels.limits(spread_share(self.settings)))
            cents, sound = (boards + labor)[driver, None], np.zeros(1, np.int64)
            of_box = np.array([MADE]), cents, BoxLoss(*loss, no_port=False), sound, terms
            group = self._group(driver, many, code[driver, None], *of_box, (power, travel))
            yield replace(group, shapes=shapes.take(driver))

    def _group(
        self,
        driver: Ints,
        many: int,
        code: Codes,
        box: Ints,
        box_cents: Ints,
        loss: BoxLoss,
        sound: Ints,
        terms: BoxTerms,
        limits: tuple[Ints, Ints],
    ) -> BoxGroup:
        return BoxGroup(
            drivers=many,
            driver=driver,
            driver_cents=_money(self.drivers, many, self.settings)[driver],
            system_class=self._class_of(driver, many),
            box=box,
            box_cents=box_cents,
            loss=loss,
            code=code,
            sound=sound,
            terms=terms,
            limits=limits,
        )

    def _standing(self, boxes: Columns, rows: int) -> tuple[Ints, Codes]:
        """The alteration step that each box requires in the space, and its verdict code there."""
        at = Evaluation(boxes | self.opening, self.settings)
        base, bolts = (
            refused_or_not(np.broadcast_to(worst(lifted(rules_of(CARGO), drill), at), (rows,)))
            for drill in (False, True)
        )
        held = np.minimum(base, bolts)
        step = np.where(held != NO, BOARD_STEP, np.where(base != NO, DRILLED, LOOSEST + 1))
        return step, np.where(step >= DRILLED, base, held)

    def _pair_codes(self, drivers: Ints, boxes: Ints) -> Codes:
        """Verdict codes of each driver in each box, shape (drivers, boxes)."""
        mine, other = driver_columns(self.drivers, drivers), box_columns(self.boxes, boxes)
        found = np.full((len(drivers), len(boxes)), FITS, np.int8)
        for rule in rules_of(BASS):
            if rule.when not in (FRONT_MADE, FRAME_UNKNOWN):
                down, across = _sets(mine, rule, len(drivers)), _sets(other, rule, len(boxes))
                keys = self._set_codes(
                    rule, mine.take(down.first), other.take(across.first), (len(down.first), len(across.first))
                )
                np.minimum(found, keys[:, across.number][down.number], out=found)
        return np.asarray(refused_or_not(found))

    def _set_codes(self, rule: Rule, mine: Columns, other: Columns, count: tuple[int, int]) -> Codes:
        """Verdict codes of one rule, some drivers at a time so that the processor's caches hold the work."""
        keys = np.empty(count, np.int8)
        step, across = max(1, AT_ONCE // max(1, count[1])), other.across() | self.opening
        for at in range(0, count[0], step):
            some = slice(at, at + step)
            keys[some] = codes(rule, Evaluation(mine.take(some).down() | across, self.settings))
        return keys

    def _limits(self, drivers: Ints, boxes: BoxTerms, count: int) -> tuple[Ints, Ints]:
        """Level limits of each driver in each kind of box."""
        step, spread = max(1, AT_ONCE // len(boxes.net_l)), spread_share(self.settings)
        chunks = (self._terms.take(drivers[at : at + step]) for at in range(0, max(1, len(drivers)), step))
        found = [levels_of(one, count, boxes, self.settings).limits(spread) for one in chunks]
        power, travel = (np.concatenate(each) for each in zip(*found, strict=True))
        return power, travel

    def _sounds_of(self, boxes: Ints) -> tuple[Ints, BoxTerms]:
        """The kind of sound of each box, and the figures of each kind."""
        kind, net, tuned = (self.boxes.cells[name] for name in ("kind", "net_l", "tuned_hz"))
        kinds, sound = np.unique(self._sounds.number[boxes], return_inverse=True)
        first = self._sounds.first[kinds]
        words = np.where(kind.known, kind.values, -1)[first]
        sealed, vented = words == word_code("sealed"), words == word_code("vented")
        return sound, BoxTerms(sealed, vented, floats(net)[first], floats(tuned)[first], self._quiet_cm2[first])

    @cached_property
    def _sounds(self) -> DistinctSets:
        keys = [each for name in SOUND for each in row_keys(self.boxes.cells[name])]
        return distinct(keys, len(self.boxes))

    @cached_property
    def _quiet_cm2(self) -> Floats:
        cells = self.boxes.cells
        is_flared = np.asarray(cells["port_flared"].known) & cells["port_flared"].values
        port = [floats(cells[name]) for name in PORT]
        found: Floats = quiet_cm2(port, floats(cells["net_l"]), is_flared, self.settings)
        return found

    @cached_property
    def _no_port(self) -> Flags:
        """Whether each box is vented with no stated port."""
        kind, (round_, width, height) = (
            self.boxes.cells["kind"],
            (np.asarray(self.boxes.cells[name].known) for name in PORT),
        )
        found: Flags = np.asarray(kind.known) & (kind.values == word_code("vented")) & ~(round_ | (width & height))
        return found

    @cached_property
    def _terms(self) -> DriverTerms:
        return driver_terms(self.drivers, self.settings)

    @cached_property
    def _electric(self) -> DistinctSets:
        keys = [each for name in ELECTRIC for each in row_keys(self.drivers.cells[name])]
        return distinct(keys, len(self.drivers))

    def _class_of(self, drivers: Ints, many: int) -> Ints:
        """Electrical class of this number of each driver, as an index into the classes."""
        sets, at = np.unique(self._electric.number[drivers], return_inverse=True)
        rows = self._electric.first[sets].tolist()
        classes = [(many, signature_of(self.drivers, row, many)) for row in rows]
        return np.array([self._classes.setdefault(one, len(self._classes)) for one in classes], np.int64)[at]

    def _is_wired(self, drivers: Ints, many: int) -> Flags:
        """Whether the coils of this number of each driver can be wired at all."""
        coils = self.drivers.cells["coils"].values[drivers] // MICRO
        nets = np.array([bool(nets_by_load(many, one)) if one else False for one in range(coils.max(initial=0) + 1)])
        found: Flags = nets[coils]
        return found


def _runs(*values: Ints) -> Iterator[slice]:
    """Slices of consecutive equal values."""
    if len(values[0]):
        changed = np.any([each[1:] != each[:-1] for each in values], axis=0)
        yield from (slice(*ends) for ends in itertools.pairwise(np.flatnonzero(np.r_[True, changed, True]).tolist()))


def _sets(columns: Columns, rule: Rule, rows: int) -> DistinctSets:
    """Distinct sets of the figures that a rule reads."""
    keys = [columns[figure] for figure in read_by(*rule.terms) if str(figure) in columns]
    every = [np.broadcast_to(each, rows) for column in keys for each in row_keys(column)]
    return distinct(every, rows)


def _money(parts: Parts, pieces: int, settings: Settings) -> Ints:
    """Price of this many pieces of each part including labor; zero if a part has no price."""
    found: Ints = np.where(parts.cells["price"].known, money_cents(parts, pieces, settings), 0)
    return found
