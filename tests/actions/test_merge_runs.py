"""Merging at the desk: which bundles are found, each by itself, stopped, refused, and told again."""

from __future__ import annotations

import json
import zipfile
from dataclasses import replace

import pytest

from tests.arrivals import Arrivals
from tests.builders import record_id
from walkapp.actions.merge_notes import (
    MOST_RUNS,
    MOST_TOLD,
    REST,
    MergeRun,
    Outcome,
    keep_run,
    merge_runs,
    with_most,
)
from walkapp.actions.merge_runs import MergeWork, find_bundles
from walkapp.actions.merging import merge_bundles
from walkapp.actions.reading import concern_facts


@pytest.fixture
def arrivals(tmp_path):
    return Arrivals(tmp_path / "others", tmp_path / "inbox")


def found_here(desk, arrivals):
    return {one.path.name: one for one in find_bundles(desk.place, (arrivals.inbox,)).bundles}


def test_bundles_are_found_with_tablet_day_and_whether_they_are_merged(desk, arrivals):
    (arrivals.inbox / "notes.txt").write_text("no zip")
    with zipfile.ZipFile(arrivals.inbox / "holiday.zip", "w") as other:
        other.writestr("a.txt", "a")
    arrivals.spoil(arrivals.of_ben)
    merge_bundles(desk.place, (arrivals.of_ann,))

    found = find_bundles(desk.place, (arrivals.inbox, arrivals.inbox / "missing"))

    by_name = {one.path.name: one for one in found.bundles}
    assert found.others == 1 and found.left_out == 0
    assert by_name["ann.zip"].is_merged and not by_name["ben.zip"].is_merged
    assert by_name["ben.zip"].label.tablets == (arrivals.ann,)
    assert by_name["ben.zip"].label.day == "2026-03-03"
    assert by_name["ben.zip"].label.size_bytes == arrivals.of_ben.stat().st_size


def test_a_run_says_for_each_bundle_what_came_in_and_what_was_here(desk, arrivals):
    work = MergeWork((arrivals.of_ann, arrivals.of_ben))

    run = work.work(desk.place)

    ann, ben = run.outcomes
    assert not work.is_running and work.done == work.total > 0
    assert ann.by_kind == {"answer": 41, "concern": 1, "walk_start": 1} and ann.known == 0
    assert ben.by_kind == {"answer": 1} and ben.known == 42
    assert (ben.by_tablet, ann.by_tablet) == ({arrivals.ben: 1}, {arrivals.ann: 43})
    assert ann.new_concerns == {arrivals.concern: 43} and ben.known_concerns == {arrivals.concern: 1}
    assert ann.checklists == 1 and ann.photos == 0
    assert (ann.disputes, ben.disputes) == ({}, {arrivals.concern: 1})
    assert ann.origin == "Not signed."
    assert len(concern_facts(desk.place, arrivals.concern).conflicts) == 1


def test_what_one_run_brings_is_what_the_command_brings(desk, arrivals, tmp_path):
    MergeWork((arrivals.of_ben, arrivals.of_ann)).work(desk.place)

    here = {record.id for record in desk.records}
    merge_bundles(desk.place, (arrivals.of_ann, arrivals.of_ben))
    assert {record.id for record in desk.records} == here


def test_a_bundle_that_is_refused_keeps_no_other_one_out(desk, arrivals):
    spoilt = arrivals.spoil(arrivals.of_ann)

    run = MergeWork((spoilt, arrivals.of_ben, arrivals.inbox / "gone.zip")).work(desk.place)

    assert [one.is_merged for one in run.outcomes] == [False, True, False]
    assert run.outcomes[0].refused.startswith("spoilt-ann.zip")
    assert "is not there" in run.outcomes[2].refused
    assert len(desk.records) == 43


def test_a_run_that_is_stopped_keeps_whole_bundles_and_nothing_of_the_rest(desk, arrivals):
    class Watched(MergeWork):
        """Stops in the middle of the second bundle."""

        @property
        def done(self):
            return self._done

        @done.setter
        def done(self, value):
            self._done = value
            if getattr(self, "at_name", "") == "ben.zip" and value > 0.75 * self.total:
                self.stop()

    work = Watched((arrivals.of_ann, arrivals.of_ben))
    run = work.work(desk.place)

    assert run.is_stopped
    assert [one.is_left for one in run.outcomes] == [False, True]
    assert {r.device for r in desk.records} == {arrivals.ann}
    again = MergeWork((arrivals.of_ann, arrivals.of_ben)).work(desk.place)
    assert [one.new for one in again.outcomes] == [0, 1]


