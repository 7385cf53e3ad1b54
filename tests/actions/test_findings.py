"""Findings after the audit: which are open, in which order, and what holds of two words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.audited import LATER, Audited, audited
from tests.builders import make, record_id
from walkapp.actions.audits.book import CLOSED, CORRECTED, FINDING_OPEN, NO_REACTION
from walkapp.actions.audits.doing import answer_question, undo_newest
from walkapp.actions.audits.findings import (
    GONE_FINDING,
    Belongs,
    belongs_to,
    closed_findings,
    days_open,
    earlier_findings,
    find_finding,
    open_findings,
    repeat_days_of,
    said_before,
    status_text,
    strays,
)
from walkapp.actions.books import book_facts, books_of, stream_of_book
from walkapp.actions.undoing import take_back
from walkapp.errors import InputError
from walkapp.model.ids import book_id, is_book
from walkapp.model.records import AuditReaction, AuditStart, FindingClosed, Withdrawal

MARCH_9, MARCH_14 = date(2026, 3, 9), date(2026, 3, 14)
OTHER_TABLET = record_id(8_000_071)


@pytest.fixture
def bench(tmp_path):
    made = audited(tmp_path)
    with made.desk.store:
        yield made


def arrive(bench: Audited, *records):
    """Let records come from another tablet."""
    came = tuple(
        replace(r, device=OTHER_TABLET, number=n, by="SL-KB") for n, r in enumerate(records, start=1)
    )
    bench.desk.store.merge(came, name=f"other-{came[0].id}", photos={}, checklists={})
    return came


# Lists


def test_open_findings_are_those_overdue_then_those_without_a_word_then_by_due_day(bench):
    third = bench.finding(**{**LATER, "due_on": "2026-03-20"})
    first = bench.finding("supervisor", **LATER)
    bench.days_later(1)
    unsaid = bench.finding()
    bench.days_later(4)
    second = bench.finding(**{**LATER, "due_on": "2026-03-16"})
    bench.finding("supervisor", reaction="corrected", what="Locked again")

    found = open_findings(bench.place)

    assert [one.answer.id for one in found] == [one.answer.id for one in (first, unsaid, second, third)]
    assert [status_text(one, date(2026, 3, 13)) for one in found] == [
        "overdue by 1 day", "no reaction yet", "open, due in 3 days", "open, due in 7 days",
    ]  # fmt: skip
    assert [days_open(one, date(2026, 3, 13)) for one in found] == [4, 3, 0, 4]


def test_a_finding_corrected_on_the_spot_or_closed_is_no_longer_open(bench):
    spot = bench.finding(reaction="corrected", what="Locked again")
    later = bench.finding("supervisor", **LATER)
    bench.days_later(2)
    bench.close(later, "2026-03-11")

    assert open_findings(bench.place) == ()
    assert [one.answer.id for one in closed_findings(bench.place)] == [later.answer.id, spot.answer.id]
    assert [one.status(MARCH_14) for one in closed_findings(bench.place)] == [CLOSED, CORRECTED]
    assert status_text(bench.now(later), MARCH_14) == "closed on 2026-03-11"


def test_only_the_books_of_a_stream_are_read_for_it(bench):
    bench.finding(**LATER)
    other = book_id("pump-bracket", MARCH_9)
    arrive(
        bench,
        make(AuditStart, 500, walk="", concern=other, stream="pump-bracket", checklist="a" * 64,
             layer="shift-lead", day="2026-03-09"),
    )  # fmt: skip
    bench.desk.concern()

    mine = book_id("washer-reservoir", MARCH_9)
    assert books_of(bench.place, "washer-reservoir") == (mine,)
    assert set(books_of(bench.place)) == {mine, other}
    assert len(open_findings(bench.place, "washer-reservoir")) == 1
    assert open_findings(bench.place, "pump-bracket") == ()
    assert all(is_book(one) for one in books_of(bench.place))


def test_a_nok_whose_audit_is_not_here_is_counted_and_no_finding(bench):
    lost = replace(bench.finding(**LATER).answer, id=record_id(700), audit=record_id(699))
    arrive(bench, lost)

    assert strays(bench.place) == 1
    assert len(open_findings(bench.place)) == 1
    with pytest.raises(InputError) as refused:
        find_finding(bench.place, lost.concern, lost.id)
    assert str(refused.value) == GONE_FINDING


# Repeats


def test_a_nok_to_the_same_question_within_the_days_of_the_checklist_repeats(bench):
    first = bench.finding(**LATER)
    bench.days_later(1)
    audit = bench.begin("supervisor")
    asked_again = [asked.ref for asked in audit.asked].index(first.answer.ref)
    (second,) = bench.answer(audit, "O" * asked_again + "N").findings

    assert repeat_days_of(bench.place, second) == 30
    assert [one.answer.id for one in earlier_findings(bench.place, second, 30)] == [first.answer.id]
    assert earlier_findings(bench.place, first, 30) == ()
    assert [one.answer.id for one in earlier_findings(bench.place, second, 1)] == [first.answer.id]
    assert len(earlier_findings(bench.place, second, 400_000_000)) == 1


def test_a_repeat_is_found_in_the_book_of_the_month_before_and_not_beyond_its_days(bench):
    bench.days_later(-10)
    first = bench.finding(**LATER | {"due_on": "2026-03-30"})
    assert first.start.concern == book_id("washer-reservoir", date(2026, 2, 1))
    march = book_id("washer-reservoir", MARCH_9)
    late = replace(first.answer, id=record_id(901), audit=record_id(902), concern=march,
                   at="2026-03-20T07:00:00.000+01:00")  # fmt: skip
    start = replace(first.start, id=record_id(902), concern=late.concern, day="2026-03-20")
    arrive(bench, start, late)
    second = find_finding(bench.place, late.concern, late.id)

    assert [one.answer.id for one in earlier_findings(bench.place, second, 21)] == [first.answer.id]
    assert earlier_findings(bench.place, second, 20) == ()


# Two words


def test_what_was_said_before_is_kept_and_told_newest_first(bench):
    found = bench.finding(**LATER)
    bench.react(found, **LATER | {"what": "Sorted", "due_on": "2026-03-13"})
    now = bench.react(found, reaction="corrected", what="Locked")
    assert [r.what for r in said_before(bench.place, now)] == ["Sorted", "Parts held and marked"]

    take_back(bench.place, found.start.concern, (AuditReaction,))

    now = bench.now(found)
    assert now.reaction.what == "Sorted"
    assert [r.what for r in said_before(bench.place, now)] == ["Locked", "Parts held and marked"]


@pytest.mark.parametrize("is_correction", [False, True])
@pytest.mark.parametrize("number", [1, 9_000_000])
def test_corrected_on_one_tablet_does_not_hide_that_another_says_it_is_still_to_be_done(
    bench, is_correction, number
):
    found = bench.finding(**LATER)
    before = found.reaction if is_correction else None
    if is_correction:
        bench.react(found, reaction="corrected", what="Locked")
    else:
        take_back(bench.place, found.start.concern, (AuditReaction,))
        bench.react(found, reaction="corrected", what="Locked")
    theirs = make(AuditReaction, number, walk="", concern=found.start.concern, audit=found.start.id,
                  finding=found.answer.id, reaction="escalated", what="Told maintenance", owner="ME",
                  due_on="2026-03-20", replaces=(before.id,) if before else ())  # fmt: skip
    arrive(bench, theirs)

    now = bench.now(found)

    assert (now.reaction.what, [r.what for r in now.others]) == ("Told maintenance", ["Locked"])
    assert now.status(MARCH_14) == FINDING_OPEN
    settled = bench.react(found, reaction="corrected", what="Looked at by both: locked")
    assert (settled.status(MARCH_14), settled.others) == (CORRECTED, ())
    assert book_facts(bench.place, found.start.concern).conflicts == ()


def test_a_closing_that_another_tablet_takes_back_differently_does_not_close(bench):
    found = bench.finding(**LATER)
    bench.days_later(2)
    closed = bench.close(found, "2026-03-11")
    take_back(bench.place, found.start.concern, (FindingClosed,))
    again = replace(closed, id=record_id(950), replaces=(closed.id,), why="mended", evidence="Seen")
    arrive(bench, again)

    assert bench.now(found).closed is None
    assert bench.now(found).status(date(2026, 3, 12)) == FINDING_OPEN


def test_a_nok_that_an_undo_says_again_keeps_what_was_done_about_it(bench):
    audit = bench.answer(bench.begin())
    (found,) = audit.findings
    bench.react(found, **LATER)
    answer_question(bench.place, bench.again(audit), found.answer.ref, "ok")
    assert bench.again(audit).findings == ()

    undo_newest(bench.place, bench.again(audit))

    (now,) = bench.again(audit).findings
    assert now.answer.id != found.answer.id
    assert now.ids == (now.answer.id, found.answer.id)
    assert now.reaction.what == LATER["what"]
    assert find_finding(bench.place, found.start.concern, found.answer.id) == now


def test_a_nok_that_a_person_says_anew_asks_for_a_new_word_on_what_was_done(bench):
    audit = bench.answer(bench.begin())
    (found,) = audit.findings
    bench.react(found, **LATER)
    answer_question(bench.place, bench.again(audit), found.answer.ref, "ok")
    answer_question(bench.place, bench.again(audit), found.answer.ref, "not_ok")

    (now,) = bench.again(audit).findings
    assert now.status(MARCH_9) == NO_REACTION


# Books


def test_an_audit_book_is_called_after_its_stream_and_month(bench):
    found = bench.finding(**LATER)

    facts = book_facts(bench.place, found.start.concern)

    assert facts.what == "Audits of Washer-fluid reservoir, March 2026"
    assert facts.stream is not None
    with pytest.raises(InputError, match="no such audits"):
        book_facts(bench.place, book_id("washer-reservoir", date(2027, 1, 1)))


def test_a_stream_that_a_record_only_claims_does_not_name_the_book(bench):
    found = bench.finding(**LATER)
    claims = replace(found.start, stream="pump-bracket")

    assert stream_of_book(found.start.concern, [claims]) == ""
    assert stream_of_book(found.start.concern, [claims, found.start]) == "washer-reservoir"


def test_a_record_of_an_audit_book_leads_to_its_finding_or_its_audit(bench):
    found = bench.finding(**LATER)
    book, audit = found.start.concern, found.start.id
    signed, ok = (
        bench.desk.records[-1],
        next(r for r in bench.desk.records if getattr(r, "answer", "") == "ok"),
    )

    finding = Belongs(audit=audit, finding=found.answer.id)
    assert belongs_to(bench.place, book, found.answer.id) == finding
    assert belongs_to(bench.place, book, found.reaction.id) == finding
    for record in (found.start, signed, ok):
        assert belongs_to(bench.place, book, record.id) == Belongs(audit=audit)
    assert belongs_to(bench.place, book, record_id(1)) == Belongs()


def test_a_walk_that_claims_the_id_of_a_book_brings_nothing_into_it(bench):
    found = bench.finding(**LATER)
    book = found.start.concern
    stranger = replace(found.answer, id=record_id(960), concern=record_id(2), walk=book)
    gone = make(Withdrawal, 961, concern=record_id(2), walk=book, replaces=(found.answer.id,))
    arrive(bench, stranger, gone)

    assert [one.answer.id for one in open_findings(bench.place)] == [found.answer.id]
