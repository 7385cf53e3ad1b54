"""What holds over many bundles is what holds on a tablet that merged them all."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import CONCERN, WALK, make, record_id
from tests.merging.histories import BASE, IDS, NEVER_HERE, parcels
from tests.rollup.plants import asked, held_by_sql, held_by_the_model, write_plant
from tests.strategies import AWKWARD_TEXTS
from tests.strategies import records as any_records
from walkapp.model.ids import is_book
from walkapp.model.records import Answer, Concern, Count, Lesson, Note, Withdrawal, kind_of
from walkapp.model.standing import standing_of
from walkapp.rollup.tables import READ


def compare(bundles):
    """Assert that SQL and the model agree on every kind, whichever bundle brings what."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sources = [
            (f"plant {number % 2}", write_plant(folder, f"{number % 2}", f"b{number}", parcel))
            for number, parcel in enumerate(bundles)
        ]
        everything = [record for parcel in bundles for record in parcel]
        with asked(sources) as database:
            for kind in READ:
                expected = held_by_the_model(everything, kind)
                found = held_by_sql(database, kind)
                if kind == "concern":
                    # The concern itself is not hidden by what a walk claims: it may be there beside.
                    assert expected <= found
                elif kind not in ("answer", "count"):
                    assert found == expected
                else:
                    # What was recorded on a walk under the id of a book counts nowhere.
                    assert {row for row in found if not is_book(row[5])} == {
                        row for row in expected if not is_book(row[5])
                    }


@settings(max_examples=5)
@given(st.lists(st.lists(parcels(), min_size=3, max_size=3), min_size=12, max_size=12))
def test_random_histories_with_all_their_conflicts_hold_as_the_model_says(histories):
    # Many histories in one database, each with ids of its own: to make one takes longer than to ask it.
    apart = [
        [tuple(moved(record, number) for record in parcel) for parcel in (BASE, *history)]
        for number, history in enumerate(histories)
    ]

    compare([[record for parcel in parcels for record in parcel] for parcels in zip(*apart, strict=True)])


def moved(record, number):
    """Give a record ids that no other history has."""

    def there(some_id):
        return MOVED[number].get(some_id, some_id)

    names = {name for name in ("id", "concern", "audit", "finding") if hasattr(record, name)}
    fields = {name: there(getattr(record, name)) for name in names}
    return replace(record, replaces=tuple(map(there, record.replaces)), **fields)


MOVED = [
    {record_id(one): record_id(one + 1_000 * (number + 1)) for one in (2, *IDS, NEVER_HERE)}
    for number in range(12)
]


@settings(max_examples=8)
@given(st.lists(any_records(*READ), max_size=6), st.integers(0, 6))
def test_every_value_is_read_as_it_was_written(found, cut):
    compare([found[:cut], found[cut // 2 :]])


def test_every_awkward_text_is_read_as_it_was_written():
    texts = [*AWKWARD_TEXTS, *(f"a{one}{other}" for one in ",;|\t\n" for other in AWKWARD_TEXTS)]
    found = [
        make(Lesson, 100 + number, walk="", worked=text, did_not_work=text[::-1], to_change=f"x{text}")
        for number, text in enumerate(texts)
    ]

    compare([BASE, found, found[::3]])


def test_of_one_id_with_two_contents_the_same_one_counts_as_on_a_tablet():
    one = make(Answer, 10, station="weld", check="look", answer="ok")
    other = make(Answer, 10, station="weld", check="look", answer="not_ok")
    third = make(Count, 10, station="weld", check="look", checked=3, nok=1)

    compare([(*BASE, one), (other,), (third, one)])


def test_a_long_chain_and_a_ring_are_settled():
    chain = [make(Note, 100, station="weld", words="0")]
    chain += [
        make(Count, 100 + n, station="weld", check="look", checked=n, nok=0, replaces=(record_id(99 + n),))
        for n in range(1, 400)
    ]
    ring = [
        make(
            Answer,
            20 + n,
            station="weld",
            check="look",
            answer="ok",
            replaces=(record_id(20 + (n + 1) % 3),),
        )
        for n in range(3)
    ]

    compare([BASE, chain[::2], chain[1::2], ring])


def test_a_walk_that_claims_to_replace_the_concern_hides_nothing():
    claim = make(Note, 30, station="weld", words="mine", replaces=(CONCERN,))
    with tempfile.TemporaryDirectory() as name:
        path = write_plant(Path(name), "A", "one", [*BASE, claim])

        with asked([("A", path)]) as database:
            found = database.rows("SELECT stream, defect, is_here FROM concerns")

    assert found == [("washer-reservoir", "cracked-ear", True)]


def test_a_concern_that_was_taken_back_is_here_no_more():
    taken = make(Withdrawal, 31, walk="", replaces=(CONCERN,))
    with tempfile.TemporaryDirectory() as name:
        path = write_plant(Path(name), "A", "one", [*BASE, taken])

        with asked([("A", path)]) as database:
            found = database.rows("SELECT stream, is_here FROM concerns")

    assert found == [("", False)]
    assert not [r for r in standing_of([*BASE, taken]).current if isinstance(r, Concern)]


def test_a_record_in_the_folders_of_two_plants_counts_once_for_the_first():
    count = make(Count, 13, station="weld", check="look", checked=30, nok=2)
    with tempfile.TemporaryDirectory() as name:
        one = write_plant(Path(name), "B", "one", [*BASE, count])
        other = write_plant(Path(name), "A", "other", [*BASE, count])

        with asked([("B", one), ("A", other)]) as database:
            found = database.rows("SELECT plant, checked, nok, walk FROM held_count")

    assert found == [("A", 30, 2, WALK)]
    assert kind_of(count) == "count"
