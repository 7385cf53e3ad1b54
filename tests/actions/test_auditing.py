"""How audits stand: at the exact edges of time, on nights of clock changes, with records from anywhere."""

from __future__ import annotations

import shutil
from datetime import date, datetime, timedelta

import pytest

from tests.builders import record_id
from tests.fakes import CHECKLISTS, Desk
from walkapp.actions.acting import action_facts
from walkapp.actions.action_records import ask_for_a_while, open_action, say_done
from walkapp.actions.audits.doing import (
    OnPaper,
    answer_question,
    begin_audit,
    begin_on_paper,
    react,
    say_missed,
    sign_audit,
)
from walkapp.actions.audits.reading import GONE, audit_facts, audits_between
from walkapp.actions.audits.states import (
    BEGUN,
    IN_TIME,
    LATE,
    MADE_UP,
    MISSED,
    OPEN,
    TO_COME,
    UNFINISHED,
    added_to,
    planned_audit,
    planned_between,
    todays_audits,
)
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.reading import concern_facts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.model.ids import book_id
from walkapp.model.records import AuditAnswer, AuditMissed, AuditSigned, AuditStart

STREAM = "washer-reservoir"
# Every day of the year, so that the nights of the clock changes are worked. Invented.
AUDITS = """\
[calendar]
begins = 2026-01-01
time_zone = "Europe/Berlin"
working_days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
[[layer]]
id = "lead"
name = "Shift lead"
every = "shift"
make_up_days = 3
[[layer]]
id = "manager"
name = "Manager"
every = "month"
make_up_days = 7
[[question]]
station = "welding"
id = "plate"
ask = "Plate in range?"
[[question]]
station = "leak-test"
id = "pads"
ask = "Pads undamaged?"
"""


class Floor:
    """A tablet with a small plan, and a clock that stands where it is put."""

    def __init__(self, folder, audits=AUDITS, *, seed=0, by="SL-AB"):
        self.lists = folder / "lists"
        if not self.lists.exists():
            shutil.copytree(CHECKLISTS / STREAM, self.lists / STREAM)
        self.desk = Desk(folder, seed=seed, by=by)
        self.clock = self.desk.place.now
        self.clock.step = timedelta(0)
        self.write(audits)

    def write(self, audits):
        """Change the checklist, as in a newer version of the folder."""
        (self.lists / STREAM / "audits.toml").write_text(audits, encoding="utf-8")
        place = self.desk.place
        self.place = Workplace(
            store=place.store, checklists=self.lists, now=self.clock, new_id=place.new_id, by=place.by
        )
        self.stream = self.place.stream(STREAM)

    def at(self, moment):
        self.clock.time = datetime.fromisoformat(moment)
        return self

    def planned(self, day="2026-03-09", shift="early", layer="lead"):
        return planned_audit(self.place, self.stream, layer, date.fromisoformat(day), shift)

    def state(self, *which, **more):
        return self.planned(*which, **more).state

    def begin(self, *which, **more):
        return begin_audit(self.place, self.stream, self.planned(*which, **more))

    def facts(self, start):
        return audit_facts(self.place, start.concern, start.id)

    def answer_all(self, start, word="ok"):
        for asked in self.facts(start).asked:
            answer_question(self.place, self.facts(start), asked.ref, word)

    def do(self, *which, **more):
        start = self.begin(*which, **more)
        self.answer_all(start)
        sign_audit(self.place, self.facts(start))
        return start

    def add(self, kind, book_of="2026-03-09", **fields):
        return self.place.add(kind, concern=book_id(STREAM, date.fromisoformat(book_of)), **fields)

    def start(self, day="2026-03-09", shift="early", layer="lead", book_of=None, **more):
        """Put a beginning on disk that the pages would not have made."""
        digest = self.place.keep_checklist(STREAM)
        said = {"stream": STREAM, "checklist": digest, "layer": layer, "day": day, "shift": shift}
        return self.add(AuditStart, book_of or day, **{**said, **more})


@pytest.fixture
def floor(tmp_path):
    made = Floor(tmp_path)
    with made.desk.store:
        yield made


# The edges of time: the early shift of 9 March, 06:00 to 14:00, made up until 12 March 14:00.


