"""A merge that is stopped has merged each bundle whole or not at all, and the same call goes on."""

from __future__ import annotations

import pytest

from tests.merging.fleet import Tablet
from tests.merging.stopping import piecemeal, sample_bundles, stop_and_go_on, unstopped
from walkapp.actions.merging import MergeStoppedError, merge_bundles


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sample")
    bundles = sample_bundles(folder, 3, records=4)
    return bundles, *unstopped(folder / "whole", bundles)


def test_a_stop_at_any_operation_of_the_disk_leaves_whole_bundles(sample, tmp_path):
    bundles, wanted, operations, _ = sample
    found = [
        stop_and_go_on(tmp_path / f"{n}", bundles, wanted, at_operation=n) for n in range(0, operations, 2)
    ]
    assert all(one.was_stopped for one in found)
    assert {one.merged for one in found} >= {0, 1, 2}
    assert not stop_and_go_on(tmp_path / "last", bundles, wanted, at_operation=operations).was_stopped


def test_a_stop_at_any_record_or_picture_leaves_whole_bundles(sample, tmp_path):
    bundles, wanted, _, steps = sample
    for n in range(1, steps + 1, 9):
        assert stop_and_go_on(tmp_path / f"{n}", bundles, wanted, at_step=n).was_stopped


def test_control_a_merge_of_record_after_record_is_caught(sample, tmp_path):
    bundles, wanted, _, _ = sample
    with pytest.raises(AssertionError, match="was merged in part"):
        stop_and_go_on(tmp_path / "store", bundles, wanted, at_step=3, merge=piecemeal)


@pytest.mark.parametrize(
    ("merged", "said"),
    [
        (0, "no bundle is merged; the same call goes on with the rest"),
        (2, "2 of 3 bundles are merged, each whole; the same call goes on with the rest"),
        (3, "3 of 3 bundles are merged, each whole"),
    ],
)
def test_the_sentence_says_what_was_merged_and_how_to_go_on(merged, said):
    assert str(MergeStoppedError([None] * merged, 3)) == f"Stopped: {said}."


def test_a_store_can_be_used_further_after_a_stop(sample, tmp_path):
    bundles, wanted, _, _ = sample
    tablet = Tablet(tmp_path / "store", 0)
    tablet.disk.left = 20
    with pytest.raises(MergeStoppedError):
        merge_bundles(tablet.place, bundles)
    tablet.disk.left = None

    merge_bundles(tablet.place, bundles)

    assert tuple(tablet.records) == wanted.records
    tablet.close()
