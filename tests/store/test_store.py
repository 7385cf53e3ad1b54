"""What a store promises, whatever happens inside."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.store.support import (
    CONCERN,
    DEVICE,
    OTHER_DEVICE,
    OTHER_WALK,
    WALK,
    HastyDisk,
    all_of,
    begin_walk,
    concern,
    make_id,
    note,
    open_store,
    own_journal,
    tree,
    walk_start,
)
from walkapp.errors import PhotoError, RecordError, StoreBusyError, StoreError
from walkapp.files import sha256_of, sha256_of_files
from walkapp.model.records import CarriedRecord, Note, record_to_plain
from walkapp.store.reading import FORMAT


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "store"


def test_what_was_saved_is_there_after_opening_again(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 3)

    with open_store(folder) as again:
        assert saved == sorted(all_of(again), key=lambda r: r.number)
        assert tuple(saved[1:]) == again.records(WALK)
        assert (saved[0],) == again.records(CONCERN)
        assert again.next_number == 6
        assert again.device == DEVICE
        assert again.notices == ()


def test_a_record_is_in_the_file_when_append_returns(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)

        assert b"clamp pads look new" in own_journal(folder).read_bytes()


def test_concerns_and_walks_are_listed(folder):
    with open_store(folder) as store:
        store.append_all([concern(), walk_start(), note(3, walk=OTHER_WALK)])

        assert store.concerns() == (CONCERN,)
        assert store.walks(CONCERN) == (WALK, OTHER_WALK)
        assert store.walks(make_id(77)) == ()

    with open_store(folder, writable=False) as again:
        assert again.concerns() == (CONCERN,)
        assert again.walks(CONCERN) == (WALK, OTHER_WALK)


def test_records_of_an_unknown_walk_are_none(folder):
    with open_store(folder) as store:
        assert store.records(make_id(77)) == ()
        assert all_of(store) == []
        assert store.concerns() == ()


@pytest.mark.parametrize("wrong", [note(2), note(1, device=OTHER_DEVICE)], ids=["number", "device"])
def test_a_record_that_is_not_the_next_of_this_tablet_is_refused(folder, wrong):
    with open_store(folder) as store:
        with pytest.raises(ValueError, match="record"):
            store.append(wrong)

        assert all_of(store) == []


def test_a_walk_stays_with_its_concern(folder):
    with open_store(folder) as store:
        begin_walk(store, 0)

        stray = Note(**{**_values(note(3)), "concern": make_id(55)})
        with pytest.raises(ValueError, match="does not belong"):
            store.append(stray)


def _values(record):
    plain = record_to_plain(record)
    del plain["kind"]
    return {name: tuple(v) if isinstance(v, list) else v for name, v in plain.items()}


def test_several_records_are_saved_all_or_none(folder):
    with open_store(folder) as store:
        with pytest.raises(ValueError, match="number"):
            store.append_all([concern(), walk_start(), note(9)])

        assert all_of(store) == []
        assert store.next_number == 1


def test_saving_no_records_changes_nothing(folder):
    with open_store(folder) as store:
        store.append_all([])

        assert store.next_number == 1
        assert list((folder / "journals" / "own").iterdir()) == []


def test_records_of_an_unknown_kind_are_carried(folder):
    carried = CarriedRecord(
        id=make_id(9), device=DEVICE, number=1, at="2026-03-02T06:10:00Z", by="QE ab", concern=CONCERN,
        carried_kind="hologram", cells=(("depth", "3"), ("words", "a, b")),
    )  # fmt: skip
    with open_store(folder) as store:
        store.append(carried)

    with open_store(folder) as again:
        assert again.records(CONCERN) == (carried,)


def test_a_clock_that_goes_back_changes_no_order(folder):
    with open_store(folder) as store:
        store.append(note(1, "first", at="2026-03-02T06:10:00+01:00"))
        store.append(note(2, "second", at="1970-01-01T00:00:00Z"))
        store.append(note(3, "third", at="2027-03-02T06:10:00+02:00"))

    with open_store(folder) as again:
        assert [r.words for r in again.records(WALK)] == ["first", "second", "third"]


def test_a_second_writer_is_told_in_one_sentence(folder):
    with open_store(folder), pytest.raises(StoreBusyError, match="already open") as caught:
        open_store(folder)

    assert "\n" not in str(caught.value)


def test_after_closing_another_may_write(folder):
    with open_store(folder) as store:
        store.append(note(1))
    with open_store(folder) as again:
        again.append(note(2))

    with pytest.raises(StoreError):
        store.append(note(3))


_OTHER_PROCESS = """
import sys
from pathlib import Path
from tests.store.support import open_store, note
from walkapp.errors import StoreBusyError
try:
    store = open_store(Path(sys.argv[1]))
except StoreBusyError:
    print("busy")
    raise SystemExit
