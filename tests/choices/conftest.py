"""A small shop with a car, its parts and a job, in which one package is best."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest

from matcher.store.database.indexing import write_index
from matcher.store.documents.saving import save_job
from tests.factories import Bench, Row, amp_spot, amplifier, dash_opening, electrical, head_unit, job, plain, vehicle
from tests.factories import speaker as a_speaker
from tests.factories import speaker_opening as a_door

HEAD = head_unit(amp_channels=0, preouts=4, preout_v=2, standby_ma=1, features=["radio"])
AMP = amplifier(
    input_min_v=1, input_max_v=4, high_level_in=False, bass_channels=0, standby_ma=2, current_a=20, fuse_a=20
)
"""50 W on each of four channels into 4 ohm."""
SPEAKER = a_speaker(sens_db=90, sens_basis="1w", low_hz=60, rms_w=50)
DEARER = SPEAKER | {"part_id": "dearer", "price": 105}
CAR = vehicle(
    dash_opening(),
    a_door(),
    amp_spot(),
    electrical=electrical(charge_a=90, charge_idle_a=60, base_load_a=30, battery_ah=70),
)
JOB = job(limits={"alteration": "bolt_on", "budget": 410, "at_rest_ma": 20})


THINGS = (HEAD, AMP, SPEAKER, DEARER, CAR)


def make_shop() -> Bench:
    """The shop; the best package is head_unit-1 and amplifier-1 with speaker-1, the next one with the dearer."""
    made = Bench()
    made.con.execute("set threads = 1")  # a handful of rows is done before a second thread has started
    made.lay(*THINGS)
    write_index(made.con)
    take_job(made, JOB)
    return made


@pytest.fixture
def shop() -> Iterator[Bench]:
    """A shop of one's own."""
    made = make_shop()
    yield made
    made.con.close()


def take_job(shop: Bench, document: Row) -> None:
    """Take in a job as its file would be."""
    save_job(shop.con, json.dumps(document, default=plain), "test.json")
