"""The facts of a concern: days that cannot be true, corrections, who was told when, and the summary."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fakes import Desk
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.concerns import (
    correct_concern,
    facts_in_words,
    facts_lines,
    facts_to_json,
    percent_of,
    refuse_odd_days,
)
from walkapp.actions.disputes import disputes_of, settle
from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.merging import merge_bundles
from walkapp.actions.parts import part_lines, parts_to_json
from walkapp.actions.reading import concern_facts
from walkapp.actions.summaries import summarise
from walkapp.actions.walking import record_escalation
from walkapp.demo.pictures import draw
from walkapp.errors import InputError, RecordError
from walkapp.model.records import Concern

TODAY = date(2026, 3, 3)


def facts_of(desk, concern):
    return concern_facts(desk.place, concern)


def day(text):
    """A day from today, such as -2; none for an empty text."""
    return (TODAY + timedelta(days=int(text))).isoformat() if text else ""


@pytest.mark.parametrize(
    ("days", "problem"),
    [
        ({"reported_on": "1"}, "Reported on: 2026-03-04 is still to come"),
        ({"made_from": "1"}, "First production day: 2026-03-04 is still to come"),
        ({"made_to": "1"}, "Last production day: 2026-03-04 is still to come"),
        (
            {"made_from": "-2", "made_to": "-3"},
            "Last production day: 2026-02-28 is before the first production",
        ),
        (
            {"made_from": "-2", "reported_on": "-3"},
            "Reported on: 2026-02-28 is before the first production day",
        ),
    ],
)
def test_days_that_cannot_be_true_are_refused_when_opening_and_when_correcting(desk, days, problem):
    said = {name: day(text) for name, text in days.items()}
    concern = desk.concern()
    before = desk.records

    with pytest.raises(InputError, match=problem):
        desk.concern(**said)
    with pytest.raises(InputError, match=problem):
        correct_concern(desk.place, facts_of(desk, concern), why="label read again", **said)

    assert desk.records == before


DAYS = st.one_of(st.just(""), st.integers(-400, 3).map(str))


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    made = Desk(tmp_path_factory.mktemp("days"))
    yield made.place
    made.store.close()


@given(made_from=DAYS, made_to=DAYS, reported_on=DAYS)
def test_days_are_taken_when_none_is_to_come_and_their_order_can_be_true(
    place, made_from, made_to, reported_on
):
    """Law: refused if and only if a day is after today, or the last day or the report before the first."""
    numbers = [int(text) for text in (made_from, made_to, reported_on) if text]
    first = int(made_from) if made_from else None
    is_true = all(number <= 0 for number in numbers) and not any(
        first is not None and text and int(text) < first for text in (made_to, reported_on)
    )
    said = {"made_from": day(made_from), "made_to": day(made_to), "reported_on": day(reported_on)}
    try:
        refuse_odd_days(place, said)
    except InputError:
        assert not is_true
    else:
        assert is_true


def test_a_correction_replaces_what_was_said_and_keeps_it_with_the_reason(desk):
    concern = desk.concern(quantity=35)
    first = facts_of(desk, concern).concern

    made = correct_concern(
        desk.place, facts_of(desk, concern), why="counted again", quantity=41, lots="0225-1"
    )

    now = facts_of(desk, concern)
    assert (now.concern, now.concern.quantity, now.concern.lots) == (made, 41, "0225-1")
    assert (made.replaces, made.why, made.concern) == ((first.id,), "counted again", concern)
    assert [r for r in desk.records if isinstance(r, Concern)] == [first, made]
    assert facts_in_words(now)[-1] == "Last corrected: 2026-03-03 06:20 by QE-RT: counted again"


def test_walks_and_pictures_stay_with_a_corrected_concern(desk):
    route = desk.walk(quantity=35)
    keep_photo(desk.place, Subject(concern=route.concern, limit="ok"), draw("ear-ok"), "x", invented=True)
    correct_concern(desk.place, facts_of(desk, route.concern), why="counted again", quantity=41)
    correct_concern(desk.place, facts_of(desk, route.concern), why="and again", quantity=42)

    facts = facts_of(desk, route.concern)

    assert [walk.id for walk in facts.walks] == [route.walk]
    assert (facts.concern.quantity, facts.conflicts) == (42, ())
    assert facts_to_json(facts)["limit_samples"] == {"ok": 1, "not_ok": 0}


def test_a_correction_that_changes_nothing_or_the_defect_is_refused(desk):
    concern = desk.concern(quantity=35)
    facts = facts_of(desk, concern)

    with pytest.raises(InputError, match="Nothing was changed"):
        correct_concern(desk.place, facts, why="x", quantity=35)
    with pytest.raises(InputError, match="Value stream and defect of a concern stay"):
        correct_concern(desk.place, facts, why="x", defect="leak")
    with pytest.raises(RecordError, match="why"):
        correct_concern(desk.place, facts, why="", quantity=36)

    assert facts_of(desk, concern).concern == facts.concern


def test_corrections_apart_on_two_tablets_are_entries_that_disagree_until_settled(desk, tmp_path):
    concern = desk.concern(quantity=35)
    two = Desk(tmp_path / "two", seed=1)
    merge_bundles(two.place, [bundle_concerns(desk.place, tmp_path / "first.zip").path])
    correct_concern(desk.place, facts_of(desk, concern), why="counted again", quantity=41)
    correct_concern(two.place, facts_of(two, concern), why="by the label", quantity=350)

    merge_bundles(desk.place, [bundle_concerns(two.place, tmp_path / "second.zip").path])

    (dispute,) = disputes_of(desk.place, facts_of(desk, concern))
    assert (dispute.kind, dispute.can_settle) == ("concern", True)
    assert sorted(side.value for side in dispute.sides) == [
        "Parts reported by the customer: 350",
        "Parts reported by the customer: 41",
    ]
    side = next(n for n, s in enumerate(dispute.sides) if s.record.quantity == 41)
    settle(desk.place, concern, dispute, side, "looked at the box")
    assert facts_of(desk, concern).concern.quantity == 41
    assert facts_of(desk, concern).conflicts == ()
    two.store.close()


def test_who_was_told_is_recorded_with_the_offset_of_the_tablet(desk):
    concern = desk.concern(severity="safety")

    now = record_escalation(desk.place, concern, "quality lead")
    before = record_escalation(desk.place, concern, "plant manager", day="2026-03-02", time="14:05")

    assert now.told_at.startswith("2026-03-03T06:20:") and now.told_at.endswith("+01:00")
    assert before.told_at == "2026-03-02T14:05:00+01:00"
    assert [r.told for r in facts_of(desk, concern).escalations] == ["plant manager", "quality lead"]
    assert not facts_of(desk, concern).needs_escalation


@pytest.mark.parametrize(
    ("day", "time", "problem"),
    [
        ("2026-03-03", "06:59", "Told at: 2026-03-03 06:59 is still to come"),
        ("2026-03-04", "01:00", "Told at: 2026-03-04 01:00 is still to come"),
        ("2026-03-03", "24:00", "Told at: 24:00 is no time; write it as 06:20"),
        ("2026-03-03", "6.15", "Told at: 6.15 is no time"),
        ("2026-03-03", "", "Told at: nothing is no time"),
        ("2026-02-30", "06:00", "Told on: 2026-02-30 is no day; write it as 2026-03-03"),
        ("", "06:00", "Told on: nothing is no day"),
        ("2026-03-03", "٠٦:٠٠", "is no time"),
    ],
)
def test_a_time_that_cannot_be_true_is_refused_and_the_caution_stays(desk, day, time, problem):
    concern = desk.concern(severity="safety")

    with pytest.raises(InputError, match=problem):
        record_escalation(desk.place, concern, "quality lead", day=day, time=time)

    assert facts_of(desk, concern).needs_escalation


def test_a_class_that_was_corrected_to_safety_asks_who_was_told(desk):
    concern = desk.concern()
    correct_concern(
        desk.place, facts_of(desk, concern), why="it is a safety-related part", severity="safety"
    )

    assert facts_of(desk, concern).needs_escalation


def test_the_summary_tells_every_fact_and_leaves_out_what_was_not_said(desk):
    bare = desk.concern()
    full = desk.concern(
        severity="safety",
        part_name="Reservoir",
        part_number="WR-1",
        customer_reference="C-4711",
        quantity=0,
        reported_on="2026-03-02",
        made_from="2026-02-20",
        made_to="2026-02-27",
        lots="0225-1",
        share_low="0.125",
    )
    keep_photo(desk.place, Subject(concern=full, limit="not_ok"), draw("ear-ok"), "x", invented=True)
    record_escalation(desk.place, full, "quality lead")

    assert facts_lines(facts_of(desk, bare)) == (
        "What is known of the concern:",
        "  Severity class: Fit or function",
        "  Value stream: Washer-fluid reservoir",
    )
    assert facts_lines(facts_of(desk, full)) == (
        "What is known of the concern:",
        "  Severity class: Safety or regulatory",
        "  Part: Reservoir WR-1",
        "  Customer reference: C-4711",
        "  Parts reported: 0",
        "  Reported on: 2026-03-02",
        "  Made: from 2026-02-20 to 2026-02-27",
        "  Lots: 0225-1",
        "  Affected parts expected: at least 12.5 %",
        "  Value stream: Washer-fluid reservoir",
        "  Limit samples: 0 OK, 1 NOK",
        "  Told: quality lead, 2026-03-03 06:20",
    )
    said = [facts_to_json(facts_of(desk, concern)) for concern in (bare, full)]
    assert said[0].keys() == said[1].keys()
    assert (said[0]["quantity"], said[1]["quantity"]) == (None, 0)
    assert said[1]["told"][0]["told"] == "quality lead"


def test_the_summary_of_the_terminal_has_the_facts_and_json_has_them_under_one_name(desk):
    desk.concern(customer_reference="C-4711")
    (summary,) = summarise(desk.place)

    assert "  Customer reference: C-4711" in list(part_lines(desk.place, summary))
    assert parts_to_json(desk.place, summary)["facts"]["customer_reference"] == "C-4711"


def test_the_facts_are_told_without_the_checklist_too(desk, monkeypatch):
    desk.concern(customer_reference="C-4711")
    monkeypatch.setattr(desk.place, "checklists", None)
    monkeypatch.setattr(desk.place, "_streams", {})
    (summary,) = summarise(desk.place)

    assert summary.answer is None
    assert "  Customer reference: C-4711" in list(part_lines(desk.place, summary))
    assert parts_to_json(desk.place, summary)["facts"]["customer_reference"] == "C-4711"


@given(st.integers(0, 10**9))
def test_percent_are_told_as_they_were_typed(billionths):
    share = f"{billionths / 10**9:.9f}"
    assert float(percent_of(share)) == pytest.approx(100 * float(share), abs=1e-12)
