"""The TinyDB face: every query gives what TinyDB as shipped gives; nothing can be changed."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tinydb import Query, TinyDB, where
from tinydb.storages import MemoryStorage
from tinydb.table import Document

from tests.store.support import (
    OTHER_DEVICE,
    WALK,
    HastyDisk,
    answer,
    make_id,
    note,
    open_store,
    own_journal,
)
from walkapp.errors import RecordError, StoreError
from walkapp.model.records import record_to_plain
from walkapp.store import JournalTable


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "store"


def _documents(count: int) -> list[dict]:
    made = []
    for n in range(1, count + 1):
        make = answer if n % 3 == 0 else note
        extra = {"replaces": (make_id(4), make_id(5)), "why": "typed wrongly"} if n % 4 == 0 else {}
        made.append(record_to_plain(make(n, **extra)))
    return made


_ENTRY = Query()
_CONDITIONS = [
    where("kind") == "note",
    (where("number") > 3) & ~(where("kind") == "answer"),
    (where("station") == "welding") | (where("number") == 1),
    _ENTRY.replaces.any([make_id(4)]),
    _ENTRY.replaces.all([make_id(5), make_id(4)]),
    _ENTRY.words.matches("clamp.*"),
    _ENTRY.words.exists(),
    _ENTRY.answer.one_of(["ok"]),
    _ENTRY.number.test(lambda n: n % 2 == 0),
    _ENTRY.fragment({"by": "QE ab", "number": 2}),
    Query().noop(),
    where("nothing") == 1,
    lambda document: document["number"] == 5,
]


def test_queries_answer_as_tinydb_as_shipped_does(folder):
    documents = _documents(12)
    shipped = TinyDB(storage=MemoryStorage).table(WALK)
    with open_store(folder) as store:
        table = store.table(WALK)

        assert shipped.insert(documents[0]) == table.insert(documents[0])
        assert shipped.insert_multiple(documents[1:]) == table.insert_multiple(documents[1:])
        for _ in range(2):
            for condition in _CONDITIONS:
                assert shipped.search(condition) == table.search(condition)
                assert shipped.get(condition) == table.get(condition)
                assert shipped.contains(condition) == table.contains(condition)
                assert shipped.count(condition) == table.count(condition)
        assert shipped.all() == table.all()
        assert [d.doc_id for d in shipped] == [d.doc_id for d in table]
        assert len(shipped) == len(table)
        assert shipped.get(doc_id=3) == table.get(doc_id=3)
        assert shipped.get(doc_id=99) == table.get(doc_id=99)
        assert shipped.get(doc_ids=[2, 7, 99]) == table.get(doc_ids=[2, 7, 99])
        assert shipped.contains(doc_id=99) == table.contains(doc_id=99)
        assert "JournalTable" in repr(table)
        with pytest.raises(RuntimeError):
            table.get()
    with open_store(folder) as again:
        assert shipped.all() == again.table(WALK).all()


@settings(max_examples=40, deadline=None)
@given(words=st.lists(st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1), max_size=6))
def test_any_texts_are_found_as_tinydb_finds_them(tmp_path_factory, words):
    shipped = TinyDB(storage=MemoryStorage).table(WALK)
    with open_store(tmp_path_factory.mktemp("any") / "store", disk=HastyDisk()) as store:
        table = store.table(WALK)
        for number, text in enumerate(words, start=1):
            document = record_to_plain(note(number, text))
            assert shipped.insert(document) == table.insert(document)
        for text in words:
            assert shipped.search(where("words") == text) == table.search(where("words") == text)
        assert shipped.all() == table.all()


def test_what_is_inserted_is_on_disk_and_among_the_records(folder):
    with open_store(folder) as store:
        store.table(WALK).insert(record_to_plain(note(1)))

        assert store.records(WALK) == (note(1),)
        assert b"clamp pads" in own_journal(folder).read_bytes()
        assert store.next_number == 2


def test_what_is_appended_is_found_at_once(folder):
    with open_store(folder) as store:
        table = store.table(WALK)
        store.append(note(1))
        assert table.count(where("kind") == "note") == 1
        store.append(note(2))
        assert table.count(where("kind") == "note") == 2
        store.merge([note(1, device=OTHER_DEVICE, key=7)], name="b", photos={}, checklists={})
        assert table.count(where("kind") == "note") == 3


@pytest.mark.parametrize(
    "change",
    [
        lambda table: table.update({"words": "x"}),
        lambda table: table.update({"words": "x"}, where("number") == 1),
        lambda table: table.update({"words": "x"}, doc_ids=[1]),
        lambda table: table.update_multiple([({"words": "x"}, where("number") == 1)]),
        lambda table: table.upsert({"words": "x"}, where("number") == 1),
        lambda table: table.upsert(Document({"words": "x"}, doc_id=9)),
        lambda table: table.remove(where("number") == 1),
        lambda table: table.remove(doc_ids=[1]),
        lambda table: table.truncate(),
        lambda table: table.storage.write({}),
        lambda table: table.insert(Document(record_to_plain(note(2)), doc_id=5)),
    ],
)
def test_nothing_can_be_changed_or_removed(folder, change):
    with open_store(folder) as store:
        store.append(note(1))
        with pytest.raises(StoreError):
            change(store.table(WALK))

        assert store.records(WALK) == (note(1),)
        assert store.table(WALK).all() == [record_to_plain(note(1))]


def test_tables_cannot_be_dropped(folder):
    with open_store(folder) as store:
        store.append(note(1))
        database = store.database

        for drop in (database.drop_tables, lambda: database.drop_table(WALK)):
            with pytest.raises(StoreError, match="never changed or removed"):
                drop()
        assert database.tables() == {WALK}
        assert database.storage.read() == {WALK: {"1": record_to_plain(note(1))}}
        assert isinstance(database.table(WALK), JournalTable)


def test_changing_a_result_changes_nothing_in_the_store(folder):
    kept = record_to_plain(note(1, replaces=(make_id(4),), why="typed wrongly"))
    condition = where("number") == 1
    with open_store(folder) as store:
        table = store.table(WALK)
        given_in = dict(kept, replaces=list(kept["replaces"]))
        table.insert(given_in)
        given_in["replaces"].append("x")
        for _ in range(2):
            for document in (
                table.search(condition)[0],
                table.get(condition),
                table.get(doc_id=1),
                table.get(doc_ids=[1])[0],
                table.all()[0],
                next(iter(table)),
                store.database.storage.read()[WALK]["1"],
            ):
                assert kept == document
                document["replaces"].append("x")
                document["words"] = "x"


@pytest.mark.parametrize(
    ("document", "error"),
    [
        ("text", ValueError),
        ({"kind": "note"}, RecordError),
        (record_to_plain(note(3)), ValueError),
        (record_to_plain(note(1, device=OTHER_DEVICE)), ValueError),
        (record_to_plain(note(1, walk="")), ValueError),
    ],
    ids=["no mapping", "no record", "number", "device", "scope"],
)
def test_what_is_no_next_record_is_refused(folder, document, error):
    with open_store(folder) as store:
        with pytest.raises(error):
            store.table(WALK).insert(document)
        with pytest.raises(error):
            store.table(WALK).insert_multiple([record_to_plain(note(1)), document])

        assert len(store.table(WALK)) == 0
        assert store.concerns() == ()


def test_iterating_while_adding_sees_what_was_there(folder):
    with open_store(folder) as store:
        store.append(note(1))
        seen = 0
        for _ in store.table(WALK):
            store.append(note(store.next_number))
            seen += 1

        assert seen == 1
        assert len(store.table(WALK)) == 2
