"""The index finds exactly the documents in which each word asked for begins some word."""

from __future__ import annotations

import sqlite3
import threading

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builders import record_id
from tests.strategies import AWKWARD_TEXTS
from walkapp.model.ids import compose_uuid7
from walkapp.search import BrokenIndexError, Document, FtsIndex, PlainIndex, asked_words, has_fts, words_of

ALPHABET = "abAÄßeéE12 -*\"'ΣςΩ\u0301İ字😀_"
WORDS = st.one_of(st.text(ALPHABET, max_size=12), st.sampled_from(AWKWARD_TEXTS), st.text(max_size=8))
MANY = 10_000


def document(number: int, body: str, names: str = "", record: str = "") -> Document:
    return Document(
        record or record_id(number), "note", "Leak test", "2026-03-03T06:20:00+01:00", "QE-RT", body, names
    )


def fill(index, concern, documents, state="now"):
    return sum(index.replace(concern, f"what of {concern}", state, documents))


def found(index, question, most=MANY):
    answer = index.find(asked_words(question)[0], most)
    assert answer.total >= len(answer.hits)
    return [hit.document.record for hit in answer.hits]


@pytest.fixture(params=[FtsIndex, PlainIndex])
def index(request):
    made = request.param()
    yield made
    made.close()


def test_this_python_has_the_full_text_index():
    assert has_fts()


@settings(max_examples=60)
@given(
    bodies=st.lists(st.tuples(WORDS, WORDS), min_size=1, max_size=8),
    asked=st.lists(st.tuples(st.integers(0, 7), st.integers(0, 40), st.integers(1, 4)), max_size=3),
    foreign=WORDS,
    again=st.lists(WORDS, max_size=4),
)
def test_search_finds_what_a_naive_look_at_every_text_finds(bodies, asked, foreign, again):
    before = [document(n, " ".join(text)) for n, text in enumerate(bodies)]
    after = [document(n, text) for n, text in enumerate(again)]
    texts = [one.body for one in before]
    cut = " ".join(texts[n % len(texts)][start : start + many] for n, start, many in asked)
    with_fts, plain = FtsIndex(), PlainIndex()
    for documents in (before, after):
        for index in (with_fts, plain):
            fill(index, "c", documents)
        for question in (cut, cut.swapcase(), foreign):
            words = asked_words(question)[0]
            if not words:
                continue
            expected = {
                one.record
                for one in documents
                if all(any(word.startswith(part) for word in words_of(one.body)) for part in words)
            }
            assert set(found(with_fts, question)) == expected
            assert set(found(plain, question)) == expected
    with_fts.close()


def test_the_newest_come_first_and_a_nok_without_a_word_comes_last(index):
    fill(index, "a", [document(1, "pads"), document(5, "", "pads"), document(3, "pads")])
    fill(index, "b", [document(2, "pads")])

    assert found(index, "pads") == [record_id(n) for n in (3, 2, 1, 5)]
    answer = index.find(("pads",), 2)
    assert (answer.total, len(answer.hits)) == (4, 2)
    assert [hit.what for hit in answer.hits] == ["what of a", "what of b"]


def test_only_what_changed_is_changed_and_the_state_is_told_at_the_end(index):
    fill(index, "a", [document(n, f"pads{n}") for n in range(600)], "first")
    pieces = index.replace("a", "what of a", "second", [document(n, f"pads{n}") for n in range(1, 601)])
    next(pieces)
    assert index.states() == {"a": "first"} or index.is_plain

    rest = list(pieces)

    assert index.states() == {"a": "second"}
    assert rest and index.count() == 600
    assert found(index, "pads0") == [] and found(index, "pads600") == [record_id(600)]
    index.forget("a")
    assert (index.states(), index.count(), found(index, "pads599")) == ({}, 0, [])


def test_an_index_comes_back_from_its_bytes_and_goes_on():
    index = FtsIndex()
    fill(index, "a", [document(1, "harder pads"), document(2, "Größe")])
    again = FtsIndex(index.to_bytes())

    assert found(again, "grosse") == [record_id(2)]
    fill(again, "a", [document(1, "harder pads"), document(3, "grau")])
    assert (found(again, "gr"), found(index, "gr")) == ([record_id(3)], [record_id(2)])
    assert again.states() == {"a": "now"}


def test_many_records_of_one_millisecond_are_all_found():
    many = (1 << 14) + 40
    ids = [compose_uuid7(1_772_000_000_000, n % 4096, n) for n in range(many)]
    index = FtsIndex()
    fill(index, "a", [document(n, f"pads {n}", record=ids[n]) for n in range(many)])

    assert index.find(("pads",), 1).total == many
    assert found(index, f"{many - 1}") == [ids[many - 1]]


@pytest.mark.parametrize(
    "latest", ["ffffffff-ffff-7fff-bfff-ffffffffffff", "00000000-0000-7000-8000-000000000000"]
)
def test_ids_from_the_end_of_all_time_are_found(latest):
    index = FtsIndex()
    fill(index, "a", [document(1, "pads", record=latest), document(2, "", "pads", record=latest)])

    assert found(index, "pads") == [latest, latest]


def test_a_search_while_the_index_grows_sees_whole_pieces_and_no_error():
    index, wrong, stop = FtsIndex(), [], threading.Event()

    def search():
        while not stop.is_set():
            if index.find(("pads",), 10).total % 500:
                wrong.append("half a piece")

    searcher = threading.Thread(target=search)
    searcher.start()
    fill(index, "a", [document(n, "pads") for n in range(5000)])
    stop.set()
    searcher.join()

    assert wrong == [] and index.find(("pads",), 1).total == 5000


def image_with(*statements: str) -> bytes:
    base = sqlite3.connect(":memory:")
    base.deserialize(FtsIndex().to_bytes())
    for statement in statements:
        base.execute(statement)
    base.commit()
    return base.serialize()


@pytest.mark.parametrize(
    "image",
    [
        b"",
        b"no database",
        b"SQLite format 3\0" + bytes(5000),
        image_with("CREATE TABLE more (x)"),
        image_with("DROP TABLE concerns"),
        image_with("CREATE TRIGGER t AFTER INSERT ON documents BEGIN DELETE FROM concerns; END"),
        image_with("CREATE VIEW found_more AS SELECT 1"),
    ],
)
def test_what_is_no_such_index_is_refused(image):
    with pytest.raises(BrokenIndexError):
        FtsIndex(image)


def test_a_database_that_holds_nonsense_is_said_to_be_broken():
    index = FtsIndex(image_with("INSERT INTO documents (id, concern) VALUES (1, 1)",
                                "INSERT INTO concerns (id, concern) VALUES (1, 'a')",
                                "INSERT INTO found (rowid, folded) VALUES (1, 'pads')"))  # fmt: skip

    with pytest.raises(BrokenIndexError):
        index.find(("pads",), 10)
    with pytest.raises(BrokenIndexError):
        fill(index, "a", [])