@pytest.mark.parametrize(
    ("moment", "state", "made_up"),
    [
        ("2026-03-09T05:59:59+01:00", TO_COME, False),
        ("2026-03-09T06:00:00+01:00", OPEN, False),
        ("2026-03-09T05:00:00+00:00", OPEN, False),  # the same moment on a tablet that shows UTC
        ("2026-03-09T13:59:59+01:00", OPEN, False),
        ("2026-03-09T14:00:00+01:00", MISSED, True),
        ("2026-03-12T13:59:59+01:00", MISSED, True),
        ("2026-03-12T14:00:00+01:00", MISSED, False),
    ],
)
def test_an_audit_that_nobody_began(floor, moment, state, made_up):
    found = floor.at(moment).planned()

    assert (found.state, found.can_be_made_up(floor.place.now())) == (state, made_up)
    assert found.can_be_done == (state == OPEN)


@pytest.mark.parametrize(
    ("begun", "signed", "state"),
    [
        ("2026-03-09T06:00:00+01:00", "2026-03-09T13:59:59+01:00", IN_TIME),
        ("2026-03-09T13:59:59+01:00", "2026-03-09T14:00:00+01:00", LATE),
        ("2026-03-09T06:00:00+01:00", "2026-03-20T08:00:00+01:00", LATE),
        ("2026-03-09T14:00:00+01:00", "2026-03-09T14:10:00+01:00", MADE_UP),
        ("2026-03-12T13:59:59+01:00", "2026-03-12T14:05:00+01:00", MADE_UP),
    ],
)
def test_an_audit_that_was_signed(floor, begun, signed, state):
    start = floor.at(begun).begin()
    floor.answer_all(start)
    floor.at(signed)
    sign_audit(floor.place, floor.facts(start))

    assert floor.state() == state


@pytest.mark.parametrize("begun", ["2026-03-09T06:00:00+01:00", "2026-03-09T15:00:00+01:00"])
def test_an_audit_that_was_begun_and_not_signed(floor, begun):
    floor.at(begun).begin()

    assert floor.state() == BEGUN
    assert floor.at("2026-03-12T13:59:59+01:00").state() == BEGUN
    assert floor.at("2026-03-12T14:00:00+01:00").state() == UNFINISHED


def test_what_was_begun_after_it_could_be_made_up_stays_missed(floor):
    # The pages refuse it; a record of another tablet, or one from paper, may say so all the same.
    floor.at("2026-03-12T14:00:00+01:00")
    with pytest.raises(InputError, match="it stays missed"):
        floor.begin()
    start = floor.start()
    floor.answer_all(start)
    sign_audit(floor.place, floor.facts(start))

    found = floor.planned()
    assert (found.state, len(found.audits)) == (MISSED, 1)


@pytest.mark.parametrize(
    ("begun", "signed", "state"),
    [
        ("2026-03-09T13:30:00+01:00", "2026-03-09T13:59:00+01:00", IN_TIME),
        ("2026-03-09T13:30:00+01:00", "2026-03-09T14:00:00+01:00", LATE),
        ("2026-03-10T13:30:00+01:00", "2026-03-10T14:00:00+01:00", MADE_UP),
    ],
)
def test_an_audit_on_paper_stands_as_the_paper_says(floor, begun, signed, state):
    floor.at("2026-03-11T08:00:00+01:00")
    paper = OnPaper(by="SL-CD", begun=datetime.fromisoformat(begun), signed=datetime.fromisoformat(signed))
    start = begin_on_paper(floor.place, floor.stream, floor.planned(), paper)
    floor.answer_all(start)
    sign_audit(floor.place, floor.facts(start))

    assert floor.state() == state


def test_why_an_audit_was_missed_is_told_with_it_and_the_newest_word_holds(floor):
    floor.at("2026-03-09T15:00:00+01:00")
    say_missed(floor.place, floor.stream, floor.planned(), "Line stood still.")
    say_missed(floor.place, floor.stream, floor.planned(), "Fire drill.")

    assert floor.planned().missed.reason == "Fire drill."
    assert floor.state() == MISSED


# Nights of clock changes


