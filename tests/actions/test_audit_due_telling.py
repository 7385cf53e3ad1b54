"""What the plan promises, in words, and that the promise is the one that is kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from tests.plans import BEGINS, EARLY, LATE, layer, question, slots_of, stream_of
from walkapp.actions.audits.due_telling import promise_lines
from walkapp.analysis.audits.plan import AuditPlan


def lines(questions, layers, today=BEGINS, **more):
    return list(promise_lines(stream_of(questions, layers, **more), today))


def test_layers_questions_and_promises_are_told():
    questions = [question(f"s{n}", f"q{m}") for n in range(7) for m in range(6)]
    layers = [
        layer("shift", stations=2),
        layer("day", stations=7, questions=9),
        layer("week", stations=3, questions=2),
        layer("month", stations=1, questions=2),
    ]

    assert lines(questions, layers, shifts=(EARLY, LATE)) == [
        "line, audits: 4 layers, 42 questions, from 2026-01-05 on, in the time of Europe/Berlin",
        (
            "    Shift, each shift: every station at least once in any 4 audits of that shift, "
            "every question at least once in any 8 audits"
        ),
        "    Day, each working day: every station at every audit, every question at every audit",
        (
            "    Week, each week: every station at least once in any 3 audits, "
            "every question at least once in any 9 audits"
        ),
        (
            "    Month, each month: every station at least once in any 7 audits, "
            "every question at least once in any 21 audits"
        ),
    ]


def test_what_is_told_is_kept():
    questions = [question(f"s{n}", f"q{m}", often=1 + m % 2) for n in range(5) for m in range(5)]
    one = layer("day", stations=2, questions=2)
    plan = AuditPlan(stream_of(questions, [one]))

    (said,) = lines(questions, [one])[1:]

    slots = slots_of(plan, one, 400)
    waits = dict.fromkeys(((q.station, q.id) for q in questions), 0)
    longest = 0
    for slot in slots:
        came = {(v.station.id, q.id) for v in plan.visits(slot) for q in v.questions}
        waits = {what: 0 if what in came else wait + 1 for what, wait in waits.items()}
        longest = max(longest, *waits.values())
    promised = int(said.rpartition("at least once in any ")[2].partition(" ")[0])
    # It is a bound: the longest wait of the station times that of its question.
    assert longest < promised <= 2 * (longest + 1)


def test_a_layer_that_is_over_or_has_no_question_yet_says_so():
    over = layer("day", until=BEGINS + timedelta(days=3))
    early = layer("week")
    later = [question("a", "q", since=BEGINS + timedelta(days=30))]

    assert lines(later, [over, early], today=date(2026, 1, 12))[1:] == [
        "    Day, each working day: no audit from 2026-01-12 on",
        "    Week, each week: no question on 2026-01-12",
    ]


def test_a_stream_without_audits_says_nothing():
    stream = replace(stream_of([question("a", "q")]), audits=None)

    assert list(promise_lines(stream, BEGINS)) == []
