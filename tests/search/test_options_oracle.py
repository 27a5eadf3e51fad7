"""Whole jobs against a second, plain implementation, on random small towns with values that sit on limits.

The towns hold, by how they are drawn: no package and one package, ties, two- and four-coil
loudspeakers, a place of one loudspeaker, shared and bridged channels, head units that feed,
originals that stay, steps of the ladder of an opening's own, budgets exactly met, peak powers,
packs of two, adapters with packs, labor at a rate, and unknown figures everywhere.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest

from catalog_schema.answers import Options, Package
from catalog_schema.jobs import LADDER, Job
from tests.search.oracle import Counter, Whole, ranked
from tests.search.shops import Settled, Store, drawn_job, every_package
from tests.soak import first

JOBS = 20


def drawn_jobs(settled: Settled, seed: int) -> list[tuple[Job, int]]:
    """Jobs of a town, each with how many packages are asked for; some budgets lie exactly on a package."""
    draw = Random(seed + 10**6)
    steps = [draw.choice([*LADDER, "bolt_on", "bolt_on", "metal_cut"])]
    jobs = []
    for number in range(JOBS):
        document = drawn_job(draw, steps, job_id=f"j{number}")
        if draw.random() < 0.4:
            everything, _, _ = ranked(settled.town, settled.job(document))
            if everything:
                cents = draw.choice(everything).cents - draw.choice([0, 0, 1])
                document["limits"]["budget"] = max(Decimal(cents) / 100, Decimal(0))
        jobs.append((settled.job(document), draw.choice([1, 2, 3, 5, 40])))
    return jobs


@pytest.mark.parametrize("seed", first(4, range(10)))
def test_the_best_packages_are_those_of_plain_enumeration(store: Store, seed: int) -> None:
    settled = store.settle(seed)
    for job, top in drawn_jobs(settled, seed):
        everything, sure, considered = ranked(settled.town, job)
        got = settled.rank(job, top)
        want = [(whole.points, whole.cents, whole.names) for whole in everything[:top]]
        assert [(found.points, found.cents, found.name) for found in every_package(got, top)] == want, (seed, job)
        assert (got.sure and (got.sure.points, got.sure.name)) == (sure and (sure.points, sure.names)), (seed, job)
        assert got.considered == considered


@pytest.mark.parametrize("seed", first(2, range(100, 104)))
def test_every_package_told_passes_a_second_look(store: Store, seed: int) -> None:
    settled = store.settle(seed)
    jobs = [job for job, _ in drawn_jobs(settled, seed)]
    job = next((job for job in jobs if settled.rank(job, 1).found), jobs[0])
    told = store.options(job.job_id, top=3)
    everything, sure, considered = ranked(settled.town, job)
    assert (told.considered, told.complete) == (considered, True)
    assert bool(told.packages) == bool(everything)
    assert bool(told.conflicts) == (not everything)
    assert any(package.verdict == "fits" for package in told.packages) == (sure is not None)
    assert [package.rank for package in told.packages] == list(range(1, len(told.packages) + 1))
    for package in told.packages:
        look_again(settled, job, package)
    check_order(told, everything)


def look_again(settled: Settled, job: Job, package: Package) -> None:
    """Its parts by themselves, its links and sums by the oracle's arithmetic."""
    same = [whole for whole in Counter(settled.town, job).packages() if is_told(whole, package)]
    assert same, "no such package by plain enumeration"
    assert any(whole.sure == (package.verdict == "fits") for whole in same)
    for line in package.lines:
        if line.part_id is None or line.opening_id is None:
            continue
        fit = settled.store.fit(
            line.part_id, f"tern/{line.opening_id}", adapter=line.adapter_id, alteration=line.alteration
        )
        assert (fit.verdict != "no", fit.alteration, fit.cut) == (True, line.alteration, line.cut)
    assert (
        package.price.total == package.price.parts + package.price.labour == sum(line.price for line in package.lines)
    )
    assert package.alteration == max((line.alteration for line in package.lines), key=LADDER.index)
    assert not [check for check in package.checks if check.verdict == "no"]
    assert (package.verdict == "measure") == any(check.verdict == "measure" for check in package.checks)
    open_checks = [check for check in package.checks if check.verdict == "measure"]
    assert set(package.measure) == {name for check in open_checks for name in (*check.missing, *check.loose)}
    assert package.price.parts == parts_again(settled, package)


def parts_again(settled: Settled, package: Package) -> Decimal:
    """The price of whole packs, added up from the catalog."""
    rows = {row["part_id"]: row for row in settled.parts}
    total = Decimal(0)
    for line in package.lines:
        for name, packs in ((line.part_id, line.qty), (line.adapter_id, line.adapter_qty)):
            if name is not None:
                assert (packs - 1) * rows[name]["pack_of"] < line.pieces <= packs * rows[name]["pack_of"]
                total += Decimal(str(rows[name]["price"])) * packs
    return total


def is_told(whole: Whole, package: Package) -> bool:
    """Whether it is the same parts, fed the same way, at the same score and price."""
    *lines, last = (line for line in package.lines if line.slot != "board")  # what the shop makes has no name
    lines += [] if last.slot == "accessory" else [last]
    words = tuple(word or "" for line in lines for word in (line.part_id, line.adapter_id))
    if last.slot == "amplifier" and last.part_id is None:
        words = (*words[:-1], str(last.opening_id))  # a factory amplifier is told by its spot
    if last.slot == "accessory":
        words = (words[0], f"{words[1]}\x1f{last.part_id}", *words[2:])
    if len(words) == len(whole.names) - 2:
        words += ("", "")  # no amplifier
    links = {link.to[0]: (link.load_ohm, link.power_w) for link in package.links}
    return (
        whole.names == words
        and round(whole.points / 100) == package.score
        and whole.cents == package.price.total * 100
        and all(near(links[place], figures) for place, figures in whole.links.items())
    )


def near(told: tuple[Decimal | None, Decimal | None], figures: tuple[object, object]) -> bool:
    """The same to a millionth, and unknown where the other is."""
    return all(
        (one is None) == (other is None) and (one is None or abs(float(one) - float(other)) <= 1e-6)  # type: ignore[arg-type]
        for one, other in zip(told, figures, strict=True)
    )


def check_order(told: Options, everything: list[Whole]) -> None:
    """Best first; the sure one, where its parts are not among the best, after them."""
    scores = [package.score for package in told.packages]
    assert scores == sorted(scores, reverse=True)
    best = [round(whole.points / 100) for whole in everything[:3]]
    assert all(score in scores for score in best)
    assert len(best) <= len(told.packages) <= len(best) + 1
