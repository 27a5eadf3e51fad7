"""Jobs, vehicles, parts and openings put away, found again, deleted."""

from __future__ import annotations

import pytest

from matcher import Shop
from matcher.errors import InputError
from tests.factories import demo_shop

JOB = "tern-spare"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    shop = demo_shop(tmp_path_factory.mktemp("archive") / "shop.duckdb")
    shop.choices.choose(JOB, 1)
    return shop


def parts_of(shop: Shop) -> list[str]:
    return [line.part_id for line in shop.options(JOB, top=1).packages[0].lines if line.part_id]


@pytest.mark.parametrize(
    ("subject", "hangs"),
    [
        ("job:skua-work", []),
        (f"job:{JOB}", ["1 choice"]),
        ("vehicle:auk-e", ["the job auk-unmeasured"]),
        ("opening:tern-8/dash-top", ["the job tern-nocut, which names it", f"the job {JOB}, which names it"]),
    ],
)
def test_dependents_are_listed_before_archiving(demo: Shop, subject: str, hangs: list[str]) -> None:
    assert [one.says for one in demo.archive.dependents(subject)] == hangs
    if hangs:
        with pytest.raises(InputError) as refused:
            demo.archive.put_away(subject)
        assert [one.expected for one in refused.value.problems] == hangs
        assert subject not in demo.archive.all()
        with pytest.raises(InputError):
            demo.archive.delete(subject)
    demo.archive.put_away(subject, anyway=True, note="sold")
    assert subject in demo.archive.all()
    demo.archive.take_back(subject)
    assert subject not in demo.archive.all()
    told = [(one.what, one.detail) for one in demo.log().entries if one.subject == subject][-2:]
    assert told == [("archive", "sold"), ("unarchive", "")]


def test_an_archived_part_is_in_no_ranking_search_or_count_until_it_is_back(demo: Shop) -> None:
    before, (best, *_) = demo.catalog.holdings(), parts_of(demo)
    demo.archive.put_away(f"part:{best}", anyway=True)
    assert best not in parts_of(demo)
    assert demo.catalog.find(best) == []
    assert sum(one.parts for one in demo.catalog.holdings()) == sum(one.parts for one in before) - 1
    demo.readings.add(f"part:{best}", "price", "1")  # it may still lie on the bench
    demo.maintenance.write_index()
    assert best not in parts_of(demo)
    assert demo.maintenance.check().sound
    assert demo.choices.chosen(JOB).parts  # a choice made with it stays
    demo.archive.take_back(f"part:{best}")
    assert best in parts_of(demo)


def test_an_archived_opening_is_filled_only_where_a_job_names_it(demo: Shop) -> None:
    def filled(job: str) -> set[str | None]:
        return {line.opening_id for line in demo.options(job, top=1).packages[0].lines}

    demo.jobs.save({"job_id": "all", "vehicle_id": "tern-8"})
    assert "rear-shelf" in filled("all")
    demo.archive.put_away("opening:tern-8/rear-shelf", anyway=True)
    assert "rear-shelf" not in filled("all")
    assert "rear-shelf" not in [one["opening_id"] for one in demo.vehicles.get("tern-8").document["openings"]]
    demo.jobs.edit("all", {"choose": ["rear-shelf"]})
    assert "rear-shelf" in filled("all")
    demo.archive.take_back("opening:tern-8/rear-shelf")


def test_archived_jobs_and_vehicles_are_listed_apart(demo: Shop) -> None:
    demo.archive.put_away("job:skua-work")
    demo.archive.put_away("vehicle:skua-p", anyway=True)
    assert "skua-work" not in [one["job_id"] for one in demo.jobs.all().document["jobs"]]
    assert "skua-work" not in [one.job_id for one in demo.jobs.states()]
    assert [one["job_id"] for one in demo.jobs.all(archived=True).document["jobs"]] == ["skua-work"]
    assert [one["vehicle_id"] for one in demo.vehicles.all(archived=True).document["vehicles"]] == ["skua-p"]
    assert len(demo.vehicles.all(archived=None).document["vehicles"]) == 4
    assert demo.options("skua-work", top=1).packages  # it answers to its name


def test_a_deleted_subject_is_gone_and_stays_in_the_log(demo: Shop) -> None:
    demo.vehicles.save({"vehicle_id": "gull", "openings": [{"opening_id": "door", "kind": "speaker"}]})
    demo.readings.add("opening:gull/door", "depth_mm", "61")
    demo.archive.delete("vehicle:gull", note="typed by mistake")
    assert "gull" not in [one["vehicle_id"] for one in demo.vehicles.all(archived=None).document["vehicles"]]
    assert [one.voided is not None for one in demo.readings.all() if one.subject == "opening:gull/door"] == [True]
    demo.vehicles.save({"vehicle_id": "gull", "openings": [{"opening_id": "door", "kind": "speaker"}]})
    assert (
        demo.vehicles.get("gull").document["openings"][0]["depth_mm"] is None
    )  # the name is free, and nothing is measured
    demo.archive.delete("opening:gull/door")
    assert demo.vehicles.get("gull").document["openings"] == []
    part = demo.catalog.find("", "film", limit=1)[0].part_id
    demo.archive.delete(f"part:{part}")
    assert demo.catalog.find(part) == []
    assert demo.maintenance.check().sound
    told = [(one.subject, one.detail) for one in demo.log().entries if one.what == "delete"]
    assert told == [("vehicle:gull", "typed by mistake"), ("opening:gull/door", ""), (f"part:{part}", "")]


@pytest.mark.parametrize("subject", ["job:nowhere", "part:nowhere", "opening:tern-8/nowhere", "shelf"])
def test_nothing_unknown_is_put_away(demo: Shop, subject: str) -> None:
    for put_away in (demo.archive.put_away, demo.archive.delete, demo.archive.take_back, demo.archive.dependents):
        with pytest.raises(InputError):
            put_away(subject)


def test_deleting_a_job_named_like_a_car_leaves_the_readings_of_the_car(demo: Shop) -> None:
    """It once voided those of every opening of that car."""
    demo.readings.add("opening:auk-e/dash", "depth_mm", "180 mm")
    demo.jobs.new("auk-e", "auk-e", {"choose": ["head_unit"]})
    demo.archive.delete("job:auk-e")
    assert demo.readings.all("opening:auk-e/dash")[-1].counts
