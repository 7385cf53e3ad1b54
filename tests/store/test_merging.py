"""Merging is the union of sets: any order, any repeats, all or nothing."""

from __future__ import annotations

import errno
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
    FailingDisk,
    HastyDisk,
    all_of,
    begin_walk,
    concern,
    failing_once,
    make_id,
    note,
    open_store,
    tree,
)
from walkapp.errors import PhotoError, StoreError
from walkapp.files import sha256_of
from walkapp.model.records import HEADER, CarriedRecord
from walkapp.store import MergeReport


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "store"


def _others(*numbers: int, **more) -> list:
    return [note(n, device=OTHER_DEVICE, key=5000 + n, **more) for n in numbers]


def _merge(store, records, name="tablet 2", photos=None, checklists=None) -> MergeReport:
    return store.merge(records, name=name, photos=photos or {}, checklists=checklists or {})


def test_a_merge_adds_what_is_not_here(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 1)
        store.records(WALK)

        report = _merge(store, [*_others(1, 2), saved[2]])

        assert (report.new, report.known, report.twins, report.clashes) == (2, 1, 0, 0)
        assert {*saved[1:], *_others(1, 2)} == set(store.records(WALK))
        assert store.next_number == 4
    with open_store(folder) as again:
        assert {*saved, *_others(1, 2)} == set(all_of(again))
        assert again.next_number == 4
        assert again.notices == ()


def test_merging_twice_changes_nothing(folder):
    with open_store(folder) as store:
        _merge(store, _others(1, 2))
        before = tree(folder)

        report = _merge(store, _others(2, 1, 1))

        assert (report.new, report.known) == (0, 3)
        assert before == tree(folder)


def test_merging_brings_walks_that_were_not_known(folder):
    with open_store(folder) as store:
        _merge(store, [concern(1, device=OTHER_DEVICE), *_others(2, walk=OTHER_WALK)])

        assert store.concerns() == (CONCERN,)
        assert store.walks(CONCERN) == (OTHER_WALK,)
        assert store.records(OTHER_WALK) == tuple(_others(2, walk=OTHER_WALK))
    with open_store(folder, writable=False) as again:
        assert again.walks(CONCERN) == (OTHER_WALK,)


def test_the_same_id_with_other_content_is_kept_beside_and_counted(folder):
    one, two = note(1, "one", device=OTHER_DEVICE), note(1, "two", device=OTHER_DEVICE)
    with open_store(folder) as store:
        _merge(store, [one])

        report = _merge(store, [two])

        assert (report.new, report.twins, report.clashes) == (1, 1, 0)
        assert {one, two} == set(store.records(WALK))


def test_one_number_for_two_records_is_a_clash(folder):
    with open_store(folder) as store:
        begin_walk(store, 1)

        report = _merge(store, [note(3, "of a copied tablet", key=6000)])

        assert (report.new, report.clashes, report.twins) == (1, 1, 0)
        assert store.next_number == 4


def test_records_of_this_tablet_that_come_back_are_counted_on(folder):
    with open_store(folder) as store:
        store.append(note(1))
        _merge(store, [note(2), note(7)])

        assert store.next_number == 8
    with open_store(folder) as again:
        assert again.next_number == 8
        again.append(note(8))
        assert again.missing_numbers() == {DEVICE: ((3, 6),)}


def test_two_concerns_that_claim_one_walk_are_both_listed(folder):
    with open_store(folder) as store:
        _merge(store, [*_others(1), note(2, device=OTHER_DEVICE, concern=make_id(44))])

    with open_store(folder) as again:
        assert again.concerns() == (CONCERN, make_id(44))
        assert again.walks(make_id(44)) == (WALK,)
        assert len(again.records(WALK)) == 2


def test_photos_and_checklists_come_with_the_records(folder, tmp_path):
    picture = tmp_path / "picture"
    picture.write_bytes(b"invented")
    name = sha256_of(b"invented") + ".jpg"
    files = {"stream.toml": b"x"}
    with open_store(folder) as store:
        first = _merge(store, _others(1), photos={name: picture}, checklists={"ab" * 32: files})
        second = _merge(store, _others(1), photos={name: picture}, checklists={"ab" * 32: files})

        assert (first.photos, first.checklists) == (1, 1)
        assert (second.photos, second.checklists) == (0, 0)
        assert store.photo_path(name).read_bytes() == b"invented"
        assert files == store.checklist("ab" * 32)


def test_a_wrong_photo_stops_the_merge_before_any_record(folder, tmp_path):
    picture = tmp_path / "picture"
    picture.write_bytes(b"changed on the way")
    with open_store(folder) as store:
        with pytest.raises(PhotoError):
            _merge(store, _others(1), photos={"0" * 64 + ".jpg": picture})
        with pytest.raises(StoreError, match="merge was not done"):
            _merge(store, _others(1), photos={"0" * 64 + ".jpg": tmp_path / "missing"})

        assert all_of(store) == []


def test_any_name_gives_a_folder_inside_the_store(folder):
    with open_store(folder) as store:
        for n, name in enumerate(["../../evil", "nul", "", "Prüfstand 3", "x" * 300, "x" * 300], start=1):
            _merge(store, _others(n), name=name)

    assert len(list((folder / "journals" / "merged").iterdir())) == 6
    with open_store(folder) as again:
        assert len(again.records(WALK)) == 6


