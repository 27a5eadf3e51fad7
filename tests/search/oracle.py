"""A second, plain ranking: every combination tried one by one, with the trade's arithmetic written again.

Only whether one part goes into one opening is asked of the shop; what parts do together, what they
cost and how they score is worked out here from the trade's rules, in fractions.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import Any, NamedTuple

from catalog_schema.jobs import LADDER, Job
from matcher.rules.rule import DELAYS, FITS, MENDED, STOPS
from matcher.settings import Settings
from tests.factories import Row

YES, OPEN, NO = FITS, DELAYS, 0
"""What feeds and lines leave open delays the job."""

Feed = tuple[str, str, tuple[str, ...], int]
"""Where it comes from, how its channels are used, the places on it, the channels it takes."""
Net = tuple[Fraction | None, int]
"""The load of one loudspeaker's coils on a block, and how many blocks drive it."""


class Alone(NamedTuple):
    """A part by itself at its place: what it takes, what is said of it, what it costs and scores."""

    place: str
    row: Row | None
    adapter: str
    step: int
    code: int
    """The worst, its standby drain included."""
    cents: int
    packs: int
    points: int

    @property
    def sure(self) -> bool:
        return self.code == YES

    @property
    def name(self) -> tuple[str, str]:
        return (self.row["part_id"] if self.row else "", self.adapter)


@dataclass(frozen=True)
class Whole:
    """A package as the oracle sees it."""

    points: int
    cents: int
    names: tuple[str, ...]
    sure: bool
    microamps: int
    links: dict[str, tuple[Fraction | None, Fraction | None]]
    """By opening: the load on its block, and the power for each loudspeaker."""

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        return (-self.points, self.cents, self.names)


@dataclass(frozen=True)
class Town:
    """A catalog, one vehicle, and how each part goes alone: (opening, part, adapter) to (least step, code)."""

    parts: list[Row]
    openings: list[Row]
    settings: Settings
    alone: Callable[[str, Row, Row | None], tuple[int, int] | None]

    def of(self, family: str) -> list[Row]:
        return [row for row in self.parts if row["family"] == family]


def compared(have: Any, need: Any) -> int:
    """The verdict on two nominal figures."""
    return OPEN if have is None or need is None else YES if have >= need else NO


def fraction(number: Any) -> Fraction | None:
    return None if number is None else Fraction(str(number))


def half_up(number: Fraction) -> int:
    return math.floor(abs(number) + Fraction(1, 2)) * (1 if number >= 0 else -1)


def is_original(row: Row | None, family: str = "speaker") -> bool:
    """Whether a row is factory equipment of a family."""
    return row is not None and not row["part_id"] and row["family"] == family