@pytest.mark.parametrize(
    ("evening", "opens", "last", "due", "hours"),
    [
        (
            "2026-03-28",
            "2026-03-28T22:00:00+01:00",
            "2026-03-29T05:59:59+02:00",
            "2026-03-29T06:00:00+02:00",
            7,
        ),
        (
            "2026-10-24",
            "2026-10-24T22:00:00+02:00",
            "2026-10-25T05:59:59+01:00",
            "2026-10-25T06:00:00+01:00",
            9,
        ),
    ],
)
def test_a_night_audit_is_open_for_seven_or_nine_hours(floor, evening, opens, last, due, hours):
    which = {"day": evening, "shift": "night"}

    found = floor.at(opens).planned(**which)
    assert found.state == OPEN
    assert found.due - found.opens == timedelta(hours=hours)
    assert found.due - floor.place.now() == timedelta(hours=hours)
    assert floor.at(last).state(**which) == OPEN
    assert floor.at(due).state(**which) == MISSED


def test_both_times_of_the_hour_that_comes_twice_are_told_apart(floor):
    # 02:30 comes at +02:00 and, an hour later, at +01:00; the night audit is open at both.
    which = {"day": "2026-10-24", "shift": "night"}
    start = floor.at("2026-10-25T02:30:00+02:00").begin(**which)
    floor.answer_all(start)
    floor.at("2026-10-25T02:10:00+01:00")
    sign_audit(floor.place, floor.facts(start))

    done = floor.planned(**which).audits[0]
    assert done.signed_at - done.begun_at == timedelta(minutes=40)
    assert floor.state(**which) == IN_TIME


def test_what_can_be_made_up_ends_at_the_same_time_of_day_after_a_clock_change(floor):
    found = floor.at("2026-03-27T10:00:00+01:00").planned("2026-03-27", "early")

    assert found.make_up_until.isoformat() == "2026-03-30T14:00:00+02:00"


# Today's list


def keys(found):
    return [(one.slot.day.isoformat(), one.slot.shift, one.state) for one in found]


def test_at_two_in_the_night_the_night_shift_of_the_day_before_is_due(floor):
    found = floor.at("2026-03-10T02:00:00+01:00").place

    listed = keys(todays_audits(found, floor.stream, layer="lead"))

    assert listed[-3:] == [
        ("2026-03-09", "early", MISSED), ("2026-03-09", "late", MISSED), ("2026-03-09", "night", OPEN),
    ]  # fmt: skip


def test_today_shows_what_can_still_be_made_up_and_not_what_is_over_or_was_done_before(floor):
    floor.at("2026-03-08T10:00:00+01:00").do("2026-03-08")
    floor.at("2026-03-09T10:00:00+01:00").do()

    listed = keys(todays_audits(floor.place, floor.stream, layer="lead"))

    assert listed == [
        ("2026-03-06", "early", MISSED), ("2026-03-06", "late", MISSED), ("2026-03-06", "night", MISSED),
        ("2026-03-07", "early", MISSED), ("2026-03-07", "late", MISSED), ("2026-03-07", "night", MISSED),
        ("2026-03-08", "late", MISSED), ("2026-03-08", "night", MISSED),
        ("2026-03-09", "early", IN_TIME), ("2026-03-09", "late", TO_COME), ("2026-03-09", "night", TO_COME),
    ]  # fmt: skip
    # As the early shift ends, that of the sixth can be made up no more.
    floor.at("2026-03-09T14:00:00+01:00")
    first, *_ = keys(todays_audits(floor.place, floor.stream, layer="lead"))
    assert first == ("2026-03-06", "late", MISSED)


def test_the_audit_of_a_month_can_be_made_up_in_the_next_and_lies_in_its_own_book(floor):
    floor.at("2026-04-05T10:00:00+02:00")
    assert ("2026-03-01", "", MISSED) in keys(todays_audits(floor.place, floor.stream, layer="manager"))

    start = floor.do("2026-03-01", "", "manager")

    assert start.concern == book_id(STREAM, date(2026, 3, 1))
    assert floor.state("2026-03-01", "", "manager") == MADE_UP
    assert floor.at("2026-04-08T06:00:00+02:00").state("2026-03-01", "", "manager") == MADE_UP


