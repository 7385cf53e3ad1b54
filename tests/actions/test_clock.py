"""Clocks that jump: order, ids, what holds, answer and choice by date stay right, and people are told."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from tests.fakes import CHECKLISTS, SAID
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.onset import count_lot, date_onset
from walkapp.actions.reading import all_concerns, concern_facts, walk_facts
from walkapp.actions.walking import Walking, open_concern, start_walk
from walkapp.actions.workplace import Workplace
from walkapp.bundle import open_bundle
from walkapp.errors import InputError
from walkapp.model.ids import IdMaker
from walkapp.store import Store

CET, CEST = timezone(timedelta(hours=1)), timezone(timedelta(hours=2))
BEGIN = datetime(2026, 3, 29, 1, 40, tzinfo=CET)

JUMPS = {
    "none": BEGIN,
    "back 1 h": BEGIN - timedelta(hours=1),
    "forward 1 year": BEGIN + timedelta(days=365),
    "1970": datetime(1970, 1, 1, tzinfo=UTC),
    "another time zone": BEGIN.astimezone(timezone(timedelta(hours=-8))),
    "summer time begins": (BEGIN + timedelta(minutes=30)).astimezone(CEST),
    "summer time ends": datetime(2026, 10, 25, 2, 10, tzinfo=CET),
}
"""What the clock says after it had said BEGIN."""


class Tablet:
    """A tablet whose clock is set by hand; it is started anew at each jump."""

    def __init__(self, folder) -> None:
        self.folder = folder
        self.time = BEGIN

    def now(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time

    def open(self) -> Workplace:
        new_id = IdMaker(lambda: int(self.time.timestamp() * 1000), lambda bits: 2 ** (bits - 1))
        store = Store(self.folder / "store", now=self.now, new_id=new_id, app="walkapp test")
        return Workplace(store=store, checklists=CHECKLISTS, now=self.now, new_id=new_id, by="QE-RT")


@pytest.fixture
def tablet(tmp_path) -> Tablet:
    return Tablet(tmp_path)


@pytest.mark.parametrize("jump", JUMPS)
def test_a_jump_between_two_starts_changes_neither_order_nor_what_holds_nor_the_answer(tablet, jump):
    if jump == "summer time ends":
        tablet.time = datetime(2026, 10, 25, 2, 40, tzinfo=CEST)
    place = tablet.open()
    with place.store:
        concern = open_concern(place, **SAID).concern
        walk = start_walk(place, concern_facts(place, concern), "down").id
        walking = Walking(place, concern, walk)
        walking.say_sample(walk_facts(place, concern, walk), "welding", "before", "2026-03-02")
        for station in (*["welding"] * 8, "leak-test", "packing"):
            walking.judge_part(walk_facts(place, concern, walk), station, "ear-look", "ok")

    tablet.time = JUMPS[jump]
    place = tablet.open()
    with place.store as store:
        walking = Walking(place, concern, walk)
        walking.say_sample(walk_facts(place, concern, walk), "welding", "after", "2026-03-02")
        walking.undo(walk_facts(place, concern, walk))
        walking.say_sample(walk_facts(place, concern, walk), "welding", "after all", "2026-03-02")
        for _ in range(8):
            walking.judge_part(walk_facts(place, concern, walk), "leak-test", "ear-look", "not_ok")

        facts = walk_facts(place, concern, walk)
        records = [r for r in store.all_records() if r.walk == walk]
        assert [r.number for r in records] == sorted(r.number for r in records)
        assert [r.id for r in records] == sorted({r.id for r in records})
        assert facts.sample("welding").lot == "after all"
        assert facts.resume_station == "leak-test"
        assert facts.facts.locate().first_bad_station == "Leak test"
        assert [one.concern.concern for one in all_concerns(place)] == [concern]


@pytest.mark.parametrize("jump", JUMPS)
def test_a_newer_concern_is_listed_first_whatever_the_clock_says(tablet, jump):
    with (place := tablet.open()).store:
        older = open_concern(place, **SAID).concern
    tablet.time = JUMPS[jump]
    with (place := tablet.open()).store:
        newer = open_concern(place, **SAID).concern

        assert [facts.concern.concern for facts in all_concerns(place)] == [newer, older]


@pytest.mark.parametrize(
    ("jump", "told"),
    [
        ("back 1 h", "2026-03-29 00:40, 1 h before its newest entry (2026-03-29 01:40)"),
        ("1970", "1970-01-01 00:00, 20,541 days before its newest entry (2026-03-29 00:40)"),
    ],
)
def test_a_clock_that_went_back_is_told_once_at_opening(tablet, jump, told):
    with (place := tablet.open()).store:
        open_concern(place, **SAID)
    tablet.time = JUMPS[jump]

    with (place := tablet.open()).store as store:
        (notice,) = store.notices
        assert notice == (
            f"The clock of this tablet says {told}, so one of the two is wrong: set date and time of the "
            "tablet right; no entry is lost, and their order stays."
        )
        open_concern(place, **SAID)
    with tablet.open().store as store:
        assert store.notices == ()  # Who goes on has read it.


@pytest.mark.parametrize(
    "jump", [name for name in JUMPS if name not in ("back 1 h", "1970", "summer time ends")]
)
def test_summer_time_and_other_time_zones_are_no_jump(tablet, jump):
    with (place := tablet.open()).store:
        open_concern(place, **SAID)
    tablet.time = JUMPS[jump]

    with tablet.open().store as store:
        assert store.notices == ()


def test_the_hour_that_comes_twice_is_no_jump(tablet):
    tablet.time = datetime(2026, 10, 25, 2, 40, tzinfo=CEST)
    with (place := tablet.open()).store:
        open_concern(place, **SAID)
    tablet.time = JUMPS["summer time ends"]

    with tablet.open().store as store:
        assert store.notices == ()


def test_a_clock_that_stood_ahead_and_was_set_right_is_told(tablet):
    tablet.time = BEGIN + timedelta(days=365)
    with (place := tablet.open()).store:
        open_concern(place, **SAID)
    tablet.time = BEGIN

    with tablet.open().store as store:
        assert (
            ", 365 days before its newest entry (2027-03-29 01:40), so one of the two" in store.notices[0]
        )


def test_since_a_day_leaves_out_no_entry_made_after_it_on_a_wrong_clock(tablet, tmp_path):
    with (place := tablet.open()).store:
        old = open_concern(place, **SAID).concern
    tablet.time = BEGIN + timedelta(days=10)
    with (place := tablet.open()).store:
        recent = open_concern(place, **SAID).concern
    tablet.time = JUMPS["1970"]
    with (place := tablet.open()).store:
        wrong_clock = open_concern(place, **SAID).concern

        out = tmp_path / "since.zip"
        bundle_concerns(place, out, since=date(2026, 4, 1))
        with pytest.raises(InputError, match="nothing was recorded since"):
            bundle_concerns(place, tmp_path / "none.zip", since=date(2026, 6, 1))

    with open_bundle(out) as bundle:
        assert {record.concern for record in bundle.records} == {recent, wrong_clock}
        assert old not in {record.concern for record in bundle.records}


@pytest.mark.parametrize("jump", ["back 1 h", "forward 1 year"])
def test_the_onset_rests_on_the_days_that_were_said_and_not_on_the_clock(tablet, jump):
    with (place := tablet.open()).store:
        concern = open_concern(place, **SAID).concern
        for day, nok in (("2026-03-01", 0), ("2026-03-02", 0), ("2026-03-03", 12)):
            count_lot(
                place, concern_facts(place, concern), "leak-test", "ear-look",
                lot=day, made_on=day, checked=20, nok=nok,
            )  # fmt: skip
        before = date_onset(concern_facts(place, concern)).onset.sentence
    tablet.time = JUMPS[jump]
    with (place := tablet.open()).store:
        count_lot(
            place, concern_facts(place, concern), "leak-test", "ear-look",
            lot="later", made_on="2026-03-04", checked=20, nok=12,
        )  # fmt: skip
        after = date_onset(concern_facts(place, concern)).onset.sentence

    assert "2026-03-03" in before
    assert "2026-03-03" in after


def test_a_lot_of_a_day_that_the_wrong_clock_has_not_reached_is_refused_with_how_to_mend_it(tablet):
    with (place := tablet.open()).store:
        concern = open_concern(place, **SAID).concern
    tablet.time = JUMPS["1970"]
    with (place := tablet.open()).store:
        with pytest.raises(InputError) as refused:
            count_lot(
                place, concern_facts(place, concern), "leak-test", "ear-look",
                lot="a", made_on="2026-03-04", checked=20, nok=12,
            )  # fmt: skip

        assert str(refused.value) == (
            "Production day: 2026-03-04 is still to come; mend it, or the date of the tablet."
        )
