"""Records of audits that lie where they must not, name what is not here, or come from the ends of time."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.audited import LATER, audited
from tests.builders import make, record_id
from walkapp.actions.audits.book import FINDING_OPEN, FINDING_OVERDUE
from walkapp.actions.audits.findings import (
    closed_findings,
    days_open,
    earlier_findings,
    open_findings,
    status_text,
    strays,
)
from walkapp.actions.books import book_facts, books_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.reading import all_concerns, concern_facts
from walkapp.actions.searching import Finder
from walkapp.bundle import open_bundle
from walkapp.model.ids import book_id, is_book, month_of_book
from walkapp.model.records import (
    AuditAnswer,
    AuditReaction,
    AuditStart,
    Concern,
    FindingClosed,
    Note,
    Photo,
)
from walkapp.presenters.audits.finding import FindingPage
from walkapp.presenters.audits.findings import FindingsPage
from walkapp.presenters.route import Route
from walkapp.presenters.search import SearchPage

MARCH = book_id("washer-reservoir", date(2026, 3, 1))
OTHER_TABLET = record_id(8_000_071)


@pytest.fixture
def bench(tmp_path):
    made = audited(tmp_path)
    with made.desk.store:
        yield made


def arrive(bench, *records):
    came = [replace(r, device=OTHER_TABLET, number=n) for n, r in enumerate(records, start=1)]
    bench.desk.store.merge(came, name=f"other-{came[0].id}", photos={}, checklists={})


def start(number, day="2026-03-09", **more):
    said = {"stream": "washer-reservoir", "checklist": "a" * 64, "layer": "gone", "day": day}
    return make(AuditStart, number, **{"walk": "", "concern": MARCH, **said, **more})


def nok(number, audit, **more):
    said = {"station": "gone", "question": "gone", "asked": "Still there?", "answer": "not_ok"}
    return make(
        AuditAnswer, number, **{"walk": "", "concern": MARCH, "audit": record_id(audit), **said, **more}
    )


def pages(bench):
    """Open the list and the page of every finding; give what they say."""
    listed = FindingsPage(bench.desk.session, Route(screen="findings"))
    listed.open()
    assert listed.state.problem == ""
    sentences = []
    for section in listed.state.sections:
        for row in section.rows:
            listed.row(section.name, row.id)
            page = FindingPage(bench.desk.session, bench.desk.routes[-1])
            page.open()
            assert page.state.problem == ""
            sentences.append(page.state.sentence)
    return sentences


@pytest.mark.parametrize(
    ("at", "days"),
    [("0001-01-01T00:00:00+00:00", 739_683), ("9999-12-31T23:59:59+00:00", 0)],
)
def test_a_finding_from_the_ends_of_time_is_shown_as_it_was_recorded(bench, at, days):
    arrive(bench, start(500, day=at[:10]), nok(501, 500, at=at))

    (found,) = open_findings(bench.place)

    assert (found.found_on, days_open(found, date(2026, 3, 9))) == (at[:10], days)
    assert earlier_findings(bench.place, found, 30) == ()
    assert pages(bench) == ["No reaction yet"]


@pytest.mark.parametrize(
    ("due_on", "status", "words"),
    [("0001-01-01", FINDING_OVERDUE, "overdue by 739,683 days"),
     ("9999-12-31", FINDING_OPEN, "open, due in 2,912,375 days")],
)  # fmt: skip
def test_a_due_day_from_the_ends_of_time_is_counted(bench, due_on, status, words):
    react = make(AuditReaction, 502, walk="", concern=MARCH, audit=record_id(500), finding=record_id(501),
                 reaction="contained", what="held", owner="SL", due_on=due_on)  # fmt: skip
    arrive(bench, start(500), nok(501, 500), react)

    (found,) = open_findings(bench.place)

    today = date(2026, 3, 9)
    assert (found.status(today), status_text(found, today)) == (status, words)
    assert pages(bench) == [f"{words[:1].upper()}{words[1:]}"]


def test_a_record_of_audits_within_a_concern_is_no_finding_and_the_search_leads_to_the_concern(bench):
    concern = bench.desk.concern()
    arrive(bench, start(500, concern=concern), nok(501, 500, concern=concern, asked="Interlock bridged?"))

    assert (open_findings(bench.place), books_of(bench.place), strays(bench.place)) == ((), (), 0)
    page = SearchPage(bench.desk.session, Route(screen="search"))
    page.open()
    page.type("gone")
    page.choose(page.state.rows[0].id)
    assert bench.desk.routes[-1] == Route(screen="concern", concern=concern)


def test_a_concern_within_an_audit_book_is_carried_along_and_no_concern(bench, tmp_path):
    bench.finding(**LATER)
    said = {
        "stream": "washer-reservoir",
        "defect": "cracked-ear",
        "what": "In a book",
        "severity": "safety",
    }
    arrive(bench, make(Concern, 500, walk="", concern=MARCH, **said))

    assert all_concerns(bench.place) == ()
    assert pages(bench) == ["Open, due in 3 days"]
    bundle_concerns(bench.place, tmp_path / "walk.zip")
    with open_bundle(tmp_path / "walk.zip") as bundle:
        assert set(bundle.records) == set(bench.desk.records)


def test_a_walk_with_the_id_of_a_book_does_not_bring_the_audits_into_its_concern(bench, tmp_path):
    concern = bench.desk.concern()
    bench.finding(**LATER)
    arrive(bench, make(Note, 500, concern=concern, walk=MARCH, station="welding", words="whose?"))

    for more in ({}, {"concern": concern}, {"concern": MARCH}):
        bundle_concerns(bench.place, tmp_path / "walk.zip", **more)
        with open_bundle(tmp_path / "walk.zip") as bundle:
            assert len(bundle.records) == len(set(bundle.records))
            assert record_id(500) in {r.id for r in bundle.records}
            is_alone = more == {"concern": concern}
            assert any(isinstance(r, AuditStart) for r in bundle.records) is not is_alone
    everything = concern_facts(bench.place, concern).everything
    assert {r.kind for r in everything} == {"concern", "note"}


def test_words_on_findings_that_are_not_here_hold_up_nothing(bench):
    found = bench.finding(**LATER)
    lost = {"walk": "", "concern": MARCH, "audit": record_id(9), "finding": record_id(9)}
    arrive(
        bench,
        make(AuditReaction, 500, **lost, reaction="corrected", what="put right"),
        make(FindingClosed, 501, **lost, closed_on="2026-03-09", evidence="seen"),
        make(Photo, 502, walk="", concern=MARCH, about=record_id(9), sha256="b" * 64, media="image/png",
             size_bytes=1, width_px=1, height_px=1, caption="whose"),
    )  # fmt: skip

    assert [one.answer.id for one in open_findings(bench.place)] == [found.answer.id]
    assert bench.now(found).pictures == ()
    finder = Finder(bench.place)
    finder.update()
    page = SearchPage(bench.desk.session, Route(screen="search"))
    page.open()
    page.type("whose")
    page.choose("result-0")
    assert bench.desk.routes[-1].screen == "findings"


def test_two_audits_for_one_place_of_the_plan_have_a_finding_each(bench):
    arrive(bench, start(500), start(501), nok(502, 500), nok(503, 501))

    found = open_findings(bench.place)

    assert [one.answer.id for one in found] == [record_id(502), record_id(503)]
    assert [one.answer.id for one in earlier_findings(bench.place, found[1], 30)] == [record_id(502)]
    assert closed_findings(bench.place) == ()


def test_a_book_in_which_nothing_holds_is_still_called_by_its_month(bench):
    arrive(bench, start(500, stream="pump-bracket", replaces=(), layer="x"))

    assert book_facts(bench.place, MARCH).what == "Audits, March 2026"
    assert open_findings(bench.place, "washer-reservoir") == ()


@pytest.mark.parametrize(
    "odd",
    ["", "x", "zzzzzzzz-zzzz-7a0d-8fac-2a8318d73d2b", "f" * 36, "ffffffff-ffff-7a0d-8fac-2a8318d73d2b"],
)
def test_what_is_no_id_of_a_book_is_none(odd):
    assert not is_book(odd)
    assert month_of_book(odd) is None