def test_the_steps_only_rise_and_end_at_the_whole(desk, arrivals):
    seen = []

    class Watched(MergeWork):
        """Keeps every step."""

        def __setattr__(self, name, value):
            super().__setattr__(name, value)
            if name == "done":
                seen.append(value)

    work = Watched((arrivals.of_ann, arrivals.of_ben))
    work.work(desk.place)

    assert seen == sorted(seen) and seen[-1] == work.total and len(set(seen)) > 50


def test_a_bundle_that_brought_nothing_new_is_known_as_merged_all_the_same(desk, arrivals, tmp_path):
    older = tmp_path / "others" / "first.zip"
    MergeWork((arrivals.of_ann,)).work(desk.place)

    run = MergeWork((older,)).work(desk.place)

    (found,) = find_bundles(desk.place, (older.parent,)).bundles
    assert run.outcomes[0].new == 0 and found.is_merged


def test_a_changed_key_is_asked_for_and_trusted_only_with_its_digits(desk, tmp_path):
    pytest.importorskip("cryptography")
    first = Arrivals(tmp_path / "others", tmp_path / "inbox", secret=b"1" * 32)
    MergeWork((first.of_ann,)).work(desk.place)
    anew = Arrivals(tmp_path / "anew", tmp_path / "new", secret=b"2" * 32)  # the same ids

    run = MergeWork((anew.of_ann,)).work(desk.place)

    (outcome,) = run.outcomes
    label = found_here(desk, anew)["ann.zip"].label
    assert outcome.asks_key == label.signed.fingerprint and "signed until now" in outcome.refused
    trusting = MergeWork((anew.of_ann,), {anew.of_ann: outcome.asks_key}).work(desk.place)
    assert trusting.outcomes[0].is_merged and "trusted from now on" in trusting.outcomes[0].origin


RUN = MergeRun(
    at="2026-03-03T06:20:00.000+01:00",
    outcomes=(
        Outcome(
            name="=1+1.zip", digest="0" * 64, known=3, by_kind={"answer": 2}, minds=("a", "b"), origin="x"
        ),
        Outcome(name="b.zip", refused="b.zip is damaged.", asks_key="12 34"),
    ),
    trouble="The disk is full.",
    is_stopped=True,
)


def test_a_report_is_read_again_as_it_was_kept(desk):
    keep_run(desk.place, RUN)

    assert merge_runs(desk.place) == (RUN,)


def test_only_the_newest_reports_are_kept(desk):
    for second in range(MOST_RUNS + 5):
        keep_run(desk.place, replace(RUN, at=f"2026-03-03T06:20:{second:02}.000+01:00"))

    kept = merge_runs(desk.place)
    assert [run.at[17:19] for run in kept] == [f"{n:02}" for n in range(MOST_RUNS + 4, 4, -1)]


def test_of_an_endless_report_the_sums_are_kept(desk):
    concerns = {record_id(n): n for n in range(1, 40)}
    outcome = replace(RUN.outcomes[0], new_concerns=concerns, by_kind={"answer": 5, "note": 2})
    keep_run(desk.place, replace(RUN, outcomes=(outcome,) * 200))

    (run,) = merge_runs(desk.place)
    assert len(run.outcomes) == 200 and run.outcomes[7].new == 7
    assert run.outcomes[7].new_concerns == {REST: sum(concerns.values())}


def test_of_very_many_concerns_those_with_most_records_are_told_by_name():
    told = with_most({f"c{n:03}": n for n in range(1, 101)})

    assert len(told) == MOST_TOLD + 1 and sum(told.values()) == 5050
    assert "c100" in told and "c070" not in told and told[REST] == 70 * 71 // 2


@pytest.mark.parametrize(
    "told",
    ["", "[]", "{}", "null", '{"outcomes": 3}', "[" * 5_000, json.dumps({"at": "then", "outcomes": []}),
     json.dumps({"at": RUN.at, "outcomes": [{}], "trouble": "", "is_stopped": False}),
     json.dumps({"at": RUN.at, "outcomes": [3], "trouble": "", "is_stopped": False})],
)  # fmt: skip
def test_a_note_that_cannot_be_read_says_nothing(desk, told):
    desk.store.remember_merges({RUN.at: told})

    assert merge_runs(desk.place) == ()
