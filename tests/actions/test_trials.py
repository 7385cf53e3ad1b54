"""Trials on a real store: opened, run, corrected, merged from two tablets, and told."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.trials import FACTORS, PADS, PARTS, Ground
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.parts import part_lines, parts_to_json
from walkapp.actions.reading import concern_facts
from walkapp.actions.summaries import summarise
from walkapp.actions.trial_telling import trial_lines, trials_to_json
from walkapp.actions.trial_work import (
    newest_run,
    open_trial,
    record_run,
    take_back_record,
    undo_run,
)
from walkapp.actions.trials import trial_facts, trials_of
from walkapp.errors import InputError, RecordError
from walkapp.model.records import Trial, TrialFactor, TrialRun, Withdrawal


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


def kinds(desk, kind):
    return [record for record in desk.records if isinstance(record, kind)]


def open_with(desk, factors, **more):
    concern = concern_facts(desk.place, desk.concern())
    return open_trial(desk.place, concern, factors, **{"what": "What makes it?", "parts": 20, **more})


# --- opening ----------------------------------------------------------------------------------------


def test_a_trial_is_opened_with_its_factors_and_its_order_follows_from_its_id(desk):
    ground = Ground(desk, factors=3, replicates=2, centres=3)

    (trial,) = kinds(desk, Trial)
    assert (trial.response, trial.parts, trial.fraction, trial.seed) == ("nok", 20, "full", trial.id)
    assert [(f.order, f.name, f.low, f.high, f.centre) for f in kinds(desk, TrialFactor)] == [
        (1, "Clamp pads", "old", "hard", "medium"),
        (2, "Parts", "cold", "warm", "lukewarm"),
        (3, "Clamp force", "90 N", "140 N", "115 N"),
    ]
    assert len(ground.now.planned) == 19
    assert ground.now.next_run == ground.now.planned[0]
    assert not ground.now.makes_a_difference


@pytest.mark.parametrize(
    ("factors", "more", "problem"),
    [
        ((), {}, "Factors: a trial has 1 to 5 of them, not 0"),
        ((*FACTORS, replace(PADS, name="Sixth")), {}, "Factors: a trial has 1 to 5 of them, not 6"),
        ((replace(PADS, high=" OLD "),), {}, "Factor A, Clamp pads: has one level and would show nothing"),
        ((replace(PADS, high=""),), {}, "Factor A, Clamp pads: has one level and would show nothing"),
        ((PADS, replace(PARTS, name="")), {}, "Factor B: has no name"),
        ((PADS, replace(PARTS, name="clamp  PADS")), {}, "Factor A: Clamp pads is there twice"),
        ((PADS, PARTS), {"is_half": True}, "Half of the combinations: only for 4 or 5 factors, not for 2"),
        (
            (PADS, replace(PARTS, centre="")),
            {"centres": 3},
            "Factor B, Parts: has no level half-way for the centre runs",
        ),
        ((replace(PADS, centre="hard"),), {"centres": 3}, "Factor A, Clamp pads: has no level half-way"),
        ((PADS,), {"parts": None}, "Parts of each run: say how many parts"),
        ((PADS,), {"parts": 0}, "Parts of each run: at least 1 part"),
        (FACTORS, {"replicates": 13}, "Runs: this would be 416 of them, and at most 400 are planned"),
    ],
)
def test_what_is_no_trial_is_refused_in_a_sentence_and_nothing_is_written(desk, factors, more, problem):
    with pytest.raises(InputError) as refused:
        open_with(desk, factors, **more)

    assert str(refused.value).startswith(problem)
    assert kinds(desk, Trial | TrialFactor) == []


def test_a_value_that_a_record_does_not_take_writes_nothing(desk):
    with pytest.raises(RecordError):
        open_with(desk, (PADS, replace(PARTS, low="x" * 50)))
    assert kinds(desk, Trial | TrialFactor) == []


# --- running ----------------------------------------------------------------------------------------


def test_runs_still_to_do_are_named_and_no_effect_is_worked_out(desk):
    ground = Ground(desk)
    ground.run_all(leave=(3, 8, 9, 10))

    assert ground.now.result is None
    assert ground.now.sentence == (
        "8 of 12 runs are done; effects are worked out when all are. Still to do: runs 3 and 8 to 10."
    )
    assert ground.now.next_run.number == 3


def test_a_finished_trial_says_what_makes_the_defect(desk):
    ground = Ground(desk)
    ground.run_all()

    now = ground.now
    assert now.sentence.startswith(
        "Clamp pads hard and Parts warm together: 51 of 60 NOK; else 3 of 180 NOK"
    )
    assert now.makes_a_difference
    assert now.what_differs == ("Clamp pads hard and Parts warm together", "Clamp pads")


def test_measured_values_are_taken_as_they_were_typed(desk):
    ground = Ground(desk, factors=1, replicates=4, measured="Ear gap", unit="mm")
    ground.run_all(lambda levels: "0.3" if levels[0] > 0 else "0.10")

    (effect,) = ground.now.result.effects
    assert effect.contrast.size == Fraction(1, 5)
    assert ground.now.sentence == (
        "Makes a difference: Clamp pads (hard mean 0.300 mm, old mean 0.100 mm; p = 0.029)."
    )


def test_changes_whose_factor_is_shown_are_named_by_their_ids(desk):
    floor = Floor(desk)
    pads = floor.change("Harder clamp pads", day=24).id
    operator = floor.change("New operator", day=28, kind="man").id
    factors = (replace(PADS, change=pads), replace(PARTS, change=operator))
    ground = Ground(desk, concern=floor.route.concern, described=factors, replicates=4)
    ground.run_all(lambda levels: (18 if levels[0] > 0 else 1, 20))

    assert ground.now.what_differs == ("Clamp pads",)
    assert ground.now.changes_shown == {pads}


def test_a_run_with_other_parts_counts_by_its_share_and_is_named(desk):
    ground = Ground(desk, factors=1, replicates=4)
    ground.run_all(lambda levels: (0, 20), leave=(2, 5))
    ground.run(2, nok=1, checked=18)
    ground.run(5, nok=1, checked=25)

    assert ground.now.result is not None
    assert ground.now.remarks[-1] == (
        "Another number of parts than the planned 20: runs 2 and 5; every run counts by its share."
    )


def test_a_correction_replaces_the_run_and_says_why(desk):
    ground = Ground(desk)
    first = ground.run(1, nok=3)

    with pytest.raises(InputError, match=r"Run 1 is recorded already \(3 of 20 NOK\); say why"):
        ground.run(1, nok=13)
    corrected = ground.run(1, nok=13, why="typed wrong")

    assert (corrected.replaces, corrected.why) == ((first.id,), "typed wrong")
    assert ground.now.recorded(1).nok == 13


@pytest.mark.parametrize(
    ("number", "said", "problem"),
    [
        (13, {"checked": 20, "nok": 1}, "Run 13 is not planned; this trial has the runs 1 to 12."),
        (0, {"checked": 20, "nok": 1}, "Run 0 is not planned"),
        (1, {"value": "3.5"}, "Run 1: this trial wants NOK parts of those checked; enter that."),
    ],
)
def test_a_run_that_does_not_fit_the_plan_is_refused(desk, number, said, problem):
    ground = Ground(desk)

    with pytest.raises(InputError) as refused:
        record_run(desk.place, ground.now, number, **said)

    assert str(refused.value).startswith(problem)
    assert kinds(desk, TrialRun) == []


def test_more_nok_than_checked_is_refused(desk):
    with pytest.raises(RecordError):
        Ground(desk).run(1, nok=21)
    assert kinds(desk, TrialRun) == []


def test_undo_takes_back_the_newest_run_of_this_trial_and_what_it_corrected_holds_again(desk):
    ground = Ground(desk)
    other = Ground(desk, concern=ground.concern)
    ground.run(1, nok=3)
    ground.run(1, nok=13, why="typed wrong")
    other.run(4, nok=2)

    undo_run(desk.place, ground.now)
    assert ground.now.recorded(1).nok == 3
    undo_run(desk.place, ground.now)

    assert ground.now.records == {}
    assert newest_run(desk.place, ground.now) is None
    assert other.now.recorded(4).nok == 2
    with pytest.raises(InputError, match="no run of this trial"):
        undo_run(desk.place, ground.now)


# --- two tablets, and bundles that nobody vouches for ------------------------------------------------


def test_a_run_of_two_tablets_is_averaged_by_nobody_until_one_is_taken_back(tmp_path, desk):
    ground = Ground(desk)
    ground.run_all(leave=(4,))
    bundle = bundle_concerns(desk.place, tmp_path / "one.zip", concern=ground.concern)
    other = Desk(tmp_path / "other", seed=1, by="SL-KB")
    with other.store:
        merge_bundles(other.place, [bundle.path])
        there = trial_facts(other.place, ground.concern, ground.id)
        record_run(other.place, there, 4, checked=20, nok=5)
        back = bundle_concerns(other.place, tmp_path / "two.zip", concern=ground.concern)
    ground.run(4, nok=6)
    merge_bundles(desk.place, [back.path])

    now = ground.now
    assert (now.doubled, now.result, now.recorded(4)) == ((4,), None, None)
    assert now.sentence.startswith("Run 4 was recorded twice (")
    assert "6 of 20 NOK by QE-RT" in now.sentence and "5 of 20 NOK by SL-KB" in now.sentence
    with pytest.raises(InputError, match="was recorded twice; take back the one that is wrong first"):
        ground.run(4, nok=6, why="typed wrong")

    wrong = next(record for record in now.records[4] if record.nok == 5)
    withdrawal = take_back_record(desk.place, now, wrong.id)
    assert isinstance(withdrawal, Withdrawal) and withdrawal.replaces == (wrong.id,)
    assert ground.now.recorded(4).nok == 6
    assert ground.now.result is not None
    with pytest.raises(InputError, match="not recorded twice any more"):
        take_back_record(desk.place, ground.now, wrong.id)

    undo_run(desk.place, ground.now)
    assert ground.now.doubled == (4,)


def test_two_tablets_have_the_same_order_and_say_the_same(tmp_path, desk):
    ground = Ground(desk)
    ground.run_all()
    bundle = bundle_concerns(desk.place, tmp_path / "one.zip", concern=ground.concern)
    other = Desk(tmp_path / "other", seed=1)
    with other.store:
        merge_bundles(other.place, [bundle.path])
        there = trial_facts(other.place, ground.concern, ground.id)

        assert there.planned == ground.now.planned
        assert there.sentence == ground.now.sentence
        assert trials_to_json((there,)) == trials_to_json((ground.now,))


def test_a_run_corrected_differently_on_two_tablets_is_said(desk):
    ground = Ground(desk)
    first = ground.run(1, nok=3)
    for nok in (4, 5):
        desk.place.add(
            TrialRun,
            concern=ground.concern,
            trial=ground.id,
            run=1,
            checked=20,
            nok=nok,
            replaces=(first.id,),
            why="counted again",
        )

    assert ground.now.disputed == (1,)
    assert ground.now.remarks[0].startswith("Corrected differently on two tablets: run 1;")


def test_a_trial_whose_factors_did_not_come_along_says_so(desk):
    concern = desk.concern()
    trial = desk.place.add(
        Trial, concern=concern, what="?", response="nok", parts=5, fraction="full", replicates=2, centres=0,
        seed="x",
    )  # fmt: skip
    desk.place.add(TrialFactor, concern=concern, trial=trial.id, order=2, name="B", low="0", high="1")
    now = trial_facts(desk.place, concern, trial.id)

    assert (now.design, now.planned, now.result, now.next_run) == (None, (), None, None)
    assert now.sentence.startswith("Factors of this trial are missing on this tablet;")
    with pytest.raises(InputError, match="Factors of this trial are missing"):
        record_run(desk.place, now, 1, checked=5, nok=0)


@pytest.mark.parametrize(
    ("said", "trouble"),
    [
        ({"fraction": "half"}, "This trial cannot be run as it is recorded: Half of the combinations"),
        ({"centres": 2}, "This trial has centre runs, but not every factor has a centre level;"),
    ],
)
def test_a_trial_that_cannot_be_is_said_in_a_sentence(desk, said, trouble):
    concern = desk.concern()
    fields = {"fraction": "full", "replicates": 2, "centres": 0, **said}
    trial = desk.place.add(Trial, concern=concern, what="?", response="nok", parts=5, seed="x", **fields)
    desk.place.add(TrialFactor, concern=concern, trial=trial.id, order=1, name="A", low="0", high="1")

    assert trial_facts(desk.place, concern, trial.id).trouble.startswith(trouble)


def test_records_that_do_not_fit_the_plan_are_set_aside_and_said(desk):
    ground = Ground(desk)
    for said in ({"run": 399, "checked": 5, "nok": 1}, {"run": 1, "value": "7"}):
        desk.place.add(TrialRun, concern=ground.concern, trial=ground.id, **said)

    assert (ground.now.set_aside, ground.now.records) == (2, {})
    assert ground.now.remarks == ("2 records do not fit the plan of this trial and no run is made of it.",)


def test_of_two_factors_for_one_place_every_tablet_takes_the_same(desk):
    ground = Ground(desk)
    desk.place.add(
        TrialFactor, concern=ground.concern, trial=ground.id, order=1, name="Other", low="a", high="b"
    )

    assert [factor.name for factor in ground.now.factors] == ["Clamp pads", "Parts"]


def test_a_trial_that_was_taken_back_is_no_trial(desk):
    ground = Ground(desk)
    desk.place.add(Withdrawal, concern=ground.concern, replaces=(ground.id,), why="opened by mistake")

    assert trials_of(ground.facts) == ()
    with pytest.raises(InputError, match="This trial is not in this store, or was taken back"):
        _ = ground.now


# --- told -------------------------------------------------------------------------------------------


def test_the_summary_tells_every_effect_with_its_probabilities(desk):
    ground = Ground(desk)
    ground.run_all()

    lines = trial_lines(trials_of(ground.facts))

    assert lines[0] == "Reproduction trials:"
    assert lines[1].startswith(
        "  2026-03-03, What makes the crack? (12 of 12 runs): Clamp pads hard and Parts"
    )
    assert lines[2] == (
        "    A Clamp pads: +45.0 percentage points, by runs p = 0.0022, corrected 0.013, by single parts, "
        "corrected p < 0.0001: makes a difference"
    )
    assert lines[4].startswith("    AB Clamp pads × Parts: +40.0 percentage points")
    assert lines[4].endswith(": not shown")


def test_json_has_the_same_names_whether_or_not_the_runs_are_done(desk):
    ground = Ground(desk, factors=4, is_half=True, replicates=2, centres=2)
    (before,) = trials_to_json(trials_of(ground.facts))
    ground.run_all(lambda levels: (10 + 7 * levels[0], 20))
    (after,) = trials_to_json(trials_of(ground.facts))

    assert json.loads(json.dumps(after)) == after
    assert before.keys() == after.keys()
    assert (before["runs_done"], before["effects"], before["makes_a_difference"]) == (0, [], [])
    assert (after["runs_planned"], after["runs_done"], after["runs_missing"]) == (18, 18, [])
    assert after["makes_a_difference"] == ["Clamp pads"]
    assert [effect["effect"] for effect in after["effects"]] == ["A", "B", "C", "D", "AB", "AC", "AD"]
    assert after["effects"][4]["aliases"] == ["CD"]
    assert after["effects"][0]["size"] == pytest.approx(0.7)
    assert after["effects"][0]["verdict"] == "makes a difference"
    assert after["curvature"]["verdict"] == "not shown"
    assert "AB cannot be told from CD" in after["aliases"]


def test_the_summary_has_a_part_for_trials_and_none_where_there_is_none(desk):
    ground = Ground(desk)
    empty = desk.concern()
    by_concern = {
        summary.facts.concern.concern: summary for summary in summarise(desk.place, thorough=False)
    }

    assert "Reproduction trials:" in list(part_lines(desk.place, by_concern[ground.concern]))
    assert "Reproduction trials:" not in list(part_lines(desk.place, by_concern[empty]))
    assert parts_to_json(desk.place, by_concern[empty])["trials"] == []


def test_five_factors_are_run_in_half_as_many_runs(desk):
    ground = Ground(desk, factors=5, is_half=True, replicates=1)
    ground.run_all(lambda levels: (10 + 8 * levels[3], 20))

    assert len(ground.now.planned) == 16
    assert ground.now.what_differs == ("Dwell",)
    assert ground.now.remarks[-1] == (
        "Half of the combinations were run: Dwell cannot be told from Clamp pads × Parts × Clamp force × "
        "Tester."
    )
