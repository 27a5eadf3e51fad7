"""Small random catalogs with bass, and every combination of them tried one by one.

The candidates of each slot, what the rules say of a pair of line levels and the points of a thing are
the shop's own, which other tests hold; what is worked out again here is who drives whom, what each
link may do, and which whole is best.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from random import Random

import numpy as np

from catalog_schema.jobs import Job
from matcher.rules.rule import DELAYS, FITS, NO, STOPS
from matcher.search.bass.levels import spread_share
from matcher.search.bass.nets import nets_by_load
from matcher.search.bass.side import BassSide
from matcher.search.bass.systems import BassSystem, system_at
from matcher.search.candidates.boards import made_board, sharing
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import BlockLink, level_cdb, link_gain_cdb
from matcher.search.feeds.parts import AmplifierSignature, Candidate, aid_of, amplifier_signature, head_signature
from matcher.search.field import RankingField
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.question import question_of
from matcher.search.ranking import tree_of
from matcher.settings import DEFAULT_SETTINGS
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.factories import (
    Bench,
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    electrical,
    head_unit,
    part,
    plain,
    speaker,
    speaker_opening,
    vehicle,
)

EVERYTHING = 10**6
"""So many packages that nothing is left out as beaten."""

ELECTRICAL = electrical(charge_a=300, charge_idle_a=200, base_load_a=10, battery_ah=60)


def drawn_parts(draw: Random) -> Iterator[Row]:
    """Few prices and few figures, so that ties and limits are common."""

    def priced() -> Row:
        return {"price": draw.choice([20, 30, 30, 60]), "labour_h": draw.choice([0, 0.5])}

    for number in range(draw.randint(1, 2)):
        own = {"amp_channels": 4, "amp_w": draw.choice([20, None]), "amp_min_ohm": 4, "standby_ma": 1, "screen_in": 7}
        own |= {"preouts": draw.choice([4, 4, 0, None]), "preout_v": 2, "part_id": f"h{number}", "screen": "flush"}
        yield head_unit(**own | priced())
    for number in range(draw.randint(2, 4)):
        mono = draw.random() < 0.5
        own = {
            "part_id": f"a{number}",
            "input_min_v": draw.choice([0.2, 0.2, 0.2, 3]),
            "input_max_v": 5,
            "standby_ma": draw.choice([5, 20]),
            "w_mm": draw.choice([200, 200, 212, 214, None]),
            "fuse_a": 10,
            "current_a": 10,
            "class": "d",
        }
        bass = {
            "bass_channels": draw.choice([1, 1, None]),
            "bass_w_4ohm": draw.choice([150, 200, 400]),
            "bass_w_2ohm": draw.choice([200, 350, None]),
            "bass_min_ohm": draw.choice([1, 2, 4]),
            "power_basis": draw.choice(["rms", "rms", "peak"]),
        }
        full = {
            "full_channels": draw.choice([2, 4]),
            "full_w_4ohm": 50,
            "full_bridged_w_4ohm": draw.choice([150, 200, None]),
            "full_bridged_min_ohm": 4,
            "bass_channels": 0,
        }
        yield bass_amplifier(**own | bass | priced()) if mono else amplifier(**own | full | priced())
    for number in range(draw.randint(1, 2)):
        own = {
            "part_id": f"s{number}",
            "sens_db": draw.choice([88, 90]),
            "sens_basis": "1w",
            "rms_w": draw.choice([20, 50]),
        }
        yield speaker(**own | priced())
    for number in range(draw.randint(2, 3)):
        own = {
            "part_id": f"d{number}",
            "coils": draw.choice([1, 2, 2]),
            "coil_ohm": draw.choice([2, 4]),
            "rms_w": draw.choice([100, 150, 200]),
            "qts": draw.choice([0.45, 0.5, 0.5, 0.7, None]),
            "xmax_mm": draw.choice([5, 10, 10, None]),
        }
        yield driver(**own | priced())
    for number in range(draw.randint(0, 2)):
        own = {"kind": draw.choice(["line_driver", "line_output_converter"]), "needs": [], "standby_ma": 1}
        yield part(
            "accessory",
            **own | {"part_id": f"x{number}", "gives": [draw.choice(["line_output", "line_2v", "line_8v"])]} | priced(),
        )
    for number in range(draw.randint(0, 3)):
        vented = draw.random() < 0.4
        own = {
            "part_id": f"b{number}",
            "drivers": draw.choice([1, 1, 2]),
            "kind": "vented" if vented else "sealed",
            "tuned_hz": draw.choice([35, 40, None]) if vented else None,
            "net_l": draw.choice([30, 40]),
            "w_mm": draw.choice([400, 599, 700]),
        }
        yield box(**own | priced())


def drawn_boards(draw: Random) -> Iterator[Row]:
    """Boards for amplifiers, some too small or of unknown thickness."""
    for number in range(draw.randint(0, 3)):
        own = {"kind": "board", "gives": [], "w_mm": draw.choice([262, 270, 400]), "h_mm": draw.choice([201, 205, 230])}
        own |= {"d_mm": draw.choice([9, 9, 18, None]), "price": draw.choice([5, 20, 30]), "labour_h": 0.5}
        yield part("accessory", **own | {"part_id": f"p{number}"})


def lay_town(bench: Bench, seed: int, spots: int) -> None:
    draw = Random(seed)
    for (name,) in bench.con.execute("select table_name from duckdb_tables() where table_name != 'meta'").fetchall():
        bench.con.execute(f'delete from "{name}"')
    places = [amp_spot(w_mm=draw.choice([300, 400, 500])), amp_spot(opening_id="boot", w_mm=500)][:spots]
    space = cargo_space(mass_max_kg=draw.choice([13, 25]), gate_h_mm=draw.choice([400, 299]))
    spaces = [space]
    if draw.random() < 0.4:
        spaces.append(cargo_space(opening_id="shelf", w_mm=draw.choice([401, 500]), mass_max_kg=25))
    openings = [dash_opening(), speaker_opening(), *places, *spaces]
    bench.lay(*drawn_parts(draw), *drawn_boards(Random(-seed)), vehicle(*openings, electrical=ELECTRICAL))
    bench.set("labour_rate", 40)
    bench.set("made_board_price", 25)
    for name in ("board_price_m2", "made_box_extras_price", "made_box_labour_h"):
        bench.set(name, 0)


def lay_job(bench: Bench, seed: int) -> Job:
    draw = Random(seed)
    limits: Row = {"alteration": draw.choice(["bolt_on", "metal_cut"])}
    if draw.random() < 0.5:
        limits["budget"] = draw.choice([190, 230, 280, 340])
    if draw.random() < 0.2:
        limits["at_rest_ma"] = draw.choice([6, 21, 26])
    wishes = {name: draw.randint(0, 5) for name in ("loudness", "bass", "screen", "original_look", "price")}
    choose = ["door", draw.choice(["bass", "cargo"]), *(["head_unit"] if draw.random() < 0.9 else [])]
    document = {"job_id": "j1", "vehicle_id": "tern", "limits": limits, "choose": choose, "wishes": wishes}
    save_job(bench.con, json.dumps(document, default=plain), "test")
    return stored_job(bench.con, "j1")


@dataclass(frozen=True)
class Whole:
    """A package by plain enumeration."""

    points: int
    cents: int
    name: tuple[str, ...]
    sure: bool
    uses: tuple[int, ...]

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        return (-self.points, self.cents, self.name)


def gather(bench: Bench, job: Job, top: int) -> RankingField:
    """The candidates of a job."""
    catalog = Catalog(bench.con, shop_settings(bench.con))
    return gather_field(catalog, question_of(catalog, job), CandidatePass(top))


class Counter:
    """Tries every combination of a field with one loudspeaker place."""

    def __init__(self, bench: Bench, field: RankingField) -> None:
        self.field, self.considered = field, 0
        self.catalog = Catalog(bench.con, field.scoring.settings)
        self.footprints = {
            name: sides
            for table, named in (("amplifier", "part_id"), ("opening_amp_spot", "opening_id"))
            for name, *sides in bench.con.execute(f"select {named}, w_mm, d_mm from {table}").fetchall()
        }
        self.scoring = field.scoring
        assert field.aids is not None
        self.aids = [aid for table in field.aids.offered(()) for aid in table.candidates]
        """Accessories that make a line level; those of these towns need no feature."""

    def wholes(self) -> Iterator[Whole]:
        """Every package that nothing forbids but the limits on the whole."""
        field = self.field
        assert field.bass is not None
        (speakers,) = field.speakers.values()
        helped = [replace(head, along=(aid,)) for head in field.heads for aid in self.aids]
        heads = [*field.heads, *helped]
        for head, one, amp, system in product(heads, speakers, field.amplifiers, systems_of(field.bass)):
            for fed, bass in product(("head", "pair", "bridged"), ("bass", "bridged")):
                rivals: list[Candidate | None] = [None]
                if fed != "head":
                    rivals += field.amplifiers
                for own, (_, ratio) in product(rivals, nets_by_load(system.drivers, coils_of(system))):
                    self.considered += 1
                    whole = self._whole(head, one, amp, own, system, fed, bass, ratio)
                    if whole is not None:
                        yield whole

    def _whole(
        self,
        head: Candidate,
        one: Candidate,
        amp: Candidate,
        own: Candidate | None,
        system: BassSystem,
        fed: str,
        bass: str,
        ratio: Decimal,
    ) -> Whole | None:
        if own is not None and own.opening_id == amp.opening_id:  # on one board, which the shop makes
            amp, own = sharing(amp, made_board(self.catalog, str(amp.opening_id), self.scoring)), sharing(own, None)
        outputs, first = head_signature(head), amplifier_signature(amp)
        second = None if own is None else amplifier_signature(own)
        amplifiers, aid = [each for each in (first, second) if each is not None], aid_of(head)
        line_code = tree_of(self.field).reader.line_code
        codes = [line_code(outputs, each, aid) for each in amplifiers]
        if aid is not None and min(codes) <= min(line_code(outputs, each, None) for each in amplifiers):
            return None  # what betters nothing is not bought
        taken = {"head": 0, "pair": 2, "bridged": 4}[fed]
        codes += [count(outputs.amp_channels, 2 if fed == "head" else 0), count(first.channels, taken)]
        if own is not None and own.opening_id == amp.opening_id:
            codes.append(side_by_side(*(self.footprints[name] for name in (amp.opening_id, amp.part_id, own.part_id))))
        start = min(codes)
        source = first if second is None else second
        if bass == "bass":
            channels = count(source.bass_channels, 1)
        else:
            channels = count(source.channels, 2 + (taken if second is None else 0))
        speaker_code, speaker_points = self._speaker(one, outputs.amp_w, outputs.amp_min_ohm, first, fed)
        bass_code, bass_points = self._bass(system, source, bass, ratio, channels)
        if NO in (start, speaker_code, bass_code):
            return None
        parts = [head, one, amp, system.driver, system.box, *([own] if own is not None else [])]
        points = sum(each.total_points for each in parts) + speaker_points + bass_points
        points += self.scoring.unknown(start)
        words = (*head.name, *one.name, *amp.name, *system.name, "".join(own.name) if own is not None else "")
        sure = min(start, speaker_code, bass_code) == FITS and not any(each.is_open for each in parts)
        uses = tuple(map(sum, zip(*(each.uses for each in parts), strict=True)))
        return Whole(points, sum(each.cents for each in parts), words, sure, uses)

    def _speaker(
        self, one: Candidate, head_w: Decimal | None, head_ohm: Decimal | None, amp: AmplifierSignature, fed: str
    ) -> tuple[int, int]:
        """A loudspeaker of 4 ohm with one coil, on a block rated into 4 ohm."""
        power, least = {
            "head": (head_w, head_ohm),
            "pair": (amp.w_4ohm, amp.min_ohm),
            "bridged": (amp.bridged_w_4ohm, amp.bridged_min_ohm),
        }[fed]
        signature = one.signature
        rated = signature.rms_w  # type: ignore[union-attr]
        code = link_code(Decimal(4), least, power, rated)
        return code, self._points(one.code, code, "loudness", level_of(one, power, rated))

    def _bass(
        self, system: BassSystem, source: AmplifierSignature, how: str, ratio: Decimal, channels: int
    ) -> tuple[int, int]:
        signature = system.driver.signature
        load = signature.impedance_ohm * ratio  # type: ignore[union-attr,operator]
        rated = signature.rms_w  # type: ignore[union-attr]
        if how == "bridged":
            least, power = source.bridged_min_ohm, power_into(load, source.bridged_w_4ohm, None, None)
        else:
            least = source.bass_min_ohm
            power = power_into(load, source.bass_w_4ohm, source.bass_w_2ohm, source.bass_w_1ohm)
        code = min(channels, link_code(load, least, power, rated))
        level = bass_level(system, power, rated)
        return code, self._points(system.code, code, "bass", level)

    def _points(self, own: int, code: int, wish: str, level: int | None) -> int:
        earned = self.scoring.level(level) if wish == "loudness" else int(self.scoring.bass_points(level or 0))
        return earned + min(self.scoring.unknown(code) - self.scoring.unknown(own), 0)


def side_by_side(spot: Sides, one: Sides, other: Sides) -> int:
    return max(
        min(room(along, [first[0], second[0]], 75), room(across, [first[1]], 50), room(across, [second[1]], 50))
        for along, across in (spot, spot[::-1])
        for first in (one, one[::-1])
        for second in (other, other[::-1])
    )


Sides = list[Decimal | None]


def room(side: Decimal | None, lengths: list[Decimal | None], air: int) -> int:
    """A side as taken with a tape, to 1 mm, against lengths as their makers state them, to 0.5 mm."""
    if side is None or None in lengths:
        return STOPS
    margin, tol = side - sum(lengths) - air, 1 + len(lengths) * Decimal("0.5")  # type: ignore[arg-type]
    return FITS if margin >= tol else NO if margin < -tol else STOPS


def systems_of(side: BassSide) -> list[BassSystem]:
    """Every bass system."""
    return [
        system_at(stock, group, driver, box, side.scoring)
        for stock in side.stocks
        for group in stock.groups
        for driver, box in np.argwhere(group.can).tolist()
    ]


def coils_of(system: BassSystem) -> int:
    return system.driver.signature.coils  # type: ignore[union-attr]


def count(have: int | None, needed: int) -> int:
    if not needed:
        return FITS
    return DELAYS if have is None else FITS if have >= needed else NO


def link_code(load: Decimal, least: Decimal | None, power: Decimal | None, rated: Decimal) -> int:
    """Load over the least, power from 0.75 to 1.5 of the rating."""
    codes = [DELAYS if least is None else FITS if load >= least else NO]
    if power is None:
        codes.append(DELAYS)
    else:
        codes.append(FITS if rated * Decimal("0.75") <= power <= rated * Decimal("1.5") else NO)
    return min(codes)


def power_into(load: Decimal, w_4: Decimal | None, w_2: Decimal | None, w_1: Decimal | None) -> Decimal | None:
    """Power at the loads that these towns can make: 1, 2, 4 and 8 ohm, and none below."""
    table = {Decimal(1): w_1, Decimal(2): w_2, Decimal(4): w_4, Decimal(8): None if w_4 is None else w_4 / 2}
    return table.get(load, None if load < 1 else None if w_4 is None else w_4 * 4 / load)


def level_of(one: Candidate, power: Decimal | None, rated: Decimal) -> int | None:
    return level_cdb(one, BlockLink(Decimal(4), None, power, rated, False))


def bass_level(system: BassSystem, power: Decimal | None, rated: Decimal) -> int | None:
    return judged_cdb(system, BlockLink(None, None, power, rated, False))


def judged_cdb(system: BassSystem, link: BlockLink) -> int | None:
    """The level on a feed that earns points; None where the power or a limit is not known."""
    gain = link_gain_cdb(link)
    known = gain is not None and system.levels.known
    return int(system.levels.judged(gain, spread_share(DEFAULT_SETTINGS))) if known else None


def ranked(bench: Bench, job: Job, top: int) -> tuple[list[Whole], Whole | None, int]:
    """All packages of distinct parts in the total order, the best sure one, and how many were looked at."""
    field = gather(bench, job, EVERYTHING)
    counter = Counter(bench, field)
    everything = list(counter.wholes())
    loose, strict = (sum_limits(field.question, job.limits.budget, sure=sure) for sure in (False, True))
    best: dict[tuple[str, ...], Whole] = {}
    for whole in everything:
        if within(whole, loose) and (whole.name not in best or whole.points > best[whole.name].points):
            best[whole.name] = whole
    sure = min(
        (whole for whole in everything if whole.sure and within(whole, strict)), key=lambda one: one.order, default=None
    )
    return sorted(best.values(), key=lambda whole: whole.order), sure, counter.considered


def within(whole: Whole, bounds: object) -> bool:
    most_cents, most = bounds.cents, bounds.uses  # type: ignore[attr-defined]
    money = most_cents is None or whole.cents <= most_cents
    return money and all(limit is None or used <= limit for used, limit in zip(whole.uses, most, strict=True))
