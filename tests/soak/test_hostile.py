"""A share of the long run, and planted faults that the judge has to notice."""

from __future__ import annotations

import hashlib
import os
import warnings

import pytest

from tests.soak.hostile.inputs import FAMILIES
from tests.soak.hostile.judge import Bench, WrongError, clean_sentence
from tests.soak.hostile.running import judge_here, judge_watched, share_out, table
from walkapp.bundle.archive import Archive
from walkapp.bundle.descriptor import Listing
from walkapp.errors import BundleError
from walkapp.store import Intake


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    made = Bench(tmp_path_factory.mktemp("bench"))
    yield made
    made.tidy()


def failures(bench, seed, **counts):
    jobs = [(family, index) for family, count in counts.items() for index in range(count)]
    tallies = judge_here(bench, jobs, seed)
    return [failure for tally in tallies.values() for failure in tally.failures]


def test_spoilt_inputs_are_taken_whole_or_refused_cleanly(bench):
    tallies = judge_here(bench, share_out(500), seed=20260303)

    print("\n".join(table(tallies)))
    assert [failure for tally in tallies.values() for failure in tally.failures] == []
    # Neither everything nor nothing gets through, and the refusals come from many places.
    assert all(tallies[family].accepted for family in FAMILIES)
    assert all(tallies[family].refused for family in FAMILIES if family != "store")
    assert len(set().union(*(tally.refusals for tally in tallies.values()))) > 90


def test_the_same_three_numbers_make_the_same_input(bench):
    made = []
    for _ in range(2):
        bench.inputs.make("packed", 5, 7)
        made.append(hashlib.sha256(bench.inputs.bundle.read_bytes()).digest())
    bench.inputs.make("packed", 5, 8)

    assert made[0] == made[1] != hashlib.sha256(bench.inputs.bundle.read_bytes()).digest()


# Controls


def test_a_reader_that_accepts_a_wrong_hash_is_noticed(bench, monkeypatch):
    def trusting(self, listing: Listing):
        return self.stream(listing.path)

    monkeypatch.setattr(Archive, "stream_checked", trusting)

    lies = [("packed", index) for index in range(700) if bench.inputs.make("packed", 1, index)[1]]
    found = judge_here(bench, lies, seed=1)["packed"].failures

    assert "WrongError: a wrong hash or size was accepted" in {failure.what for failure in found}


def test_a_reader_that_lets_one_kind_of_error_through_is_noticed(bench, monkeypatch):
    monkeypatch.setattr("walkapp.bundle.archive._ZIP_FAULTS", (ValueError,))

    found = failures(bench, 1, raw=60)

    kinds = {failure.what.split(":")[0] for failure in found}
    assert kinds & {"BadZipFile", "error", "EOFError"}


def test_a_reader_that_warns_is_noticed(bench, monkeypatch):
    whole = Archive.names.fget

    def warning(self):
        warnings.warn("a file was left open", ResourceWarning, stacklevel=1)
        return whole(self)

    monkeypatch.setattr(Archive, "names", property(warning))

    assert any("ResourceWarning" in failure.what for failure in failures(bench, 1, packed=10))


def test_a_merge_that_leaves_something_behind_is_noticed(bench, monkeypatch):
    def untidy(self, records, **more):
        (self._beside.parents[1] / "photos" / "left").write_bytes(b"x")
        raise BundleError("walk.zip: is refused.")

    monkeypatch.setattr(Intake, "stage", untidy)

    assert {f.what for f in failures(bench, 1, packed=20)} == {
        "WrongError: refused, and the store changed: walk.zip: is refused."
    }


def test_a_merge_that_loses_a_record_is_noticed(bench, monkeypatch):
    whole = Intake.stage

    def losing(self, records, **more):
        return whole(self, list(records)[1:], **more)

    monkeypatch.setattr(Intake, "stage", losing)

    found = failures(bench, 1, raw=60)

    assert {"WrongError: the store holds other records than the bundle"} == {f.what for f in found}


@pytest.mark.parametrize(
    "said",
    ["two\nlines of walk.zip.", "walk.zip \x1b[2J.", "walk.zip \u202e.", "", "no name.",
     "walk.zip: no stop", "walk.zip " + "x" * 600 + "."],
)  # fmt: skip
def test_a_sentence_that_is_not_clean_is_noticed(said):
    with pytest.raises(WrongError):
        clean_sentence(said, "walk.zip")


def test_a_worker_that_hangs_is_ended_and_the_others_go_on(tmp_path, monkeypatch):
    # The workers are copies of this process, planted fault and all.
    real = Bench.judge

    def hanging(self, family, seed, index):
        while index == 3:
            pass
        return real(self, family, seed, index)

    monkeypatch.setattr(Bench, "judge", hanging)
    monkeypatch.setattr("tests.soak.hostile.running.LONGEST_S", 3.0)

    tallies = judge_watched(tmp_path, [("counts", index) for index in range(8)], seed=1, workers=2)

    assert [(f.index, f.what) for f in tallies["counts"].failures] == [(3, "no answer in 3 s")]
    assert tallies["counts"].inputs == 8


def test_a_worker_that_dies_or_takes_too_much_memory_is_noticed(tmp_path, monkeypatch):
    real = Bench.judge

    def dying(self, family, seed, index):
        if index == 2:
            os._exit(1)
        if index == 4:
            return str(len(bytes(4_000_000_000)))
        return real(self, family, seed, index)

    monkeypatch.setattr(Bench, "judge", dying)

    tallies = judge_watched(tmp_path, [("counts", index) for index in range(8)], seed=1, workers=2)

    told = {failure.index: failure.what for failure in tallies["counts"].failures}
    assert told == {2: "died", 4: "MemoryError: "}
    assert tallies["counts"].inputs == 8