def test_a_range_over_months_gives_what_its_parts_give(floor):
    floor.at("2026-02-28T10:00:00+01:00").do("2026-02-28")
    floor.at("2026-03-01T10:00:00+01:00").do("2026-03-01")
    whole = planned_between(floor.place, floor.stream, date(2026, 2, 26), date(2026, 3, 3), layer="lead")

    days = [date(2026, 2, 26) + timedelta(days=n) for n in range(6)]
    parts = [planned_between(floor.place, floor.stream, day, day, layer="lead") for day in days]

    assert keys(whole) == [one for part in parts for one in keys(part)]
    assert [key for key in keys(whole) if key[2] == IN_TIME] == [
        ("2026-02-28", "early", IN_TIME), ("2026-03-01", "early", IN_TIME),
    ]  # fmt: skip


def test_an_audit_that_asks_nothing_yet_is_not_due(floor):
    later = AUDITS.replace('id = "plate"', 'id = "plate"\nsince = 2026-03-10').replace(
        'id = "pads"', 'id = "pads"\nsince = 2026-03-11'
    )
    floor.write(later)
    floor.at("2026-03-09T10:00:00+01:00")

    assert (
        planned_between(floor.place, floor.stream, date(2026, 3, 8), date(2026, 3, 9), layer="lead") == ()
    )
    assert (
        len(planned_between(floor.place, floor.stream, date(2026, 3, 10), date(2026, 3, 10), layer="lead"))
        == 3
    )
    with pytest.raises(InputError, match="has no such audit on 2026-03-09"):
        floor.planned()


# Several tablets


def merged(one, other, folder):
    """Bring what the other tablet has to the first."""
    out = folder / f"{id(other)}.zip"
    out.unlink(missing_ok=True)
    bundle_concerns(other.place, out)
    merge_bundles(one.place, [out])


def test_two_tablets_that_did_one_audit_agree_on_which_of_both_counts(tmp_path):
    first, second = Floor(tmp_path / "a"), Floor(tmp_path / "b", seed=3)
    with first.desk.store, second.desk.store:
        first.at("2026-03-09T15:00:00+01:00").do()
        in_time = second.at("2026-03-09T08:00:00+01:00").do()
        for floor in (first, second):
            floor.at("2026-03-09T18:00:00+01:00")
        assert (first.state(), second.state()) == (MADE_UP, IN_TIME)

        merged(first, second, tmp_path)
        merged(second, first, tmp_path)

        found = [floor.planned() for floor in (first, second)]
        assert [one.state for one in found] == [IN_TIME, IN_TIME]
        assert found[0].audits[0].start.id == in_time.id
        assert [done.start.id for done in found[0].audits] == [done.start.id for done in found[1].audits]


def test_an_audit_that_another_tablet_began_goes_on_there_and_may_be_begun_anew(tmp_path):
    first, second = Floor(tmp_path / "a"), Floor(tmp_path / "b", seed=3)
    with first.desk.store, second.desk.store:
        start = second.at("2026-03-09T08:00:00+01:00").begin()
        first.at("2026-03-09T08:10:00+01:00")
        merged(first, second, tmp_path)

        with pytest.raises(InputError, match="another tablet"):
            answer_question(first.place, first.facts(start), "welding/plate", "ok")
        own = first.begin()
        assert {facts.start.id for facts in first.planned().audits} == {start.id, own.id}


# Checklists that changed


def test_an_audit_asks_what_the_checklist_said_when_it_was_begun(floor):
    start = floor.at("2026-03-09T08:00:00+01:00").begin()
    before = [(asked.ref, asked.ask) for asked in floor.facts(start).asked]

    floor.write(AUDITS.replace('id = "plate"', 'id = "nests"').replace("Pads undamaged?", "Pads as drawn?"))

    assert [(asked.ref, asked.ask) for asked in floor.facts(start).asked] == before
    assert floor.state() == BEGUN


def test_an_audit_of_a_layer_that_is_gone_is_read_and_no_longer_planned(floor):
    start = floor.at("2026-04-03T08:00:00+02:00").do("2026-04-01", "", "manager")
    floor.write(AUDITS.replace('id = "manager"', 'id = "director"'))

    assert [
        facts.start.id for facts in audits_between(floor.place, STREAM, date(2026, 4, 1), date(2026, 4, 1))
    ] == [start.id]
    assert floor.state("2026-04-01", "", "director") == OPEN
    with pytest.raises(InputError, match="'walkapp due' lists those it has"):
        floor.planned("2026-04-01", "", "manager")


