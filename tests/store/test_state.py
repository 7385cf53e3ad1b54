"""The state of a concern: another one as soon as it has one more record, the same until then."""

from __future__ import annotations

from tests.store.support import (
    CONCERN,
    OTHER_DEVICE,
    OTHER_WALK,
    begin_walk,
    make_id,
    note,
    open_store,
    own_journal,
)
from walkapp.store.opening import SEARCH_FILE


def test_every_new_record_of_a_concern_changes_its_state_and_nothing_else_does(tmp_path):
    with open_store(tmp_path / "store") as store:
        begin_walk(store, 2)
        seen = [store.state_of(CONCERN)]
        assert store.state_of(CONCERN) == seen[0]
        store.append(note(5))
        seen.append(store.state_of(CONCERN))
        store.append(note(6, walk=OTHER_WALK))
        seen.append(store.state_of(CONCERN))
        came = note(1, device=OTHER_DEVICE, key=7001)
        store.merge([came], name="other", photos={}, checklists={})
        seen.append(store.state_of(CONCERN))

        assert len(set(seen)) == len(seen)
        store.append(note(7, walk=make_id(50), concern=make_id(51)))
        assert store.state_of(CONCERN) == seen[-1]
    with open_store(tmp_path / "store", writable=False) as again:
        assert again.state_of(CONCERN) == seen[-1]


def test_a_journal_that_was_altered_from_outside_is_another_state(tmp_path):
    with open_store(tmp_path / "store") as store:
        begin_walk(store, 2)
        before = store.state_of(CONCERN)
    path = own_journal(tmp_path / "store")
    path.write_bytes(path.read_bytes().replace(b"clamp", b"CLAMP"))

    with open_store(tmp_path / "store", writable=False) as store:
        assert store.state_of(CONCERN) != before


def test_the_index_beside_a_store_is_nothing_strange_and_stays_through_openings(tmp_path):
    folder = tmp_path / "store"
    folder.mkdir()
    (folder / SEARCH_FILE).write_bytes(b"from an earlier store")

    with open_store(folder) as store:
        begin_walk(store, 1)
        assert not [finding for finding in store.check().findings if SEARCH_FILE in finding.text]
        assert store.search_file.read_bytes() == b"from an earlier store"


def test_a_half_written_index_is_removed_at_the_next_opening(tmp_path):
    with open_store(tmp_path / "store"):
        pass
    half = tmp_path / "store" / f".{SEARCH_FILE}.123.tmp"
    half.write_bytes(b"half")

    with open_store(tmp_path / "store") as store:
        assert not half.exists()
        assert store.notices == ()
