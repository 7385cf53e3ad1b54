"""What the desk knows of a value stream."""

from __future__ import annotations

from datetime import date

import pytest

from tests.fakes import Desk
from walkapp.actions.books import facts_of, stream_of_desk
from walkapp.actions.desk import desk_facts, desk_streams
from walkapp.actions.reading import concern_ids
from walkapp.errors import InputError, RecordError
from walkapp.model.ids import book_id, desk_book_id, is_book, is_desk_book, is_record_id, month_of_book
from walkapp.model.records import Deliveries, SuccessFactor

STREAM = "washer-reservoir"
MARCH = {"stream": STREAM, "month": "2026-03-01", "delivered": 50_000}


@pytest.fixture
def place(tmp_path):
    desk = Desk(tmp_path)
    yield desk.place
    desk.place.store.close()


def deliver(place, **said):
    return place.add(Deliveries, concern=desk_book_id(STREAM), **{**MARCH, **said})


def test_every_tablet_arrives_at_the_same_desk_book_of_a_stream():
    one, other = desk_book_id(STREAM), desk_book_id("pump-bracket")

    assert one == desk_book_id(STREAM)
    assert one != other
    assert is_record_id(one) and is_desk_book(one) and is_book(one)
    assert month_of_book(one) is None
    assert not is_desk_book(book_id(STREAM, date(2026, 3, 1)))


def test_deliveries_are_kept_with_their_stream_and_are_no_concern(place):
    kept = deliver(place)

    facts = desk_facts(place, STREAM)

    assert facts.kept(Deliveries) == (kept,)
    assert facts.kept(SuccessFactor) == ()
    assert (facts.name, facts.book, facts.concerns) == ("Washer-fluid reservoir", kept.concern, ())
    assert concern_ids(place) == ()
    assert facts_of(place, facts.book).what == "Deliveries and success factors, Washer-fluid reservoir"
    assert stream_of_desk(facts.book, facts.standing.current) == STREAM


def test_a_record_that_claims_another_stream_is_not_counted_for_it(place):
    stray = deliver(place, stream="pump-bracket")

    assert desk_facts(place, STREAM).kept(Deliveries) == ()
    assert desk_facts(place, "pump-bracket").kept(Deliveries) == ()
    assert stream_of_desk(stray.concern, [stray]) == ""


def test_a_corrected_month_holds_once(place):
    first = deliver(place, delivered=5_000)
    second = deliver(place, replaces=(first.id,), why="one zero was missing")

    assert desk_facts(place, STREAM).kept(Deliveries) == (second,)


def test_a_month_is_named_by_its_first_day(place):
    with pytest.raises(RecordError, match="month must be the first day of a month, not 2026-03-02"):
        deliver(place, month="2026-03-02")


def test_the_streams_of_the_desk_are_those_with_a_checklist_or_a_concern(place):
    assert desk_streams(place) == ("pump-bracket", STREAM)


def test_a_stream_that_nobody_has_is_said_plainly(place):
    with pytest.raises(InputError, match="There is nothing of a value stream 'door-seal' here"):
        desk_facts(place, "door-seal")


def test_nothing_is_told_of_a_desk_book_that_is_not_here(place):
    with pytest.raises(InputError, match="Nothing is kept of such a value stream here"):
        facts_of(place, desk_book_id(STREAM))