def test_an_error_at_any_operation_leaves_all_of_a_merge_or_none(tmp_path):
    arriving = [*_others(1, 2), *_others(3, walk=OTHER_WALK)]
    for n in range(1, 60):
        folder = tmp_path / str(n)
        with open_store(folder, disk=HastyDisk()) as store:
            saved = begin_walk(store, 1)
        disk = FailingDisk(failing_once(n, errno.EIO), halves=True)
        try:
            store = open_store(folder, disk=disk)
        except StoreError:
            continue
        with store:
            try:
                _merge(store, arriving)
            except StoreError as error:
                assert "nothing saved before is lost" in str(error)
                assert set(saved) == set(all_of(store))
            else:
                assert {*saved, *arriving} == set(all_of(store))
        with open_store(folder) as again:
            assert set(all_of(again)) in ({*saved}, {*saved, *arriving})
            _merge(again, arriving)
            assert {*saved, *arriving} == set(all_of(again))
        if disk.count < n:
            return
    pytest.fail("the merge never got through")


@pytest.mark.parametrize(
    ("digest", "file", "problem"),
    [
        ("../../../evil", "stream.toml", "is not a checklist"),
        ("ab" * 32, "../evil.toml", "is not a safe file name"),
        ("ab" * 32, "nul", "is not a safe file name"),
    ],
)
def test_a_checklist_that_would_lie_elsewhere_is_refused_before_anything_is_written(
    folder, digest, file, problem
):
    with open_store(folder) as store:
        before = tree(folder.parent)
        with pytest.raises(ValueError, match=problem):
            _merge(store, _others(1), checklists={digest: {file: b"x"}})

        assert tree(folder.parent) == before
        assert all_of(store) == []


def test_a_parcel_whose_name_leads_elsewhere_is_refused(folder):
    with (
        open_store(folder) as store,
        store.intake() as intake,
        pytest.raises(ValueError, match="is not a safe file name"),
    ):
        intake.stage(_others(1), name="../evil", photos={}, checklists={})


class ReadCountingDisk(HastyDisk):
    """Counts how often a journal is read."""

    def __init__(self):
        self.reads = 0

    def read(self, path, start=0, size_bytes=-1):
        self.reads += path.suffix == ".journal"
        return super().read(path, start, size_bytes)


def test_a_run_of_many_merges_reads_the_store_once(folder):
    with open_store(folder) as store:
        begin_walk(store, 2)
    disk = ReadCountingDisk()
    with open_store(folder, disk=disk) as store:
        before = disk.reads
        with store.intake() as intake:
            for n in range(1, 9):
                intake.stage(_others(n), name=f"{n}", photos={}, checklists={})
            intake.take_in()

        assert disk.reads - before == 2  # the concern's journal and the walk's
        assert [report.new for report in intake.taken] == [1] * 8
        assert set(_others(*range(1, 9))) <= set(all_of(store))


def test_what_is_laid_ready_and_not_taken_in_leaves_nothing(folder, tmp_path):
    with open_store(folder) as store:
        begin_walk(store, 1)
        before = tree(folder)
        with store.intake() as intake:
            intake.stage(_others(1, 2), name="x", photos={}, checklists={"ab" * 32: {"stream.toml": b"x"}})

        assert tree(folder) == before
        assert not (folder / "journals" / "incoming-parcels").exists()
        assert len(all_of(store)) == 3


def test_a_record_that_an_older_version_carried_is_known_by_what_it_is_now(folder):
    now = note(1, device=OTHER_DEVICE)
    cells = (("station", now.station), ("words", now.words))
    header = {name: getattr(now, name) for name in HEADER}
    with open_store(folder) as store:
        _merge(store, [CarriedRecord(**header, carried_kind="note", cells=cells)])
    with open_store(folder) as again:
        report = _merge(again, [now])

        assert (report.new, report.known, report.twins) == (0, 1, 0)
        assert all_of(again) == [now]


def test_an_entry_whose_line_is_damaged_comes_back_with_a_merge(folder):
    with open_store(folder) as store:
        saved = begin_walk(store, 3)
    journal = folder / "journals" / "own" / f"{WALK}.journal"
    lines = journal.read_bytes().splitlines(keepends=True)
    lines[2] = lines[2].replace(b"clamp", b"clomp")
    journal.write_bytes(b"".join(lines))
    with open_store(folder) as again:
        report = _merge(again, saved)

        assert (report.new, report.known) == (1, len(saved) - 1)
        assert set(all_of(again)) == set(saved)


_RECORDS = st.builds(
    lambda n, words, device, walk: note(n, words, device=device, key=3000 + n, walk=walk),
    st.integers(1, 5),
    st.sampled_from(["a", "b"]),
    st.sampled_from([OTHER_DEVICE, make_id(902)]),
    st.sampled_from([WALK, OTHER_WALK, ""]),
)


@settings(max_examples=60, deadline=None)
@given(parts=st.lists(st.lists(_RECORDS, max_size=4), max_size=4), data=st.data())
def test_any_order_and_repetition_of_merges_gives_the_same(tmp_path_factory, parts, data):
    root = tmp_path_factory.mktemp("any")
    shuffled = data.draw(st.permutations([*parts, *parts[:1]]))
    found = []
    for name, order in (("one", parts), ("other", shuffled)):
        with open_store(root / name, disk=HastyDisk()) as store:
            for part in order:
                _merge(store, part)
            in_memory = all_of(store)
        with open_store(root / name, disk=HastyDisk()) as again:
            found.append(all_of(again))
        assert in_memory == found[-1]

    assert found[0] == found[1]
    assert {r for part in parts for r in part} == set(found[0])
    assert len(found[0]) == len(set(found[0]))
