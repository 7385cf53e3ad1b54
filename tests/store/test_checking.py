"""The check of a whole store: each damage is named once, with what to do, and a sound store passes."""

from __future__ import annotations

import json
import threading
from pathlib import Path

import pytest

from tests.store.support import (
    CONCERN,
    DEVICE,
    OTHER_DEVICE,
    OTHER_WALK,
    WALK,
    answer,
    begin_walk,
    note,
    open_store,
    own_journal,
    photo,
    tree,
    walk_start,
)
from walkapp.files import sha256_of, sha256_of_files
from walkapp.model.records import WalkStart, record_to_plain
from walkapp.store import CheckReport

FILES = {"stream.toml": b"# invented\n"}
DIGEST = sha256_of_files(FILES)
PICTURE = b"\x89PNG invented"
NAME = sha256_of(PICTURE) + ".png"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sound store with two walks, a picture and a checklist."""
    made = tmp_path / "store"
    with open_store(made) as store:
        begin_walk(store, 3)
        store.add_photo(NAME, PICTURE)
        store.append(photo(6, sha256_of(PICTURE)))
        store.keep_checklist(DIGEST, FILES)
        second = record_to_plain(walk_start(7, key=3, walk=OTHER_WALK))
        second.pop("kind")
        store.append(WalkStart(**{**second, "replaces": (), "checklist": DIGEST}))
        store.append(answer(8, walk=OTHER_WALK))
    # The sample's first walk names a checklist that is not there.
    _replace(own_journal(made), "ab" * 32, DIGEST)
    return made


def _replace(journal: Path, before: str, after: str) -> None:
    """Change every record of a journal and give its lines the right checksums."""
    from walkapp.store.lines import decode_line, encode_line

    lines = journal.read_bytes().replace(before.encode(), after.encode()).splitlines()
    journal.write_bytes(b"".join(encode_line(json.loads(line[9:])) for line in lines))
    decode_line(journal.read_bytes().splitlines()[0])


def check(folder: Path, *, writable: bool = False) -> CheckReport:
    with open_store(folder, writable=writable) as store:
        return store.check()


def said(report: CheckReport) -> list[tuple[str, str]]:
    return [(finding.kind, finding.text) for finding in report.findings]


def test_a_sound_store_passes_and_is_counted(folder):
    before = tree(folder)
    steps: list[tuple[int, int]] = []
    with open_store(folder, writable=False) as store:
        report = store.check(lambda done, total: steps.append((done, total)))

    assert report == CheckReport(findings=(), entries=8, photos=1, checklists=1)
    assert report.is_sound
    assert [done for done, _ in steps] == [1, 2, 3, 4, 5, 6, 7]
    assert steps[-1] == (7, 7)
    assert before == tree(folder)


def test_an_empty_store_passes(tmp_path):
    with open_store(tmp_path / "new") as store:
        assert store.check() == CheckReport(findings=(), entries=0, photos=0, checklists=0)


def test_a_damaged_line_is_named_with_file_line_and_numbers(folder):
    path = own_journal(folder)
    path.write_bytes(path.read_bytes().replace(b'"number":4', b'"number":7'))

    report = check(folder)

    (found,) = report.findings
    where = f"journals/own/{WALK}.journal"
    assert (found.kind, found.file, found.line, found.device, found.numbers) == (
        "line", where, 4, DEVICE, ((4, 4),),
    )  # fmt: skip
    assert found.text == (
        f"{where}, line 4 is damaged (the checksum does not match): running number 4 cannot be read; all "
        "other entries are kept, merge a bundle that has this entry, or make it again."
    )
    assert not report.is_sound
    assert report.entries == 7


def test_a_damaged_line_in_a_merged_journal_is_named(folder):
    with open_store(folder) as store:
        others = [note(n, device=OTHER_DEVICE, key=5000 + n) for n in range(1, 5)]
        store.merge(others, name="b", photos={}, checklists={})
    path = folder / "journals" / "merged" / "b" / f"{WALK}.journal"
    path.write_bytes(path.read_bytes().replace(b'"number":2', b'"number":9'))

    (found,) = check(folder).findings

    assert (found.kind, found.file, found.line) == ("line", f"journals/merged/b/{WALK}.journal", 3)
    assert (found.device, found.numbers) == (OTHER_DEVICE, ((2, 2),))


def test_an_unfinished_end_is_a_fault_as_long_as_nobody_writes_there(folder):
    with own_journal(folder).open("ab") as file:
        file.write(b"half a line")

    assert [kind for kind, _ in said(check(folder))] == ["opening"]
    with open_store(folder):
        # Set aside now, and said once.
        pass
    assert check(folder).is_sound


def test_a_damaged_and_a_missing_picture_are_told_with_their_entry(folder):
    path = folder / "photos" / NAME
    path.write_bytes(b"\x89PNG invanted")
    assert said(check(folder)) == [
        (
            "photo",
            (
                f"photos/{NAME} is damaged (its content is not what its name says): the entry with number "
                "6 of this tablet is kept; merge a bundle that has this picture, or take it again."
            ),
        )
    ]

    path.unlink()
    assert said(check(folder)) == [
        (
            "photo",
            (
                f"photos/{NAME} is missing: the entry with number 6 of this tablet names it; merge "
                "a bundle that has this picture, or take it again."
            ),
        )
    ]


def test_what_the_check_asks_for_mends_a_picture_and_a_checklist(folder):
    (folder / "photos" / NAME).write_bytes(b"")
    (folder / "checklists" / DIGEST / "stream.toml").write_bytes(b"")
    good = folder.parent / "good.png"
    good.write_bytes(PICTURE)

    with open_store(folder) as store:
        assert not store.check().is_sound
        store.merge([], name="b", photos={NAME: good}, checklists={DIGEST: FILES})

    assert check(folder).is_sound


def test_a_picture_that_no_entry_names_is_kept_and_is_no_fault(folder):
    other = sha256_of(b"other") + ".jpg"
    with open_store(folder) as store:
        store.add_photo(other, b"other")

        report = store.check()

    assert said(report) == [
        (
            "orphan",
            f"photos/{other} is named by no entry: it is kept; look whether an entry has to be made again.",
        )
    ]
    assert report.is_sound
    assert (folder / "photos" / other).is_file()


def test_a_picture_whose_entry_is_saved_during_the_check_is_no_orphan(folder):
    data = b"taken during the check"
    with open_store(folder) as store:
        store.add_photo(sha256_of(data) + ".png", data)
        running = store.begin_check()
        for _ in range(3):
            running.step()
        store.append(photo(9, sha256_of(data)))
        while running.step():
            pass

    assert running.report().findings == ()


@pytest.mark.parametrize("damage", ["changed", "file gone", "file more"])
def test_a_damaged_checklist_is_told(folder, damage):
    kept = folder / "checklists" / DIGEST
    match damage:
        case "changed":
            (kept / "stream.toml").write_bytes(b"# invanted\n")
        case "file gone":
            (kept / "stream.toml").unlink()
        case _:
            (kept / "more.toml").write_bytes(b"")

    assert said(check(folder)) == [
        (
            "checklist",
            (
                f"checklists/{DIGEST} is damaged (its content is not what its name says): no walk or "
                "audit is worked out with it; merge a bundle that has this checklist."
            ),
        )
    ]


def test_a_missing_checklist_is_told_once(folder):
    (folder / "checklists" / DIGEST / "stream.toml").unlink()
    (folder / "checklists" / DIGEST).rmdir()

    assert said(check(folder)) == [
        (
            "checklist",
            (
                f"checklists/{DIGEST} is missing: the walk begun with number 2 of this tablet needs it; "
                "merge a bundle that has this checklist."
            ),
        )
    ]


def test_a_file_that_cannot_be_read_is_told_and_the_rest_is_checked(folder):
    path = folder / "photos" / NAME
    path.unlink()
    path.mkdir()
    (folder / "checklists" / DIGEST / "stream.toml").write_bytes(b"")

    kinds = [kind for kind, _ in said(check(folder))]

    assert sorted(kinds) == ["checklist", "file", "photo"]


def test_a_journal_that_is_gone_leaves_numbers_that_are_told(folder):
    own_journal(folder, OTHER_WALK).unlink()
    with open_store(folder) as store:
        # Number 8 was the newest; that it was given cannot be known any more.
        store.append(note(7))
        store.append(note(8))
    own_journal(folder, CONCERN).unlink()

    report = check(folder)

    assert said(report) == [
        (
            "number",
            (
                "Running number 1 of this tablet is in no journal: merge a bundle that has what is "
                "missing, or make it again."
            ),
        )
    ]
    assert not report.is_sound


def test_entries_of_another_tablet_that_have_not_arrived_are_no_fault(folder):
    with open_store(folder) as store:
        numbers = [2, 3, *range(10, 40, 2)]
        others = [note(n, device=OTHER_DEVICE, key=5000 + n) for n in numbers]
        store.merge(others, name="b", photos={}, checklists={})

        report = store.check()

        assert said(report) == [
            (
                "not_received",
                (
                    "Running numbers 1, 4 to 9, 11, 13, 15, 17, 10 more of tablet "
                    f"{OTHER_DEVICE[-6:]} are not here: nothing is damaged; merge a newer bundle of it to "
                    "have them."
                ),
            )
        ]
        assert report.is_sound
        assert store.notices == ()


def test_huge_running_numbers_cost_no_memory(folder):
    with open_store(folder) as store:
        others = [note(n, device=OTHER_DEVICE, key=5000 + n % 999) for n in (1, 2, 10**9)]
        store.merge(others, name="b", photos={}, checklists={})
    path = folder / "journals" / "merged" / "b" / f"{WALK}.journal"
    path.write_bytes(path.read_bytes().replace(b'"number":2,', b'"number":3,'))

    (found,) = check(folder).findings

    assert found.numbers == ((2, 10**9 - 1),)


def test_the_findings_join_the_notices_once(folder):
    path = own_journal(folder)
    path.write_bytes(path.read_bytes().replace(b'"number":4', b'"number":7'))
    (folder / "photos" / NAME).unlink()
    with open_store(folder) as store:
        store.records(WALK)

        texts = [text for _, text in said(store.check())]
        store.check()

        assert sorted(texts) == sorted(store.notices)
    assert [p.name[:36] for p in (folder / "aside").iterdir()] == [WALK]


def test_entries_saved_during_the_check_are_not_called_missing(folder):
    with open_store(folder) as store:
        running = store.begin_check()
        more = True
        while more:
            more = running.step()
            store.append(note(store.next_number))

        assert running.report().findings == ()


def test_a_tap_never_waits_for_a_file_to_be_read(folder):
    """While a piece reads a journal that does not end, an entry is saved all the same."""
    with open_store(folder) as store:
        reading, go_on = threading.Event(), threading.Event()
        scan_file = store._archive.scan_file

        def slow_scan(path, length):
            reading.set()
            assert go_on.wait(20)
            return scan_file(path, length)

        store._archive.scan_file = slow_scan
        running = store.begin_check()
        worker = threading.Thread(target=running.step)
        worker.start()
        assert reading.wait(20)
        store.append(note(9))  # Would wait for ever if the piece held the lock.
        go_on.set()
        worker.join()

        assert store.next_number == 10