def test_an_audit_whose_layer_no_checklist_here_has_shows_what_was_answered(floor):
    start = floor.at("2026-03-09T08:00:00+01:00").start(layer="stranger", shift="")
    floor.add(AuditAnswer, audit=start.id, station="welding", question="odd", asked="Odd?", answer="ok")

    facts = floor.facts(start)

    assert [(asked.ref, asked.ask, asked.station_name) for asked in facts.asked] == [
        ("welding/odd", "Odd?", "Hot-plate welding")
    ]
    assert facts.unanswered == ()


def test_an_audit_with_a_checklist_that_is_not_here_shows_what_was_answered(floor):
    start = floor.at("2026-03-09T08:00:00+01:00").start(checklist="ab" * 32)
    floor.add(AuditAnswer, audit=start.id, station="welding", question="plate", asked="Plate?", answer="ok")

    facts = floor.facts(start)

    assert (facts.stream, [(asked.ref, asked.station_name) for asked in facts.asked]) == (
        None, [("welding/plate", "welding")],
    )  # fmt: skip
    assert floor.state() == BEGUN


def test_a_question_whose_id_is_as_long_as_that_of_a_record_can_be_answered(floor):
    long = "pads-" * 7 + "x"
    assert len(long) == len(record_id(1))
    floor.write(AUDITS.replace('id = "pads"', f'id = "{long}"'))

    start = floor.at("2026-03-09T08:00:00+01:00").do()

    assert floor.facts(start).answers[f"leak-test/{long}"].question == long


# Records that are not as they should be


def test_answers_and_signatures_of_an_audit_that_is_not_here_change_nothing(floor):
    lost = record_id(999)
    floor.at("2026-03-09T08:00:00+01:00")
    floor.add(AuditAnswer, audit=lost, station="welding", question="plate", asked="?", answer="not_ok")
    floor.add(AuditSigned, audit=lost, ok=0, nok=1, not_applicable=0)

    assert floor.state() == OPEN
    assert audits_between(floor.place, STREAM, date(2026, 3, 1), date(2026, 3, 31)) == ()
    assert added_to(floor.place, floor.stream, floor.planned()) == ()
    with pytest.raises(InputError) as caught:
        audit_facts(floor.place, book_id(STREAM, date(2026, 3, 9)), lost)
    assert str(caught.value) == GONE


def test_an_audit_in_the_wrong_book_does_not_count_whatever_range_is_looked_at(floor):
    floor.at("2026-03-09T08:00:00+01:00").start(book_of="2026-04-09")
    floor.add(
        AuditMissed, "2026-04-09", stream=STREAM, layer="lead", day="2026-03-08", shift="early", reason="x"
    )

    for last in (date(2026, 3, 9), date(2026, 4, 30)):
        found = planned_between(floor.place, floor.stream, date(2026, 3, 8), last, layer="lead")
        states = {(one.slot.day.day, one.slot.shift): one for one in found if one.slot.day.month == 3}
        assert states[9, "early"].state == OPEN
        assert states[8, "early"].missed is None
        assert audits_between(floor.place, STREAM, date(2026, 3, 8), last) == ()


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_an_audit_at_the_ends_of_time_is_read_and_changes_nothing(floor, day):
    start = floor.at("2026-03-09T08:00:00+01:00").start(day=day)
    at = date.fromisoformat(day)

    assert floor.facts(start).start == start
    assert [facts.start for facts in audits_between(floor.place, STREAM, at, at)] in ([start], [])
    assert planned_between(floor.place, floor.stream, at, at) == ()
    assert floor.state() == OPEN


def test_records_of_another_stream_in_the_book_change_nothing(floor):
    floor.at("2026-03-09T08:00:00+01:00").start(stream="pump-bracket")

    assert floor.state() == OPEN


# What is asked beyond the plan


