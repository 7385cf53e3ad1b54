"""What is asked beyond the plan only adds, stays within its bound, and leaves nothing waiting for ever."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import make, record_id
from tests.plans import BEGINS, layer, question, slots_of, stream_of
from walkapp.analysis.audits.extra import extras_of
from walkapp.analysis.audits.plan import AuditPlan, Visit
from walkapp.model.records import AuditAnswer, WatchQuestion

NAMES = tuple(f"q{number}" for number in range(8))
QUESTIONS = [question(f"s{n % 3}", name) for n, name in enumerate(NAMES)]
DAY = BEGINS + timedelta(days=40)


def stream_with(**more):
    return stream_of(QUESTIONS, [layer("day", **more)])


def answer(number, name, word, day=DAY, hour=10):
    station = next((q.station for q in QUESTIONS if q.id == name), "s0")
    watch = "" if name in NAMES else name
    return make(
        AuditAnswer,
        number,
        walk="",
        audit=record_id(5),
        station=station,
        question="" if watch else name,
        watch=watch,
        asked=f"{name}?",
        answer=word,
        reason="none here" if word == "not_applicable" else "",
        at=datetime.combine(day, time(hour, number % 60), UTC).isoformat(),
    )


def watched(number, station="s0", begins=0, ends=20):
    return make(
        WatchQuestion,
        number,
        walk="",
        action=record_id(6),
        station=station,
        question="Fix in place?",
        from_on=(DAY + timedelta(days=begins)).isoformat(),
        until_on=(DAY + timedelta(days=ends)).isoformat(),
    )


def extras(stream, visits=(), answers=(), questions=(), day=DAY):
    return extras_of(stream, stream.audits.layers[0], visits, day, answers, questions)


def refs(found):
    return [extra.ref for extra in found]


some_answers = st.lists(
    st.tuples(
        st.sampled_from(NAMES),
        st.sampled_from(("ok", "not_ok", "not_ok", "not_applicable")),
        st.integers(0, 45),
        st.integers(0, 23),
    ),
    max_size=25,
)


def answers_of(said):
    return [
        answer(100 + n, name, word, DAY - timedelta(days=ago), hour)
        for n, (name, word, ago, hour) in enumerate(said)
    ]


@given(some_answers, st.integers(0, 5), st.integers(0, 4), st.integers(0, 40))
def test_extras_only_add_and_never_more_than_the_layer_says(said, added, many_watched, number):
    stream = stream_with(added=added, stations=2)
    plan = AuditPlan(stream)
    visits = plan.visits(slots_of(plan, stream.audits.layers[0])[number])
    planned = {f"{v.station.id}/{q.id}" for v in visits for q in v.questions}

    found = extras(stream, visits, answers_of(said), [watched(200 + n) for n in range(many_watched)])

    assert len(found) <= added
    assert len(set(refs(found))) == len(found)
    assert not planned & set(refs(found))


@given(some_answers, st.randoms(use_true_random=False))
def test_the_same_records_in_any_order_give_the_same(said, chance):
    answers, questions = answers_of(said), [watched(200 + n, f"s{n % 3}") for n in range(4)]
    expected = extras(stream_with(), (), answers, questions)

    chance.shuffle(answers)
    chance.shuffle(questions)

    assert extras(stream_with(), (), answers, questions) == expected


@settings(max_examples=60)
@given(st.integers(1, 8), st.integers(1, 4), st.integers(0, 3))
def test_each_of_many_is_asked_within_the_bound_when_answers_are_recorded(candidates, added, plan_asks):
    # Nothing is put right: every answer is NOK again, so that all stay candidates.
    stream = stream_with(added=added)
    names = NAMES[:candidates]
    answers = [answer(100 + n, name, "not_ok") for n, name in enumerate(names)]
    # An audit of the plan asks some of them anyway, always the same ones.
    asked_by_plan = tuple(q for q in QUESTIONS if q.id in names[:plan_asks])
    visits = [Visit(station=stream.stations[0], questions=())]
    visits += [Visit(station=stream.station(q.station), questions=(q,)) for q in asked_by_plan]
    waited = dict.fromkeys(names, 0)

    for number in range(20):
        day = DAY + timedelta(days=1 + number)
        found = refs(extras(stream, visits, answers, day=day))
        came = [ref.partition("/")[2] for ref in found] + [q.id for q in asked_by_plan]
        answers += [answer(1000 + 20 * number + n, name, "not_ok", day) for n, name in enumerate(came)]
        for name in names:
            waited[name] = 0 if name in came else waited[name] + 1
            assert waited[name] < -(-candidates // added)


@pytest.mark.parametrize(("begins", "ends", "is_asked"), [
    (0, 20, True), (-20, 0, True), (1, 20, False), (-20, -1, False),
])  # fmt: skip
def test_a_watched_question_is_asked_in_its_period_alone(begins, ends, is_asked):
    found = extras(stream_with(), questions=[watched(7, begins=begins, ends=ends)])

    assert refs(found) == ([f"s0/{record_id(7)}"] if is_asked else [])


def test_a_watched_question_says_why_and_one_at_a_station_that_is_not_here_is_left_out():
    (found,) = extras(stream_with(), questions=[watched(7), watched(8, station="elsewhere")])

    assert found.why == "fix under watch until 2026-03-06"


def test_a_question_that_was_nok_is_asked_until_it_was_ok_twice_since():
    said = [
        answer(1, "q0", "not_ok", DAY - timedelta(days=9)),
        answer(2, "q0", "ok", DAY - timedelta(days=8)),
    ]

    assert refs(extras(stream_with(), answers=said)) == ["s0/q0"]
    assert extras(stream_with(), answers=[*said, answer(3, "q0", "ok", DAY - timedelta(days=7))]) == ()
    again = [*said, answer(3, "q0", "ok", DAY - timedelta(days=7)), answer(4, "q0", "not_ok")]
    assert [(extra.ref, extra.why) for extra in extras(stream_with(), answers=again)] == [
        ("s0/q0", "NOK on 2026-02-14")
    ]


def test_an_answer_that_it_does_not_apply_is_no_ok():
    said = [answer(1, "q0", "not_ok", hour=1)] + [answer(n, "q0", "not_applicable") for n in (2, 3, 4)]

    assert refs(extras(stream_with(), answers=said)) == ["s0/q0"]


def test_a_nok_is_forgotten_after_the_days_of_a_repeat_finding():
    at_edge = [answer(1, "q0", "not_ok", DAY - timedelta(days=30))]

    assert refs(extras(stream_with(), answers=at_edge)) == ["s0/q0"]
    assert extras(stream_with(), answers=at_edge, day=DAY + timedelta(days=1)) == ()


def test_a_question_of_another_layer_or_that_is_ended_or_gone_is_not_asked():
    others = [
        question("s0", "q0", layers=("week",)),
        question("s0", "q3", until=DAY - timedelta(days=1)),
        question("s0", "q9"),
    ]
    stream = stream_of(others, [layer("day"), layer("week")])
    said = [answer(1, "q0", "not_ok"), answer(2, "q3", "not_ok"), answer(3, "q6", "not_ok")]

    assert extras(stream, answers=said) == ()
    assert refs(extras_of(stream, stream.audits.layers[1], (), DAY, said, ())) == ["s0/q0"]


def test_what_was_never_asked_comes_before_what_was_and_of_equals_the_first_by_name():
    said = [answer(1, "q0", "not_ok", hour=8), answer(2, "q3", "not_ok", hour=7)]
    fresh = [watched(8), watched(7)]

    found = refs(extras(stream_with(added=4), answers=said, questions=fresh))

    assert found == [f"s0/{record_id(7)}", f"s0/{record_id(8)}", "s0/q3", "s0/q0"]


def test_answers_at_the_ends_of_time_do_no_harm():
    said = [
        make(
            AuditAnswer, n, walk="", audit=record_id(5), station="s0", question="q0", asked="?",
            answer="not_ok", at=at,
        )
        for n, at in enumerate(("0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59"), start=1)
    ]  # fmt: skip

    assert refs(extras(stream_with(), answers=said)) == ["s0/q0"]


def test_a_stream_without_audits_asks_nothing():
    stream = stream_with()

    assert extras_of(replace(stream, audits=None), stream.audits.layers[0], (), DAY, (), [watched(7)]) == ()
