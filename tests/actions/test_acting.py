"""How actions stand: exactly one status, worked out from records and the day, the same on every tablet."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make, record_id
from tests.strategies import records, twin_of
from walkapp.actions.acting import (
    CLOSED,
    DONE,
    EFFECT_DUE,
    EFFECT_OVERDUE,
    EFFECTIVE,
    LATE,
    NOT_EFFECTIVE,
    OPEN,
    OVERDUE,
    actions_of,
    overdue_among,
    strays,
    watch_questions,
)
from walkapp.actions.action_records import ask_for_a_while, correct_action, open_action, say_done
from walkapp.actions.action_words import action_lines, actions_to_json, cautions_of, moved_text, status_text
from walkapp.actions.days import today
from walkapp.actions.parts import part_lines, parts_to_json
from walkapp.actions.reading import ConcernFacts, all_concerns, concern_facts
from walkapp.actions.summaries import summarise
from walkapp.actions.undoing import take_back
from walkapp.model.records import (
    Action,
    ActionDone,
    Concern,
    EffectCheck,
    Photo,
    WatchQuestion,
    Withdrawal,
)
from walkapp.model.standing import standing_of

A, B = record_id(100), record_id(101)
TODAY = date(2026, 3, 10)
SAID = {"aim": "corrective", "what": "Soft pads", "owner": "ME-KL", "due_on": "2026-03-06", "walk": ""}
OPENED = make(Concern, 2, walk="", stream="s", defect="d", what="Cracks", severity="function")
STATUSES = (OPEN, OVERDUE, DONE, EFFECT_DUE, EFFECT_OVERDUE, EFFECTIVE, NOT_EFFECTIVE)


def action(number=100, **more):
    return make(Action, number, **{**SAID, "action": record_id(100), **more})


def done(number=200, day="2026-03-05", **more):
    said = {"action": A, "done_on": day, "evidence": "seen", "walk": ""}
    return make(ActionDone, number, **{**said, **more})


def check(number=300, day="2026-03-08", before=(12, 60), after=(0, 60), **more):
    said = {"action": A, "checked_on": day, "walk": ""}
    counts = {
        "before_nok": before[0],
        "before_checked": before[1],
        "after_nok": after[0],
        "after_checked": after[1],
    }
    return make(EffectCheck, number, **{**said, **counts, **more})


def facts_of(*said):
    everything = (OPENED, *said)
    return ConcernFacts(OPENED, None, (), standing_of(everything), everything)


def only(*said, today=TODAY):
    (found,) = actions_of(facts_of(*said), today)
    return found


@pytest.mark.parametrize(
    ("said", "status", "words"),
    [
        ([action(due_on="2026-03-10")], OPEN, "open, due today"),
        ([action(due_on="2026-03-11")], OPEN, "open, due tomorrow"),
        ([action(due_on="2026-03-12")], OPEN, "open, due in 2 days"),
        ([action(due_on="2026-03-09")], OVERDUE, "overdue by 1 day"),
        ([action()], OVERDUE, "overdue by 4 days"),
        ([action(), done()], DONE, "done on 2026-03-05, effect not checked"),
        ([action(aim="containment"), done()], DONE, "done on 2026-03-05"),
        ([action(check_on="2026-03-12"), done()], EFFECT_DUE, "done, effect check due in 2 days"),
        ([action(check_on="2026-03-10"), done()], EFFECT_DUE, "done, effect check due today"),
        ([action(check_on="2026-03-07"), done()], EFFECT_OVERDUE, "done, effect check overdue by 3 days"),
        ([action(check_on="2026-03-07"), done(), check()], EFFECTIVE, "effective"),
        ([action(), done(), check(after=(9, 60))], NOT_EFFECTIVE, "not shown to be effective"),
        ([action(), done(), check(before=(1, 60), after=(12, 60))], NOT_EFFECTIVE, "worse than before"),
        ([action(at_most="0.05"), done(), check(after=(0, 50))], NOT_EFFECTIVE,
         "better, criterion not shown yet"),
        ([action(at_most="0.01"), done(), check(before=(50, 60), after=(9, 60))], NOT_EFFECTIVE,
         "better, criterion not met"),
        # The newest check by its day counts, whatever the order in which they were recorded.
        ([action(), done(), check(300, "2026-03-09"), check(301, "2026-03-07", after=(12, 60))], EFFECTIVE,
         "effective"),
    ],
)  # fmt: skip
def test_the_status_follows_from_the_records_and_the_day(said, status, words):
    found = only(*said)

    assert (found.status, status_text(found)) == (status, words)
    assert found.is_late == (status in LATE)
    assert found.is_closed == (status in CLOSED)


def test_overdue_actions_stand_first_then_by_day_then_by_id():
    said = [
        action(110, action=record_id(110), due_on="2026-03-20"),
        action(111, action=record_id(111), due_on="2026-03-08"),
        action(112, action=record_id(112), due_on="2026-03-01"),
        done(210, action=record_id(112)),
        action(113, action=record_id(113), due_on="2026-03-20"),
        action(114, action=record_id(114), due_on="2026-02-28", check_on="2026-03-03"),
        done(211, action=record_id(114), day="2026-03-01"),
        action(115, action=record_id(115), due_on="2026-03-12"),
        action(116, action=record_id(116), due_on="2026-01-15"),
        done(212, action=record_id(116)),
        check(312, action=record_id(116), after=(12, 60)),
    ]
    expected = [record_id(number) for number in (114, 111, 116, 115, 110, 113, 112)]

    assert [one.id for one in actions_of(facts_of(*said), TODAY)] == expected
    random.Random(3).shuffle(said)
    assert [one.id for one in actions_of(facts_of(*said), TODAY)] == expected


def test_a_moved_due_date_stays_visible_and_an_undone_move_does_not():
    first = action(due_on="2026-03-06")
    second = action(102, due_on="2026-03-13", replaces=(first.id,))
    third = action(103, due_on="2026-03-20", what="Softer pads", replaces=(second.id,))
    renamed = action(104, due_on="2026-03-20", what="Softest pads", replaces=(third.id,))

    assert moved_text(only(first)) == ""
    assert moved_text(only(first, second)) == "due date moved once, first 2026-03-06"
    assert moved_text(only(first, second, third, renamed)) == "due date moved 2 times, first 2026-03-06"
    assert only(first, second, third, renamed).due_dates == ("2026-03-06", "2026-03-13", "2026-03-20")


def test_undo_of_moves_is_told_rightly_however_often(desk):
    concern = desk.concern()

    def now():
        return actions_of(concern_facts(desk.place, concern), TODAY)[0]

    def move(day):
        correct_action(desk.place, concern_facts(desk.place, concern), now(), why="late", due_on=day)

    said = {name: value for name, value in SAID.items() if name != "walk"}
    open_action(desk.place, concern_facts(desk.place, concern), **said)
    for day in ("2026-03-13", "2026-03-06", "2026-03-20"):
        move(day)
    told = [now().due_dates]
    for _ in range(2):
        take_back(desk.place, concern, (Action,))
        told.append(now().due_dates)
    move("2026-03-21")
    told.append(now().due_dates)
    for _ in range(2):
        take_back(desk.place, concern, (Action,))
        told.append(now().due_dates)

    first, second = "2026-03-06", "2026-03-13"
    assert told == [
        (first, second, first, "2026-03-20"),
        (first, second, first),
        (first, second),
        (first, second, "2026-03-21"),
        (first, second),
        (first,),
    ]


def test_somebody_who_gives_undo_as_the_reason_hides_no_move():
    first = action(due_on="2026-03-06")
    second = action(102, due_on="2026-03-13", replaces=(first.id,))
    forged = action(103, due_on="2026-03-27", replaces=(second.id,), why="undo")

    assert only(first, second, forged).due_dates[0] == "2026-03-06"
    assert len(only(first, second, forged).due_dates) == 3


def test_a_criterion_that_was_changed_is_said_once_the_effect_is_checked():
    first = action(at_most="0.01")
    wider = action(102, at_most="0.05", replaces=(first.id,))
    same = action(103, at_most="0.050", what="Softer pads", replaces=(wider.id,))

    assert only(first, wider, same).criteria == (0.01, 0.05)
    assert cautions_of(only(first, wider, same, done())) == ()
    assert cautions_of(only(first, wider, same, done(), check())) == (
        "The criterion was changed; the first one was: at most 1 %.",
    )


def test_several_checks_of_one_action_are_minded():
    (caution,) = cautions_of(only(action(), done(), check(300), check(301)))

    assert caution.startswith("2 effectiveness checks: the more are made, the likelier one of them calls")


def test_what_belongs_to_an_action_that_is_not_here_counts_nowhere_and_is_said():
    lone = [done(action=B), check(action=B), make(WatchQuestion, 400, **WATCH, action=B)]

    assert actions_of(facts_of(*lone), TODAY) == ()
    assert len(strays(facts_of(*lone))) == 3
    assert action_lines(facts_of(*lone), TODAY) == (
        "Actions (0):",
        "  Mind: 3 records belong to actions that are not here.",
    )
    assert only(action(), *lone).status == OVERDUE


WATCH = {
    "walk": "",
    "station": "leak-test",
    "question": "Soft pads?",
    "from_on": "2026-03-06",
    "until_on": "2026-05-01",
}


def test_an_effect_check_before_the_action_was_done_does_not_count():
    not_done = only(action(due_on="2026-03-20"), check())
    too_early = only(action(), done(day="2026-03-09"), check(day="2026-03-08"))

    assert (not_done.status, not_done.set_aside) == (OPEN, 1)
    assert (too_early.status, too_early.set_aside) == (DONE, 1)


def test_of_two_words_on_when_it_was_done_the_later_day_counts():
    found = only(action(), done(200, "2026-03-05"), done(201, "2026-03-09"), check(day="2026-03-08"))

    assert (found.done_on, found.set_aside, found.status) == ("2026-03-09", 1, DONE)


def test_an_action_opened_twice_is_one_action_and_the_same_on_every_tablet():
    twice = [action(100, due_on="2026-03-06"), action(105, due_on="2026-03-20")]

    assert only(*twice).action.due_on == only(*reversed(twice)).action.due_on == "2026-03-20"


def test_pictures_about_an_action_are_its_evidence():
    picture = {"sha256": "a" * 64, "media": "image/png", "size_bytes": 1, "width_px": 1, "height_px": 1}

    found = only(action(), make(Photo, 500, about=A, **picture), make(Photo, 501, about=B, **picture))

    assert [photo.number for photo in found.pictures] == [500]


days = st.dates(date(2026, 2, 20), date(2026, 4, 20)).map(date.isoformat)
pairs = st.integers(1, 80).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@st.composite
def histories(draw):
    """Draw the records of one action, as several tablets may have made them."""
    due = draw(days)
    later = draw(st.one_of(st.just(""), days.filter(lambda day: day >= due)))
    said = [
        action(
            due_on=due,
            check_on=later,
            aim=draw(st.sampled_from(["containment", "corrective", "preventive"])),
            at_most=draw(st.sampled_from(["", "0", "0.05"])),
        )
    ]
    said += [done(200 + n, draw(days)) for n in range(draw(st.integers(0, 2)))]
    said += [check(300 + n, draw(days), draw(pairs), draw(pairs)) for n in range(draw(st.integers(0, 2)))]
    return said


@settings(max_examples=80)
@given(said=histories(), start=st.dates(date(2026, 2, 1), date(2026, 5, 1)))
def test_as_days_pass_open_becomes_overdue_and_never_back_without_a_record(said, start):
    told = [only(*said, today=start + timedelta(days=n)).status for n in range(0, 90, 5)]
    changes = {(before, after) for before, after in pairwise(told) if before != after}

    assert set(told) <= set(STATUSES)
    assert changes <= {(OPEN, OVERDUE), (EFFECT_DUE, EFFECT_OVERDUE)}
    assert len(set(told)) <= 2


HOSTILE = ("action", "action_done", "effect_check", "watch_question", "photo", "withdrawal")


@settings(max_examples=40)
@given(said=st.lists(records(*HOSTILE), max_size=12), today=st.dates(), seed=st.integers(0, 9))
def test_whatever_a_bundle_brings_each_action_has_one_status_in_any_order(said, today, seed):
    said = [*said, *map(twin_of, said[:2])]
    shuffled = list(said)
    random.Random(seed).shuffle(shuffled)

    found = actions_of(facts_of(*said), today)
    words = action_lines(facts_of(*said), today)

    assert all(one.status in STATUSES for one in found)
    assert len({one.id for one in found}) == len(found)
    assert [(one.id, one.status) for one in found] == [
        (one.id, one.status) for one in actions_of(facts_of(*shuffled), today)
    ]
    late = [one.is_late for one in found]
    assert late == sorted(late, reverse=True)
    assert words == action_lines(facts_of(*shuffled), today)
    assert actions_to_json(facts_of(*said), today)["actions_overdue"] == sum(late)


def open_one(desk, concern, **more):
    said = {**SAID, **more}
    del said["walk"]
    return open_action(desk.place, concern_facts(desk.place, concern), **said)


def test_overdue_rises_over_all_concerns_the_longest_first(desk):
    calm, late, later = desk.concern(), desk.concern(), desk.concern()
    open_one(desk, calm, due_on="2026-03-03")  # today
    open_one(desk, late, due_on="2026-03-02")
    worst = open_one(desk, later, due_on="2026-02-01")
    open_one(desk, later, due_on="2026-03-01")

    found = overdue_among(all_concerns(desk.place), today(desk.place))

    assert [one.facts.concern.concern for one in found] == [later, late]
    assert [len(one.actions) for one in found] == [2, 1]
    assert found[0].worst.id == worst.action
    everything = [concern_facts(desk.place, one) for one in (calm, late, later)]
    assert overdue_among(everything, date(2026, 2, 1)) == ()


def test_the_questions_of_all_concerns_are_told_while_their_action_holds_and_is_done(desk):
    asked = []
    for from_on in ("2026-03-09", "2026-03-04"):
        concern = desk.concern()
        one = open_one(desk, concern)

        def now(concern=concern):
            facts = concern_facts(desk.place, concern)
            return facts, actions_of(facts, TODAY)[0]

        finished = say_done(desk.place, *now(), done_on="2026-03-03", evidence="fitted")
        said = {"station": "leak-test", "question": "Soft pads?", "until_on": "2026-05-01"}
        asked.append((ask_for_a_while(desk.place, *now(), from_on=from_on, **said), finished, one))

    assert [question.from_on for question in watch_questions(desk.place, "washer-reservoir")] == [
        "2026-03-04",
        "2026-03-09",
    ]

    _, finished, one = asked[0]
    desk.place.add(Withdrawal, concern=one.concern, replaces=(finished.id,), why="not done")
    _, _, other = asked[1]
    desk.place.add(Withdrawal, concern=other.concern, replaces=(other.id,), why="wrong concern")
    assert watch_questions(desk.place, "washer-reservoir") == ()


def test_the_summary_tells_overdue_actions_first_and_nothing_where_there_are_none():
    said = [
        action(110, action=record_id(110), due_on="2026-03-20", aim="preventive", what="Rule\nfor pads"),
        action(),
        action(102, due_on="2026-03-08", replaces=(A,)),
    ]

    assert action_lines(facts_of(), TODAY) == ()
    assert action_lines(facts_of(*said), TODAY) == (
        "Actions (1 of 2 overdue):",
        (
            "  Soft pads (corrective action, ME-KL, due 2026-03-08, due date moved once, "
            "first 2026-03-06): overdue by 2 days"
        ),
        "  Rule for pads (preventive action, ME-KL, due 2026-03-20): open, due in 10 days",
    )


def test_the_summary_of_a_store_tells_its_actions(desk):
    open_one(desk, desk.concern(), due_on="2026-03-01")
    (summary,) = summarise(desk.place)

    assert "  Soft pads (corrective action, ME-KL, due 2026-03-01): overdue by 2 days" in list(
        part_lines(desk.place, summary)
    )
    told = parts_to_json(desk.place, summary)
    assert (told["actions_overdue"], told["actions"][0]["status"]) == (1, OVERDUE)


def test_the_json_of_an_action_always_has_the_same_names():
    bare = actions_to_json(facts_of(action()), TODAY)
    full = actions_to_json(
        facts_of(action(at_most="0.05"), done(), check(), make(WatchQuestion, 400, action=A, **WATCH)),
        TODAY,
    )

    assert actions_to_json(facts_of(), TODAY) == {"actions": [], "actions_overdue": 0}
    assert bare["actions"][0].keys() == full["actions"][0].keys()
    assert (bare["actions"][0]["effect"], bare["actions"][0]["days_overdue"]) == (None, 4)
    effect = full["actions"][0]["effect"]
    assert (effect["verdict"], effect["criterion"], effect["more_ok_parts"]) == ("effective", "met", None)
    assert full["actions"][0]["verification_questions"][0]["question"] == "Soft pads?"
