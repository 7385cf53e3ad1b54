"""Store folders in which something is not what it should be: one sentence, or every entry all the same."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.store.support import (
    CONCERN,
    OTHER_WALK,
    WALK,
    all_of,
    begin_walk,
    note,
    open_store,
    own_journal,
    tree,
)
from walkapp.errors import StoreError


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "store"
    with open_store(made) as store:
        begin_walk(store, 2)
        store.remember({"walk": WALK})
    return made


def _swap(path: Path) -> None:
    """Put a folder where a file was, or a file where a folder was."""
    if path.is_dir():
        shutil.rmtree(path)
        path.write_bytes(b"")
    else:
        path.unlink()
        path.mkdir()


@pytest.mark.parametrize("name", ["store.json", "lock", "journals", "journals/own", "photos", "aside"])
def test_a_file_and_a_folder_that_changed_places_are_told_in_one_sentence(folder, name):
    _swap(folder / name)

    with pytest.raises(StoreError) as refused:
        open_store(folder)

    said = str(refused.value)
    assert said.startswith(f"The store could not be opened: {folder} cannot be used (")
    assert said.endswith("); mend that and try again; nothing saved before is lost.")
    assert "\n" not in said


@pytest.mark.parametrize("name", ["ballast", "place.json", "journals/merged"])
def test_what_holds_no_entry_of_this_tablet_does_not_keep_the_store_from_being_read(folder, name):
    _swap(folder / name)

    with open_store(folder, writable=False) as store:
        assert [record.number for record in store.records(WALK)] == [2, 3, 4]
        assert store.place() == ({} if name == "place.json" else {"walk": WALK})


def test_a_journal_that_became_a_folder_is_told_and_other_walks_go_on(folder):
    _swap(own_journal(folder))

    with open_store(folder) as store:
        assert [record.number for record in all_of(store)] == [1]
        with pytest.raises(StoreError) as refused:
            store.append(note(2))
        assert str(refused.value) == (
            f"The entry was not saved: {folder} cannot be used (Is a directory); mend that and try again; "
            "nothing saved before is lost."
        )
        store.append(note(2, walk=OTHER_WALK))
    with open_store(folder) as again:
        assert [record.number for record in again.records(OTHER_WALK)] == [2]


def test_an_empty_journal_holds_nothing_and_is_written_again(folder):
    path = own_journal(folder)
    path.write_bytes(b"")

    with open_store(folder) as store:
        assert store.records(WALK) == ()
        store.append(note(2))
    with open_store(folder) as again:
        assert [record.number for record in again.records(WALK)] == [2]
        assert again.notices == ()


def test_a_store_that_is_not_there_is_made_to_be_written_and_refused_to_be_read(tmp_path):
    missing = tmp_path / "a" / "b" / "store"
    with pytest.raises(StoreError) as refused:
        open_store(missing, writable=False)
    assert str(refused.value) == (
        f"{missing} is not a store: choose the folder that the app keeps its records in."
    )

    with open_store(missing) as store:
        begin_walk(store, 1)

    assert "store.json" in tree(missing)


def test_links_to_journals_are_read_like_files(folder):
    """A store that was moved to another medium and linked back."""
    moved = shutil.move(folder / "journals", folder.parent / "moved")
    (folder / "journals").symlink_to(moved, target_is_directory=True)

    with open_store(folder) as store:
        assert store.concerns() == (CONCERN,)
        store.append(note(5))
        assert len(store.records(WALK)) == 4