def watch(floor, begins="2026-03-05", ends="2026-03-20"):
    """A fix of the demo's concern that is done, and its verification question."""
    place = floor.place
    concern = floor.desk.concern()
    facts = concern_facts(place, concern)
    action = open_action(
        place, facts, aim="corrective", what="Soft pads", owner="ME-KL", due_on="2026-03-06"
    )
    say_done(
        place, facts, action_facts(place, concern, action.action), done_on="2026-03-04", evidence="fitted"
    )
    now = action_facts(place, concern, action.action)
    return ask_for_a_while(
        place, concern_facts(place, concern), now,
        station="leak-test", question="Soft pads fitted?", from_on=begins, until_on=ends,
    )  # fmt: skip


def test_a_verification_question_enters_by_itself_for_its_period(floor):
    asked = watch(floor.at("2026-03-04T05:00:00+01:00"))

    found = {}
    for day in ("2026-03-04", "2026-03-05", "2026-03-20", "2026-03-21"):
        floor.at(f"{day}T08:00:00+01:00")
        start = floor.begin(day)
        found[day] = [one for one in floor.facts(start).asked if one.why]

    assert [(day, len(some)) for day, some in found.items()] == [
        ("2026-03-04", 0), ("2026-03-05", 1), ("2026-03-20", 1), ("2026-03-21", 0),
    ]  # fmt: skip
    (one,) = found["2026-03-05"]
    assert (one.station, one.ask, one.why, one.ref) == (
        "leak-test", "Soft pads fitted?", "fix under watch until 2026-03-20", f"leak-test/{asked.id}",
    )  # fmt: skip


def test_a_verification_question_enters_from_a_merged_bundle_and_its_answer_is_kept(tmp_path):
    first, second = Floor(tmp_path / "a"), Floor(tmp_path / "b", seed=3)
    with first.desk.store, second.desk.store:
        asked = watch(second.at("2026-03-04T05:00:00+01:00"))
        first.at("2026-03-09T08:00:00+01:00")
        assert added_to(first.place, first.stream, first.planned()) == ()

        merged(first, second, tmp_path)
        start = first.do()

        assert start.added == f"leak-test/{asked.id}"
        assert first.facts(start).answers[start.added].watch == asked.id


def test_a_nok_is_asked_again_by_the_next_audit_until_it_was_ok_twice(floor):
    start = floor.at("2026-03-09T08:00:00+01:00").begin()
    ref = floor.facts(start).asked[0].ref
    answer_question(floor.place, floor.facts(start), ref, "not_ok")
    for asked in floor.facts(start).unanswered:
        answer_question(floor.place, floor.facts(start), asked.ref, "ok")
    react(floor.place, floor.facts(start), floor.facts(start).findings[0], "corrected", "Put right.")
    sign_audit(floor.place, floor.facts(start))

    added = []
    for shift, moment in (("late", "15:00"), ("night", "23:00")):
        floor.at(f"2026-03-09T{moment}:00+01:00")
        added.append(ref in {one.ref for one in floor.facts(floor.do("2026-03-09", shift)).asked})
    floor.at("2026-03-10T08:00:00+01:00")

    assert added == [True, True]
    assert ref not in {
        extra.ref for extra in added_to(floor.place, floor.stream, floor.planned("2026-03-10"))
    }


def test_a_nok_in_a_monthly_audit_that_was_made_up_late_is_asked_again(floor):
    # Its book is that of March; it was answered on 7 April, 25 days before 2 May.
    floor.write(AUDITS.replace("[calendar]", "repeat_days = 26\n[calendar]").replace(
        'id = "pads"', 'id = "pads"\nlayers = ["manager"]'))  # fmt: skip
    start = floor.at("2026-04-07T10:00:00+02:00").begin("2026-03-01", "", "manager")
    for asked in floor.facts(start).asked:
        answer_question(floor.place, floor.facts(start), asked.ref, "not_ok")

    floor.at("2026-05-02T10:00:00+02:00")
    refs = [f"{a.station}/{a.question}" for a in floor.facts(start).answers.values()]
    added = {
        extra.ref
        for extra in added_to(floor.place, floor.stream, floor.planned("2026-05-01", "", "manager"))
    }
    planned = {asked.ref for asked in floor.facts(floor.begin("2026-05-01", "", "manager")).asked}

    assert added | planned >= set(refs)
    assert set(refs) - planned <= added