store.append(note(store.next_number))
print("saved", flush=True)
sys.stdin.read()
"""


def _start_other_process(folder: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", _OTHER_PROCESS, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )


def test_a_second_process_is_kept_out_and_a_killed_one_leaves_no_lock(folder):
    with open_store(folder) as store:
        store.append(note(1))
        with _start_other_process(folder) as other:
            assert other.communicate()[0].strip() == "busy"

    with _start_other_process(folder) as killed:
        assert killed.stdout is not None
        assert killed.stdout.readline().strip() == "saved"
        with pytest.raises(StoreBusyError):
            open_store(folder)
        killed.kill()
        killed.wait()
    with open_store(folder) as again:
        assert len(again.records(WALK)) == 2


def test_of_many_that_open_a_store_at_once_one_gets_it_and_the_others_are_told(folder):
    with open_store(folder) as store:
        store.append(note(1))
    opened, told = [], []

    def open_it() -> None:
        start.wait()
        try:
            opened.append(open_store(folder))
        except StoreBusyError as error:
            told.append(str(error))

    start = threading.Barrier(20)
    threads = [threading.Thread(target=open_it) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(opened) == 1
    assert told == [f"{folder} is already open in another window or program: close that one first."] * 19
    opened[0].append(note(2))
    opened[0].close()


def test_two_threads_save_without_losing_or_doubling_any(folder):
    with open_store(folder) as store:
        errors: list[Exception] = []

        def save_some(words: str) -> None:
            saved = 0
            while saved < 60:
                number = store.next_number
                try:
                    store.append(note(number, words, key=10_000 + number))
                except ValueError:
                    continue  # The other thread took the number.
                except Exception as error:
                    errors.append(error)
                    return
                saved += 1
                list(store.table(WALK))

        threads = [threading.Thread(target=save_some, args=(words,)) for words in ("one", "other")]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

        assert errors == []
        assert len(store.records(WALK)) == 120
    with open_store(folder) as again:
        found = again.records(WALK)
        assert [r.number for r in found] == list(range(1, 121))
        assert sum(r.words == "one" for r in found) == 60


def test_opening_for_reading_changes_nothing_and_needs_no_lock(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 2)
        with own_journal(folder).open("ab") as file:
            file.write(b"half a line")
        before = tree(folder)

        with open_store(folder, writable=False) as reader:
            assert saved[1:] == list(reader.records(WALK))
            assert reader.notices == ()  # The writer may be in the middle of it.
            with pytest.raises(StoreError, match="reading only"):
                reader.append(note(5))
            with pytest.raises(StoreError, match="reading only"):
                reader.add_photo("a" * 64 + ".jpg", b"")
            with pytest.raises(StoreError, match="reading only"):
                reader.remember({})
            with pytest.raises(StoreError, match="reading only"):
                reader.merge([], name="x", photos={}, checklists={})

        assert before == tree(folder)
    with open_store(folder, writable=False) as reader:
        assert saved[1:] == list(reader.records(WALK))
        assert "1 unfinished entry" in reader.notices[0]
    assert before == tree(folder)


def test_reading_a_folder_that_is_no_store_is_refused(tmp_path):
    with pytest.raises(StoreError, match="is not a store"):
        open_store(tmp_path, writable=False)
    with pytest.raises(StoreError, match="is not a store"):
        open_store(tmp_path / "missing", writable=False)


def test_a_photo_is_kept_once_under_its_hash(folder):
    data = b"\x89PNG invented"
    name = sha256_of(data) + ".png"
    with open_store(folder) as store:
        store.add_photo(name, data)
        store.add_photo(name, data)

        assert store.photo_names() == (name,)
        assert store.photo_path(name).read_bytes() == data
        assert store.photo_path("0" * 64 + ".png") is None
        assert store.photo_path("../store.json") is None


def test_a_photo_whose_content_does_not_fit_its_name_is_refused(folder):
    with open_store(folder) as store:
        with pytest.raises(PhotoError, match="once more"):
            store.add_photo("0" * 64 + ".png", b"other")
        with pytest.raises(ValueError, match="name of a photo"):
            store.add_photo("../evil.png", b"other")

        assert store.photo_names() == ()


def test_a_damaged_photo_is_mended_by_a_good_copy_and_kept_aside(folder):
    data = b"\x89PNG invented"
    name = sha256_of(data) + ".png"
    with open_store(folder) as store:
        store.add_photo(name, data)
        store.photo_path(name).write_bytes(b"\x89PNG invanted")

        store.add_photo(name, data)

        assert store.photo_path(name).read_bytes() == data
        assert (folder / "aside" / f"damaged-{name}").read_bytes() == b"\x89PNG invanted"


def test_a_photo_that_was_cut_off_anywhere_is_replaced_by_the_whole_one(folder):
    data = b"\x89PNG invented"
    name = sha256_of(data) + ".png"
    with open_store(folder, disk=HastyDisk()) as store:
        store.add_photo(name, data)
        for size in range(len(data)):
            store.photo_path(name).write_bytes(data[:size])

            store.add_photo(name, data)

            assert store.photo_path(name).read_bytes() == data
            assert (folder / "aside" / f"damaged-{name}").read_bytes() == data[:size]


def test_a_checklist_is_kept_as_it_was(folder):
    files = {"stream.toml": b"a = 1\n", "checks.toml": b""}
    digest = sha256_of_files(files)
    with open_store(folder) as store:
        store.keep_checklist(digest, files)
        store.keep_checklist(digest, files)

        assert store.checklist(digest) == files
        assert store.checklist("cd" * 32) is None
        assert store.checklist_digests() == (digest,)
        with pytest.raises(StoreError, match="other content"):
            store.keep_checklist(digest, {"stream.toml": b"a = 2\n"})
        with pytest.raises(ValueError, match="safe"):
            store.keep_checklist("cd" * 32, {"../x": b""})
        assert store.checklist_digests() == (digest,)


def test_a_damaged_checklist_is_mended_by_a_good_copy_and_kept_aside(folder):
    files = {"stream.toml": b"a = 1\n"}
    digest = sha256_of_files(files)
    kept = folder / "checklists" / digest / "stream.toml"
    aside = folder / "aside"
    with open_store(folder) as store:
        store.keep_checklist(digest, files)
        for damaged in (b"a = 7\n", b""):
            kept.write_bytes(damaged)

            store.keep_checklist(digest, files)

            assert store.checklist(digest) == files
    first, second = (aside / f"damaged-checklist-{digest}{more}" for more in ("", "-2"))
    assert (first / "stream.toml").read_bytes() == b"a = 7\n"
    assert (second / "stream.toml").read_bytes() == b""


def test_the_place_is_remembered_and_a_broken_one_is_empty(folder):
    with open_store(folder) as store:
        assert store.place() == {}
        store.remember({"walk": WALK, "station": "leak-test"})
        assert store.place() == {"walk": WALK, "station": "leak-test"}

    with open_store(folder) as again:
        assert again.place() == {"walk": WALK, "station": "leak-test"}
        for broken in (b"", b"{", b"[1]", b'{"a": 1}', b"\xff\xfe"):
            (folder / "place.json").write_bytes(broken)
            assert again.place() == {}


def test_missing_numbers_are_listed_by_device(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)
        others = [note(n, device=OTHER_DEVICE, key=5000 + n) for n in (2, 3, 7)]
        store.merge(others, name="b", photos={}, checklists={})

        assert store.missing_numbers() == {OTHER_DEVICE: ((1, 1), (4, 6))}


_WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=30)


@settings(max_examples=60, deadline=None)
@given(entries=st.lists(st.tuples(st.sampled_from([WALK, OTHER_WALK, ""]), _WORDS), max_size=8))
def test_any_sequence_of_records_is_read_back_equal(tmp_path_factory, entries):
    folder = tmp_path_factory.mktemp("any") / "store"
    records = [note(n, words, walk=walk) for n, (walk, words) in enumerate(entries, start=1)]
    with open_store(folder) as store:
        for record in records:
            store.append(record)
        in_memory = all_of(store)

    with open_store(folder) as again:
        assert in_memory == all_of(again)
        assert records == sorted(all_of(again), key=lambda r: r.number)
        assert again.notices == ()


def test_a_carried_record_that_could_not_be_read_again_is_refused_before_writing(folder):
    unreadable = CarriedRecord(
        id=make_id(9), device=DEVICE, number=1, at="2026-03-02T06:10:00Z", by="QE ab", concern=CONCERN,
        carried_kind="note", cells=(),
    )  # fmt: skip
    with open_store(folder) as store:
        with pytest.raises(RecordError):
            store.append(unreadable)

        assert list((folder / "journals" / "own").iterdir()) == []
        assert store.next_number == 1


def test_the_store_of_format_1_still_opens():
    old = Path(__file__).parent / "old_files" / "format_1"

    with open_store(old, writable=False) as store:
        found = all_of(store)

        assert store.notices == ()
        assert [r.kind for r in sorted(found, key=lambda r: (r.device, r.number))] == [
            "concern", "walk_start", "note", "photo", "", "answer",
        ]  # fmt: skip
        assert store.photo_names() == (
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad.png",
        )
        assert store.checklist("ab" * 32) == {"stream.toml": b"# invented\n"}
        assert store.place() == {"walk": WALK}


def test_a_store_of_format_1_becomes_one_of_the_present_format_when_it_is_written_to(tmp_path):
    folder = tmp_path / "store"
    shutil.copytree(Path(__file__).parent / "old_files" / "format_1", folder)
    before = json.loads((folder / "store.json").read_text(encoding="ascii"))

    with open_store(folder, writable=False):
        assert json.loads((folder / "store.json").read_text(encoding="ascii")) == before
    with open_store(folder) as store:
        device = store.device
    after = json.loads((folder / "store.json").read_text(encoding="ascii"))

    assert (before["format"], after["format"]) == (1, FORMAT)
    assert before["device"] == after["device"] == device


def test_the_store_of_format_2_still_opens():
    with open_store(Path(__file__).parent / "old_files" / "format_2", writable=False) as store:
        found = all_of(store)

        assert store.notices == ()
        assert [r.kind for r in sorted(found, key=lambda r: r.number)] == ["concern", "suspect_range"]
        assert store.place() == {"by": "QE-RT"}