class Counter:
    """The counter's arithmetic for one job in one town."""

    def __init__(self, town: Town, job: Job) -> None:
        self.town, self.job, self.considered = town, job, 0
        self._links: dict[tuple[Any, ...], tuple[int, int, Fraction | None, Fraction | None]] = {}

    def setting(self, name: str) -> Fraction:
        return Fraction(str(self.town.settings[name]))

    def weighed(self, wish: str, points: Fraction) -> int:
        return half_up(points * getattr(self.job.wishes, wish) * 100)

    # Parts by themselves.

    def allowed(self, place: str) -> int:
        return LADDER.index(self.job.limits.per_opening.get(place) or self.job.limits.alteration or "bolt_on")

    def cost(self, row: Row | None, pieces: int) -> tuple[int, int]:
        """Cents and packs."""
        if row is None:
            return 0, 0
        packs = math.ceil(Fraction(pieces, row["pack_of"]))
        hours = (fraction(row.get("labour_h")) or 0) * pieces
        return half_up(Fraction(str(row["price"])) * packs * 100) + half_up(
            hours * self.setting("labour_rate") * 100
        ), packs

    def candidates(self, family: str, place: str, pieces: int) -> Iterator[Alone]:
        adapters = [row for row in self.town.of("adapter") if family != "amplifier"]
        for row, through in product(self.town.of(family), [None, *adapters]):
            found = self.town.alone(place, row, through)
            doubt = self.wanted(row) if family == "head_unit" else YES
            if found is None or found[0] > self.allowed(place) or doubt == NO:
                continue
            cents, packs = self.cost(row, pieces)
            cents += self.cost(through, pieces)[0]
            code = min(found[1], doubt, YES if family == "speaker" else self.resting(row))
            name = through["part_id"] if through else ""
            yield Alone(place, row, name, found[0], code, cents, packs, self.own_points(row, found[0], cents, code))

    def resting(self, row: Row) -> int:
        """Verdict of a part by its standby drain."""
        return YES if row.get("standby_ma") is not None else MENDED

    def lost(self, code: int) -> int:
        """Points lost for what is to be measured."""
        risks = {STOPS: "stops", DELAYS: "delays", MENDED: "mended"}
        return half_up(self.setting(f"points_unknown.{risks[code]}") * 100) if code in risks else 0

    def wanted(self, row: Row) -> int:
        limits, verdicts = self.job.limits, [YES]
        if limits.screen_min_in is not None:
            bare = row.get("screen") == "none"
            verdicts.append(NO if bare else compared(row.get("screen_in"), limits.screen_min_in.value))
        if limits.must:
            has = row.get("features")
            verdicts.append(STOPS if has is None else YES if set(limits.must) <= set(has) else NO)
        return min(verdicts)

    def own_points(self, row: Row, step: int, cents: int, code: int) -> int:
        points = -self.weighed("original_look", step * self.setting("points_look"))
        points -= self.weighed("price", Fraction(cents, 100) * self.setting("points_price"))
        if row["family"] == "head_unit":
            points += self.weighed("screen", (fraction(row.get("screen_in")) or 0) * self.setting("points_screen"))
        if row["family"] == "speaker":
            points += self.band({"low_hz": 150, "high_hz": 20_000} | {name: cell for name, cell in row.items() if cell})
        return points - self.lost(code)

    def band(self, row: Row) -> int:
        """Points for how low and how high a loudspeaker reaches; none for an end that is not known."""
        floor, points = self.setting("low_floor_hz"), 0
        if row.get("low_hz"):
            points += self.octaves("bass", "points_low", floor, Fraction(str(row["low_hz"])))
        if row.get("high_hz"):
            top = min(Fraction(str(row["high_hz"])), self.setting("treble_top_hz"))
            points += self.octaves("loudness", "points_treble", top, self.setting("treble_floor_hz"))
        return points

    def octaves(self, wish: str, points: str, upper: Fraction, lower: Fraction) -> int:
        """Points for the octaves between two frequencies."""
        octaves = Fraction(round(math.log2(upper / lower), 4)).limit_denominator(10000) if upper > lower else 0
        return self.weighed(wish, octaves * self.setting(points))

    def aids(self, head: Row) -> Iterator[Alone]:
        """Accessories that make a line level."""
        for row in self.town.of("accessory"):
            cents, packs = self.cost(row, 1)
            code = min(self.needs_met(head, row), self.resting(row))
            yield Alone("", row, "", 0, code, cents, packs, self.own_points(row, 0, cents, code))

    def betters(self, head: Row, amp: Row, aid: Row) -> bool:
        """Whether an accessory makes more of a line, and has what it needs: what betters nothing is not bought."""
        plain, lined = (self.line_level(head, amp, one) for one in (None, aid))
        return lined > plain and self.needs_met(head, aid) != NO

    def needs_met(self, head: Row, aid: Row) -> int:
        """Whether a head unit has the features that an accessory needs beside outputs."""
        needs, has = aid.get("needs"), head.get("features")
        more = set(needs or ()) - {"line_output", "speaker_output"}
        return OPEN if needs is None or (more and has is None) else YES if more <= set(has or ()) else NO

    def original(self, place: str, family: str) -> Row:
        """The factory equipment of an opening as a row of its family; it has no name."""
        opening = next(row for row in self.town.openings if row["opening_id"] == place)
        own = {"family": family, "part_id": "", "impedance_ohm": opening.get("factory_ohm"), "coils": 1, "rms_w": None}
        return own | opening.get("original", {})

    # Who feeds whom.

    def plans(self, places: list[str], counts: dict[str, int]) -> Iterator[list[Feed]]:
        """Every way to feed some places."""
        if not places:
            yield []
            return
        first, rest = places[0], places[1:]
        alone = [("head_unit", "pair", (first,), 2), ("amplifier", "pair", (first,), 2)]
        alone.append(("amplifier", "bridged", (first,), 2 * counts[first]))
        for feed in alone:
            yield from ([feed, *others] for others in self.plans(rest, counts))
        for partner in rest:
            for source in ("head_unit", "amplifier"):
                left = [place for place in rest if place != partner]
                shared = (source, "shared", (first, partner), 2)
                yield from ([shared, *others] for others in self.plans(left, counts))

    def plan_points(self, feeds: list[Feed]) -> int:
        """Lost where a pair of channels plays in front and behind: no fader."""
        rear = {row["opening_id"]: row.get("position") == "rear" for row in self.town.openings}
        mixed = sum(len({rear[place] for place in feed[2]}) > 1 for feed in feeds)
        return -mixed * self.weighed("loudness", self.setting("points_shared"))

    def nets(self, one: Alone, count: int, mode: str, source: Row | None) -> list[Net]:
        """The nets in which every coil gets the same power."""
        assert one.row is not None
        ohm, coils = fraction(one.row["impedance_ohm"]), one.row["coils"]
        if is_original(one.row) and count == 1 and mode == "pair" and is_original(source, "head_unit"):
            return [(ohm, 1)]  # as it came from the works
        blocks = 1
        if count == 1 and mode != "bridged":
            if coils % 2:
                return []
            coils, blocks = coils // 2, 2
        if coils == 1:
            return [(ohm, blocks)]
        assert ohm is not None
        ways = [ohm * coils, ohm / coils] + ([ohm] if coils == 4 else [])
        return [(load, blocks) for load in ways]

    def block(self, source: Row | None, mode: str, load: Fraction | None) -> tuple[Any, Fraction | None]:
        """The least load of a block, and the power it gives into a load.

        A head unit drives at most a sine between its rails: (V / 2)² / 2 into 4 ohm.
        """
        row = source or {}
        real = row.get("power_basis") != "peak"
        if row.get("family") != "amplifier":
            claimed, supplied = fraction(row.get("amp_w")), self.setting("rail_v") ** 2 / 8
            least, four, two = row.get("amp_min_ohm"), None if claimed is None else min(claimed, supplied), None
        elif mode == "bridged":
            least, four, two = row.get("full_bridged_min_ohm"), fraction(row.get("full_bridged_w_4ohm")), None
        else:
            least, four, two = (
                row.get("full_min_ohm"),
                fraction(row.get("full_w_4ohm")),
                fraction(row.get("full_w_2ohm")),
            )
        four, two = (four, two) if real else (None, None)
        if load is None or load < 2:
            return least, None
        if load == 2:
            return least, two
        held = None if four is None else four * 4 / load
        if load >= 4 or held is None:
            return least, held
        return least, None if two is None else min(held, two)

    def link(
        self, one: Alone, source: Row | None, mode: str, net: Net, beside: Fraction | None
    ) -> tuple[int, int, Fraction | None, Fraction | None]:
        """Verdict, points, load on the block and power for a loudspeaker on a feed."""
        load, blocks = net
        total = load
        if mode == "shared":
            total = None if load is None or beside is None else 1 / (1 / load + 1 / beside)
        least, power = self.block(source, mode, total)
        if power is not None and load is not None and total is not None:
            power = power * blocks * total / load
        verdict = compared(total, fraction(least))
        assert one.row is not None
        rated = fraction(one.row["rms_w"])
        if rated is not None:
            verdict = min(verdict, compared(power, rated * self.setting("power_least")))
            verdict = min(verdict, compared(rated * self.setting("power_most"), power) if power is not None else OPEN)
        points = self.loudness(one.row, power, rated) - max(self.lost(verdict) - self.lost(one.code), 0)
        return verdict, points, total, power

    def known_link(self, one: Alone, source: Row | None, feed: Feed, net: Net, beside: Fraction | None = None) -> Any:
        """A link, worked out once."""
        key = (one.place, one.name, source and source["part_id"], feed[:2], net, beside)
        if key not in self._links:
            self._links[key] = self.link(one, source, feed[1], net, beside)
        return self._links[key]

    def loudness(self, row: Row, power: Fraction | None, rated: Fraction | None) -> int:
        if power is None:
            return 0
        alone = self.level_cdb(row)
        most = self.travel_cdb(row)
        return 0 if alone is None else self.level_points(min(alone + self.gain_cdb(power, rated or power), most))

    def level_cdb(self, row: Row) -> int | None:
        """Its level at 1 W, in hundredths of a decibel."""
        if row.get("sens_db") is None or row["impedance_ohm"] is None:
            return None
        level = int(Fraction(str(row["sens_db"])) * 100)
        by_volts = level - round(1000 * math.log10(8 / Fraction(str(row["impedance_ohm"]))))
        readings = {"1w": level, "2v83": by_volts, None: min(level, by_volts)}
        return readings[row.get("sens_basis")]

    def travel_cdb(self, row: Row) -> int:
        """The level that travel allows it: a monopole in half space at its lower end, or at 200 Hz."""
        if is_original(row):
            return 10**6  # these towns tell no travel of it
        nominal_cm2 = 10.16 * 15.24 if row["size"] == "4x6" else 16.5**2
        area_cm2 = row.get("sd_cm2") or round(math.pi / 4 * nominal_cm2 * 0.55, 1)
        peak_m3 = float(area_cm2) * 1e-4 * float(row["xmax_mm"]) * 1e-3
        hz = float(row.get("low_hz") or 150)
        return round(2000 * math.log10(1.2 * 2 * math.pi * hz**2 * peak_m3 / math.sqrt(2) / 20e-6))

    def gain_cdb(self, power: Fraction, rated: Fraction) -> int:
        return round(1000 * math.log10(min(power, rated)))

    def level_points(self, level_cdb: int) -> int:
        over = max(Fraction(level_cdb, 100) - self.setting("level_floor_db"), Fraction(0))
        return self.weighed("loudness", over * self.setting("points_level"))

    def sources(self, head: Row | None, amp: Row | None, feeds: list[Feed], aid: Row | None = None) -> int:
        """Channels, and line level between head unit and amplifier."""
        have = head or {}
        taken = {name: sum(feed[3] for feed in feeds if feed[0] == name) for name in ("head_unit", "amplifier")}
        verdicts = [compared(have.get("amp_channels"), taken["head_unit"])] if taken["head_unit"] else []
        if amp is not None:
            verdicts += [compared(amp["full_channels"], taken["amplifier"]), self.line_level(have, amp, aid)]
        return min(verdicts, default=YES)

    def line_level(self, head: Row, amp: Row, aid: Row | None = None) -> int:
        preouts, takes = head.get("preouts"), amp.get("high_level_in")
        volts = lifted = head.get("preout_v")
        if aid is not None:
            lifted = max((float(word[5:-1]) for word in aid["gives"] if word[5:6].isdigit()), default=None)
            if aid["kind"] == "line_output_converter":
                made = OPEN if lifted is None or amp.get("input_max_v") is None else YES
                return min(compared(head.get("amp_channels"), 2), compared(lifted, amp.get("input_min_v")), made)
        by_volts = min(compared(lifted, amp.get("input_min_v")), compared(amp.get("input_max_v"), volts))
        by_speaker = compared(head.get("amp_channels"), 2) if takes else OPEN if takes is None else NO
        if preouts is None:
            return YES if min(by_volts, by_speaker) == YES else OPEN  # sure is only what holds either way
        return by_volts if preouts >= 2 else by_speaker

    # Whole packages.

    def heads(self) -> list[Alone]:
        chosen, keep = set(self.job.choose or ()), set(self.job.keep or ())
        dashes = [row["opening_id"] for row in self.town.openings if row["kind"] == "dash"]
        if not dashes or dashes[0] in keep or (chosen and not chosen & {"head_unit", dashes[0]}):
            row = self.original(dashes[0], "head_unit") if dashes else {"part_id": "", "family": "head_unit"}
            return [Alone("", row, "", 0, YES, 0, 0, 0)]
        return list(self.candidates("head_unit", dashes[0], 1))

    def amplifiers(self) -> list[Alone]:
        spots = sorted(row["opening_id"] for row in self.town.openings if row["kind"] == "amp_spot")
        keep, found = self.job.keep or (), []
        for spot in spots:
            row = self.original(spot, "amplifier")
            stays = [Alone(spot, row, spot, 0, YES, 0, 0, 0)] if row.get("full_channels") is not None else []
            found += stays if spot in keep else list(self.candidates("amplifier", spot, 1))
        return found

    def places(self) -> tuple[dict[str, Row], dict[str, int]]:
        """The loudspeaker places that the job is about, and how many loudspeakers each takes."""
        chosen, keep = set(self.job.choose or ()), set(self.job.keep or ())
        asked = {
            row["opening_id"]: row
            for row in sorted(self.town.openings, key=lambda row: str(row["opening_id"]))
            if row["kind"] == "speaker" and (not chosen or row["opening_id"] in chosen | keep)
        }
        return asked, {name: row.get("count") or 2 for name, row in asked.items()}

    def speakers(self, place: str, count: int) -> list[Alone]:
        if place in (self.job.keep or ()):
            row = self.original(place, "speaker")
            return [Alone(place, row, "", 0, YES, 0, 0, self.band(row))]
        return list(self.candidates("speaker", place, count))

    def packages(self) -> Iterator[Whole]:
        """Every package that nothing forbids; `considered` counts every one that was looked at."""
        asked, counts = self.places()
        lists = [self.speakers(name, counts[name]) for name in asked]
        plans = list(self.plans(list(asked), counts))
        for head, amp in product(self.heads(), [None, *self.amplifiers()]):
            for feeds in plans:
                if any(feed[0] == "amplifier" for feed in feeds) == (amp is not None):
                    for aid, picks in product([None, *(self.aids(head.row or {}) if amp else [])], product(*lists)):
                        by_place = {one.place: one for one in picks}
                        yield from self.wired(head, amp, aid, feeds, by_place, asked, counts)

    def wired(
        self,
        head: Alone,
        amp: Alone | None,
        aid: Alone | None,
        feeds: list[Feed],
        picks: dict[str, Alone],
        asked: dict[str, Row],
        counts: dict[str, int],
    ) -> Iterator[Whole]:
        of = {place: feed for feed in feeds for place in feed[2]}
        rows = {place: head.row if of[place][0] == "head_unit" else amp.row if amp else None for place in picks}
        nets = [self.nets(one, counts[place], of[place][1], rows[place]) for place, one in picks.items()]
        everyone = [head, *picks.values(), *([amp] if amp else [])]
        start = self.sources(head.row, amp.row if amp else None, feeds, aid and aid.row)
        if aid is not None and amp is not None and not self.betters(head.row or {}, amp.row or {}, aid.row or {}):
            start = NO
        for wiring in product(*nets):
            self.considered += 1
            by_place = dict(zip(picks, wiring, strict=True))
            links = {}
            for place, one in picks.items():
                beside = [by_place[other][0] for other in of[place][2] if other != place]
                links[place] = self.known_link(one, rows[place], of[place], by_place[place], *beside)
            worst = min([start, *(link[0] for link in links.values())])
            whole = self.added(everyone, aid, links, start, worst, self.plan_points(feeds))
            if worst != NO and self.within(whole):
                yield whole

    def added(
        self, everyone: list[Alone], aid: Alone | None, links: dict[str, Any], start: int, worst: int, points: int
    ) -> Whole:
        points += sum(one.points for one in everyone) + sum(link[1] for link in links.values())
        points -= self.lost(start)
        last = () if len(everyone) == len(links) + 2 else ("", "")  # no amplifier, no name
        names = [list(one.name) for one in everyone]
        if aid is not None:
            names[0][1] += f"\x1f{aid.name[0]}"
            everyone, points = [*everyone, aid], points + aid.points
        return Whole(
            points=points,
            cents=sum(one.cents for one in everyone),
            names=tuple(word for name in names for word in name) + last,
            sure=worst == YES and all(one.sure for one in everyone),
            microamps=sum(int((fraction((one.row or {}).get("standby_ma")) or 0) * 1000) for one in everyone),
            links={place: (link[2], link[3]) for place, link in links.items()},
        )

    def within(self, whole: Whole) -> bool:
        limits = self.job.limits
        resting = limits.at_rest_ma.value if limits.at_rest_ma else self.town.settings["at_rest_ma"]
        money = limits.budget is None or whole.cents <= half_up(Fraction(str(limits.budget)) * 100)
        return money and whole.microamps <= Fraction(str(resting)) * 1000


def ranked(town: Town, job: Job) -> tuple[list[Whole], Whole | None, int]:
    """All packages of distinct parts in the total order, the best sure one, and how many were looked at."""
    counter = Counter(town, job)
    by_name: dict[tuple[str, ...], Whole] = {}
    sure: Whole | None = None
    for whole in counter.packages():
        if whole.names not in by_name or whole.points > by_name[whole.names].points:
            by_name[whole.names] = whole
        if whole.sure and (sure is None or whole.order < sure.order):
            sure = whole
    return sorted(by_name.values(), key=lambda whole: whole.order), sure, counter.considered
