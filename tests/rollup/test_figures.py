"""The questions find what a tablet finds that has merged the bundles of one plant."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest

from tests.rollup.plants import asked
from tests.rollup.world import PLANTS, TODAY, write_world
from walkapp.actions.acting import actions_of
from walkapp.actions.audits.book import AuditBook, lies_right
from walkapp.actions.reading import ConcernFacts
from walkapp.model.ids import is_book
from walkapp.model.records import (
    Answer,
    AuditSigned,
    ChangePoint,
    Concern,
    Count,
    Lesson,
    ReadAcross,
)
from walkapp.model.standing import standing_of
from walkapp.rollup import ask, questions

VALUES = {"on": TODAY, "within": 30}


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """The bundles of the plants in a database, and their records; one bundle in two folders is left out."""
    folder = tmp_path_factory.mktemp("plants")
    everything = write_world(folder)
    sources = [
        (path.relative_to(folder).parts[0], path)
        for path in sorted(folder.rglob("*.zip"))
        if not path.name.startswith("format")
    ]
    with asked(sources) as database:
        yield database, everything


@pytest.fixture(scope="module")
def concerns(world):
    """What a tablet knows of each concern, with its plant."""
    _, everything = world
    by_id = {}
    for record in everything:
        if not is_book(record.concern):
            by_id.setdefault(record.concern, []).append(record)
    found = []
    for number, records in enumerate(by_id.values()):
        standing = standing_of(records)
        concern = next(r for r in standing.current if isinstance(r, Concern))
        found.append((PLANTS[number // 3], ConcernFacts(concern, None, (), standing, tuple(records))))
    return found


@pytest.fixture(scope="module")
def books(world):
    """The audit books, with the plant of each; plants audit the same stream, so their books have one id."""
    _, everything = world
    by_id = {}
    for record in everything:
        if is_book(record.concern):
            by_id.setdefault((PLANTS[record.number // 10_000 % 500 - 1], record.concern), []).append(record)
    return [(plant, AuditBook(records)) for (plant, _), records in by_id.items()]


def answered(world, name):
    return ask(world[0], questions()[name], VALUES).rows


def test_parts_are_counted_as_on_a_tablet(world, concerns):
    expected = Counter()
    for plant, facts in concerns:
        for record in facts.standing.current:
            if isinstance(record, Answer) and record.answer != "not_applicable":
                expected[plant, facts.concern.defect, record.station, "look", "checked"] += 1
                nok = record.answer == "not_ok"
                expected[plant, facts.concern.defect, record.station, "look", "nok"] += nok
            elif isinstance(record, Count):
                key = (plant, facts.concern.defect, record.station, "gauge")
                expected[*key, "checked"] += record.checked
                expected[*key, "nok"] += record.nok

    found = Counter()
    for row in answered(world, "counts"):
        for what in ("checked", "nok"):
            found[row["plant"], row["defect"], row["station"], row["check_id"], what] += row[what]

    assert found == expected


def test_actions_stand_as_on_a_tablet(world, concerns):
    expected_open, expected_checked = {}, {}
    for plant, facts in concerns:
        for action in actions_of(facts, TODAY):
            if not action.done:
                late = (TODAY - date.fromisoformat(action.action.due_on)).days
                expected_open[action.id] = (plant, action.action.what, max(late, 0))
            if action.checks:
                check = action.checks[-1]
                expected_checked[action.id] = (plant, action.done_on, check.checked_on, check.after_nok)

    found_open = {
        row["action_id"]: (row["plant"], row["what"], row["days_overdue"])
        for row in answered(world, "open_actions")
    }
    found_checked = {
        row["action_id"]: (row["plant"], str(row["done_on"]), str(row["checked_on"]), row["after_nok"])
        for row in answered(world, "effect_checks")
    }

    assert expected_open and expected_checked
    assert found_open == expected_open
    assert found_checked == expected_checked
    totals = answered(world, "actions")
    assert sum(row["still_open"] for row in totals) == len(expected_open)
    assert sum(row["overdue"] for row in totals) == sum(late > 0 for _, _, late in expected_open.values())


def test_audits_and_their_answers_are_counted_as_on_a_tablet(world, books):
    expected = Counter()
    for plant, book in books:
        for start in filter(lies_right, book.starts):
            key = (plant, start.layer, start.day[:7])
            own = book.of(start.id)
            expected[*key, "begun"] += 1
            expected[*key, "signed"] += any(isinstance(r, AuditSigned) for r in own)
            expected[*key, "nok"] += len(book.findings_of(start))

    found = Counter()
    for row in answered(world, "audits"):
        for what in ("begun", "signed", "nok"):
            found[row["plant"], row["layer"], str(row["month_begins"])[:7], what] += row[what]

    assert +found == +expected


def test_repeat_findings_are_those_of_a_tablet(world, books):
    findings = [
        (plant, finding)
        for plant, book in books
        for start in filter(lies_right, book.starts)
        for finding in book.findings_of(start)
    ]
    expected = Counter()
    for plant, finding in findings:
        on = date.fromisoformat(finding.found_on)
        expected[plant, finding.answer.question] += any(
            other_plant == plant
            and other.answer.ref == finding.answer.ref
            and other.start.id != finding.start.id
            and other.found_on >= (on - timedelta(days=VALUES["within"])).isoformat()
            and (other.found_on, other.answer.id) < (finding.found_on, finding.answer.id)
            for other_plant, other in findings
        )

    found = {(row["plant"], row["question"]): row["repeats"] for row in answered(world, "repeat_findings")}

    assert found == +expected


def test_change_points_read_across_and_lessons_are_those_that_hold(world, concerns):
    changes = Counter()
    still_open = set()
    without_lesson = set()
    for plant, facts in concerns:
        held = facts.standing.current
        changes.update((plant, r.change) for r in held if isinstance(r, ChangePoint))
        still_open |= {
            (r.concern, r.other_stream)
            for r in held
            if isinstance(r, ReadAcross) and r.status in ("to_check", "affected")
        }
        if not any(isinstance(r, Lesson) for r in held):
            without_lesson.add(facts.id)

    found = Counter()
    for row in answered(world, "change_points"):
        found[row["plant"], row["kind"]] += row["changes"]

    assert found == changes
    assert {(r["concern"], r["other_stream"]) for r in answered(world, "read_across")} == still_open
    assert {r["concern"] for r in answered(world, "lessons") if not r["lessons"]} == without_lesson


def test_the_answer_of_the_bundle_with_most_records_counts(world):
    rows = answered(world, "first_bad_station")

    named = {row["first_bad_station"] for row in rows}
    assert named == {"=Welding", ""}  # "Leak test" stood in the bundles with half of the records
    assert all(row["records_here"] >= row["records_seen"] for row in rows)
    assert [row["surely"] for row in answered(world, "first_bad_often")] == [
        row["concerns"] for row in answered(world, "first_bad_often")
    ]


def test_safety_concerns_without_an_escalation_are_named(world, concerns):
    expected = {facts.id for _, facts in concerns if facts.needs_escalation}

    assert {row["concern"] for row in answered(world, "safety")} == expected
    assert expected
