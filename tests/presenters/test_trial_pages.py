"""The pages of reproduction trials: list, form, runs, one run, and what it shows."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk, Queue
from tests.floors import Floor
from tests.trials import Ground
from walkapp.model.records import Trial, TrialFactor, TrialRun, Withdrawal
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.route import Route
from walkapp.presenters.trial_form import NewTrialForm
from walkapp.presenters.trial_result import TrialResultPage
from walkapp.presenters.trial_run import REASONS, TrialRunPage
from walkapp.presenters.trials import NO_TRIALS, TRIAL_CAUTIONS, TrialPage, TrialsPage


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


def opened(page_class, desk, route):
    page = page_class(desk.session, route)
    page.open()
    return page


def rows(page, section):
    found = next((s for s in page.state.sections if s.name == section), None)
    return [] if found is None else [(row.id, row.title, row.subtitle) for row in found.rows]


def runs(desk):
    return [record for record in desk.records if isinstance(record, TrialRun)]


# --- the list ---------------------------------------------------------------------------------------


def test_the_concern_leads_to_its_trials(desk):
    ground = Ground(desk)
    page = opened(ConcernPage, desk, Route(screen="concern", concern=ground.concern))

    (row,) = [row for row in page.state.parts if row.id == "trials"]
    assert (row.title, row.mark) == ("Reproduction trials", "not_visited")
    assert row.subtitle.startswith("1 trial, the newest: 0 of 12 runs are done;")
    page.to_part("trials")
    assert desk.routes[-1] == Route(screen="trials", concern=ground.concern)


def test_an_empty_list_says_what_a_trial_is_for_and_leads_to_the_form(desk):
    concern = desk.concern()
    page = opened(TrialsPage, desk, Route(screen="trials", concern=concern))

    assert (page.state.sentence, rows(page, "trials")) == (NO_TRIALS, [])
    page.press("new_trial")
    assert desk.routes[-1] == Route(screen="new_trial", concern=concern)


def test_the_newest_trial_stands_first_and_only_an_empty_one_is_undone_by_a_tap(desk):
    first = Ground(desk, what="First")
    first.run(1)
    second = Ground(desk, concern=first.concern, what="Second")
    page = opened(TrialsPage, desk, Route(screen="trials", concern=first.concern))
    assert [title for _, title, _ in rows(page, "trials")] == ["Second", "First"]
    assert page.state.undo == "the new trial"

    page.undo()

    assert [row for row, _, _ in rows(page, "trials")] == [first.id]
    assert (page.state.saved, page.state.undo) == ("Taken back", "")
    assert [w.replaces for w in desk.records if isinstance(w, Withdrawal)] == [(second.id,)]
    page.row("trials", first.id)
    assert desk.routes[-1] == first.route("trial")


# --- the form ---------------------------------------------------------------------------------------


def filled(desk, concern="", **more):
    page = opened(NewTrialForm, desk, Route(screen="new_trial", concern=concern or desk.concern()))
    said = {"name_A": "Clamp pads", "low_A": "old", "high_A": "hard"}
    said |= {"name_B": "Parts", "low_B": "cold", "high_B": "warm", **more}
    for name, value in said.items():
        page.fill(name, value)
    return page


def names(page):
    return [field.name for field in page.state.fields]


def test_a_trial_is_opened_from_the_form_and_leads_to_its_runs(desk):
    page = filled(desk, station="leak-test")
    page.record()

    (trial,) = [record for record in desk.records if isinstance(record, Trial)]
    assert (trial.station, trial.parts, trial.replicates, trial.fraction) == ("leak-test", 20, 3, "full")
    assert [f.name for f in desk.records if isinstance(f, TrialFactor)] == ["Clamp pads", "Parts"]
    assert desk.routes == [Route(screen="trial", concern=trial.concern, entry=trial.id)]


def test_the_form_says_what_it_takes_and_what_it_can_show_before_it_is_opened(desk):
    page = filled(desk)
    assert page.state.advice[0] == "12 runs in a random order, 20 parts each: 240 parts in all."
    assert page.state.advice[1].startswith("So many runs can prove")

    page.fill("replicates", "1")
    assert page.state.advice[1].startswith("These 4 runs alone cannot prove")

    page.fill("factors", "4")
    page.fill("fraction", "half")
    assert page.state.advice[0].startswith("8 runs in a random order")
    assert page.state.advice[2].startswith("AB cannot be told from CD")
    assert page.state.cautions[: len(TRIAL_CAUTIONS)] == TRIAL_CAUTIONS


def test_only_what_is_needed_is_asked(desk):
    page = filled(desk)
    assert "parts" in names(page)
    assert not {"measured", "fraction", "centre_A", "name_C", "change_A"} & set(names(page))

    for name, value in {"response": "value", "factors": "4", "centres": "3"}.items():
        page.fill(name, value)

    assert {"measured", "unit", "fraction", "centre_A", "centre_D", "name_D"} <= set(names(page))
    assert "parts" not in names(page)


def test_a_recorded_change_is_offered_and_fills_its_factor(desk):
    floor = Floor(desk)
    pads = floor.change("Harder clamp pads, of another supplier and with another drawing number", day=24)
    page = filled(desk, floor.route.concern)

    (offered,) = [field for field in page.state.fields if field.name == "change_A"]
    assert [word for word, _ in offered.options] == [pads.id]
    page.fill("low_A", "")
    page.fill("change_A", pads.id)

    values = {field.name: field.value for field in page.state.fields}
    assert values["name_A"] == "Harder clamp pads, of another supplier and with another …"
    assert (values["low_A"], values["high_A"]) == ("as before", "hard")
    page.record()
    factors = [record for record in desk.records if isinstance(record, TrialFactor)]
    assert [factor.change for factor in factors] == [pads.id, ""]


@pytest.mark.parametrize(
    ("said", "problem"),
    [
        ({"high_A": "old"}, "Factor A, Clamp pads: has one level and would show nothing"),
        ({"name_B": "clamp pads"}, "Factor A: Clamp pads is there twice"),
        ({"name_B": ""}, "Still needed: Factor B: what is changed."),
        ({"parts": "many"}, "Parts in each run: must be a whole number such as 20."),
        ({"parts": "0"}, "Parts of each run: at least 1 part"),
        ({"parts": "99999"}, "Parts in each run: must be from 1 to 10000"),
        ({"response": "value"}, "Still needed: What is measured."),
        ({"centres": "3"}, "Still needed: A half-way, B half-way."),
        ({"factors": ""}, "Still needed: How many factors are changed."),
    ],
)
def test_what_cannot_be_is_said_and_the_form_keeps_what_was_filled_in(desk, said, problem):
    page = filled(desk, **said)
    page.record()

    assert page.state.problem.startswith(problem)
    assert [record for record in desk.records if isinstance(record, Trial)] == []
    again = opened(NewTrialForm, desk, page.route)
    assert {f.name: f.value for f in again.state.fields} == {f.name: f.value for f in page.state.fields}


# --- the runs ---------------------------------------------------------------------------------------


def test_the_next_run_is_said_with_what_to_set_and_entered_with_one_tap(desk):
    ground = Ground(desk)
    page = opened(TrialPage, desk, ground.route("trial"))
    first = ground.now.planned[0]

    assert page.state.sentence == f"Run 1 of 12 is next. Set {ground.now.names.setting(first.levels)}."
    assert page.state.cautions == TRIAL_CAUTIONS
    assert [row for row, _, _ in rows(page, "todo")] == [str(n) for n in range(1, 13)]
    assert [(b.name, b.is_off) for b in page.state.buttons] == [("enter", False), ("trial_result", True)]
    page.press("enter")
    page.row("todo", "5")
    assert desk.routes == [ground.route("trial_run", "1"), ground.route("trial_run", "5")]


def test_done_runs_can_be_corrected_and_the_newest_undone(desk):
    ground = Ground(desk)
    ground.run(1, nok=3)
    ground.run(2, nok=4)
    page = opened(TrialPage, desk, ground.route("trial"))
    assert [title for _, title, _ in rows(page, "done")] == ["Run 2: 4 of 20 NOK", "Run 1: 3 of 20 NOK"]
    assert page.state.undo == "run 2"

    page.undo()

    assert [title for _, title, _ in rows(page, "done")] == ["Run 1: 3 of 20 NOK"]
    assert (page.state.saved, page.state.undo) == ("Taken back", "run 1")
    assert page.state.sentence.startswith("Run 2 of 12 is next.")
    page.row("done", "1")
    assert desk.routes[-1] == ground.route("trial_run", "1")


def test_a_finished_trial_leads_to_what_it_shows(desk):
    ground = Ground(desk)
    ground.run_all()
    page = opened(TrialPage, desk, ground.route("trial"))

    assert page.state.sentence.startswith("Clamp pads hard and Parts warm together: 51 of 60 NOK")
    assert (page.state.mark, page.state.cautions) == ("bad", ())
    assert [(b.name, b.is_off) for b in page.state.buttons] == [("trial_result", False)]
    page.press("trial_result")
    assert desk.routes[-1] == ground.route("trial_result")


def test_of_a_run_recorded_twice_one_is_taken_back_by_a_tap(desk):
    ground = Ground(desk)
    ground.run_all(leave=(1,))
    for nok in (2, 9):
        desk.place.add(TrialRun, concern=ground.concern, trial=ground.id, run=1, checked=20, nok=nok)
    page = opened(TrialPage, desk, ground.route("trial"))
    assert page.state.sentence.startswith("Run 1 was recorded twice (2 of 20 NOK by QE-RT and 9 of 20 NOK")
    twice = rows(page, "twice")
    assert [title for _, title, _ in twice] == ["Run 1: 2 of 20 NOK", "Run 1: 9 of 20 NOK"]

    page.row("twice", twice[1][0])

    assert (page.state.saved, rows(page, "twice")) == ("Taken back", [])
    assert ground.now.recorded(1).nok == 2
    assert page.state.undo == "a run taken back"


def test_of_very_many_runs_the_next_ones_are_shown(desk):
    ground = Ground(desk, replicates=20)
    page = opened(TrialPage, desk, ground.route("trial"))

    assert len(rows(page, "todo")) == 40
    assert "Still to do: runs 1 to 80" in page.state.lines[0]


# --- one run ----------------------------------------------------------------------------------------


def test_a_run_is_counted_by_steps_and_recorded_with_one_tap(desk):
    ground = Ground(desk)
    page = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
    levels = ground.now.planned[0].levels
    assert page.state.settings == tuple(ground.now.names.setting(levels).split("; "))
    assert (page.state.title, page.state.caution, page.state.do) == (
        "Run 1 of 12",
        "",
        "Record 0 of 20 NOK",
    )

    page.step("nok", 1)
    page.step("nok", 1)
    page.step("checked", -1)
    assert runs(desk) == []
    page.record()

    (run,) = runs(desk)
    assert (run.trial, run.run, run.checked, run.nok) == (ground.id, 1, 19, 2)
    assert desk.routes == [ground.route("trial")]


def test_what_was_counted_but_not_recorded_is_there_again(desk):
    ground = Ground(desk)
    page = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
    page.step("nok", 1)
    page.back()

    again = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
    assert (again.state.nok, again.state.do) == (1, "Record 1 of 20 NOK")
    again.record()
    corrected = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
    assert corrected.state.corrects == "On disk: 1 of 20 NOK. Why is it corrected?"


def test_counts_are_typed_and_what_cannot_be_is_said(desk):
    page = opened(TrialRunPage, desk, Ground(desk).route("trial_run", "1"))

    def typed(which, digits):
        page.open_pad(which)
        for key in (*digits, "enter"):
            page.press(key)

    typed("nok", "21")
    assert page.state.problem.startswith("Only 20 parts were checked, so at most 20 are NOK")
    page.press("enter")
    typed("checked", "25")
    typed("nok", "21")
    assert (page.state.checked, page.state.nok, page.state.pad) == (25, 21, None)
    typed("checked", "20")
    assert page.state.problem.startswith("21 parts are NOK already, so at least 21 were checked")
    typed("checked", "99999")
    assert page.state.problem.startswith("A run has at most 10000 parts")
    assert (page.state.checked, page.state.nok) == (25, 21)


def test_a_closed_pad_takes_nothing_over_and_nothing_typed_comes_back(desk):
    route = Ground(desk).route("trial_run", "1")
    page = opened(TrialRunPage, desk, route)
    page.open_pad("nok")
    page.press("7")
    page.press("close")

    assert (page.state.pad, page.state.nok) == (None, 0)
    assert opened(TrialRunPage, desk, route).state.pad is None


def test_steps_stay_within_what_can_be(desk):
    page = opened(TrialRunPage, desk, Ground(desk, parts=1).route("trial_run", "1"))
    page.step("checked", -1)
    page.step("nok", -1)
    assert (page.state.checked, page.state.nok) == (1, 0)
    page.step("nok", 1)
    page.step("nok", 1)
    page.step("checked", -1)
    assert (page.state.checked, page.state.nok) == (2, 2)


def test_a_value_is_typed_and_enter_records_it(desk):
    ground = Ground(desk, measured="Ear gap", unit="mm")
    page = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
    assert (page.state.is_counted, page.state.unit) == (False, "mm")
    page.press("enter")
    assert page.state.problem == "Type the measured value first."

    for key in ("1", ".", "5", "0", "-", "enter"):
        page.press(key)

    (run,) = runs(desk)
    assert (run.value, run.checked) == ("-1.50", None)


def test_a_unit_of_another_tablet_turns_nothing_round_on_the_pad(desk):
    ground = Ground(desk, measured="Ear gap", unit="mm\u202e")
    page = opened(TrialRunPage, desk, ground.route("trial_run", "1"))

    assert page.state.unit.startswith("mm")
    assert "\u202e" not in page.state.unit


def test_another_run_than_the_next_is_allowed_and_said(desk):
    ground = Ground(desk)
    page = opened(TrialRunPage, desk, ground.route("trial_run", "7"))
    assert page.state.caution.startswith("Run 1 comes next in the random order. Enter run 7 only if")
    page.record()
    assert ground.now.recorded(7) is not None


def test_a_correction_says_why_by_a_tap(desk):
    ground = Ground(desk)
    first = ground.run(1, nok=3)
    page = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
    assert (page.state.checked, page.state.nok) == (20, 3)
    page.step("nok", 1)
    page.record()
    assert page.state.problem == "This run is on disk already: tap why it is corrected."

    page.choose_why(REASONS[0])
    page.record()

    last = runs(desk)[-1]
    assert (last.nok, last.replaces, last.why) == (4, (first.id,), "typed wrong")


@pytest.mark.parametrize("run", ["", "0", "13", "x", "1" * 9])
def test_a_run_that_is_not_planned_is_said_in_a_sentence(desk, run):
    page = opened(TrialRunPage, desk, Ground(desk).route("trial_run", run))
    assert page.state.problem == "This run is not planned; go back to the trial and choose one."


def test_a_tap_while_the_worker_is_busy_loses_nothing(tmp_path):
    queue = Queue()
    desk = Desk(tmp_path, run_later=queue)
    with desk.store:
        ground = Ground(desk)
        page = opened(TrialRunPage, desk, ground.route("trial_run", "1"))
        queue.run()
        for _ in range(5):
            page.step("nok", 1)
        page.record()
        queue.run()

        assert [run.nok for run in runs(desk)] == [5]


# --- what it shows ----------------------------------------------------------------------------------


def test_effects_stand_on_one_scale_with_probability_and_verdict(desk):
    ground = Ground(desk)
    ground.run_all()
    state = opened(TrialResultPage, desk, ground.route("trial_result")).state

    assert state.sentence == ground.now.sentence
    assert [(row.name, row.size, row.word, row.mark) for row in state.rows] == [
        ("Clamp pads", "+45.0 percentage points", "makes a difference", "bad"),
        ("Parts", "+40.0 percentage points", "not shown", "undecided"),
        ("Clamp pads × Parts", "+40.0 percentage points", "not shown", "undecided"),
        ("Clamp pads hard and Parts warm, against all others", "+83.3 percentage points",
         "makes a difference", "bad"),
    ]  # fmt: skip
    assert state.rows[0].chance == (
        "by runs p = 0.0022, corrected 0.013; by single parts, corrected p < 0.0001"
    )
    assert state.scale == ("−83", "+83 percentage points")
    assert [(row.start, row.end) for row in state.rows] == [
        (0.5, pytest.approx(0.77)),
        (0.5, pytest.approx(0.74)),
        (0.5, pytest.approx(0.74)),
        (0.5, 1.0),
    ]


def test_a_falling_effect_points_to_the_left(desk):
    ground = Ground(desk, factors=1, replicates=4, measured="Ear gap", unit="mm")
    ground.run_all(lambda levels: "1.5" if levels[0] > 0 else "2.0")
    state = opened(TrialResultPage, desk, ground.route("trial_result")).state

    (row,) = state.rows
    assert (row.size, row.start, row.end) == ("−0.50 mm", 0.0, 0.5)
    assert (state.plot, state.across) == (None, "")


def test_any_two_factors_are_chosen_by_taps(desk):
    ground = Ground(desk, factors=3, replicates=2)
    ground.run_all(lambda levels: (10 + 3 * levels[2], 20))
    page = opened(TrialResultPage, desk, ground.route("trial_result"))
    assert (page.state.across, page.state.lines) == ("A", "B")
    assert page.state.factors == (("A", "Clamp pads"), ("B", "Parts"), ("C", "Clamp force"))

    page.choose("across", "C")
    assert page.state.plot.across == ("Clamp force: 90 N", "Clamp force: 140 N")
    page.choose("lines", "C")
    assert (page.state.across, page.state.lines) == ("B", "C")
    assert [line.name for line in page.state.plot.lines] == ["Clamp force: 90 N", "Clamp force: 140 N"]
    page.choose("across", "C")
    assert (page.state.across, page.state.lines) == ("C", "B")


def test_the_plot_starts_with_the_pair_that_is_shown(desk):
    ground = Ground(desk, factors=3, replicates=3)
    ground.run_all(lambda levels: (18, 20) if levels[1] > 0 and levels[2] < 0 else (0, 20))

    state = opened(TrialResultPage, desk, ground.route("trial_result")).state
    assert (state.across, state.lines) == ("B", "C")


def test_undo_on_the_result_takes_the_newest_run_back(desk):
    ground = Ground(desk)
    ground.run_all()
    page = opened(TrialResultPage, desk, ground.route("trial_result"))
    newest = runs(desk)[-1].run
    assert page.state.undo == f"run {newest}"

    page.undo()

    assert (page.state.saved, page.state.rows, page.state.plot) == ("Taken back", (), None)
    assert page.state.sentence.startswith("11 of 12 runs are done;")
    page.to_runs()
    assert desk.routes[-1] == ground.route("trial")


def test_a_half_says_its_aliases_with_the_names_of_the_factors(desk):
    ground = Ground(desk, factors=4, is_half=True, replicates=1)
    ground.run_all(lambda levels: (10, 20))
    state = opened(TrialResultPage, desk, ground.route("trial_result")).state

    assert "AB cannot be told from CD" in state.notes[-1]
    assert state.notes[-1].endswith("Here A Clamp pads, B Parts, C Clamp force, D Dwell.")


@pytest.mark.parametrize("page_class", [TrialPage, TrialResultPage, TrialRunPage])
def test_a_trial_that_is_not_here_is_said_in_a_sentence(desk, page_class):
    route = replace(Ground(desk).route("trial", "1"), entry="019c937d-7a43-7000-8000-000000000000")
    page = opened(page_class, desk, route)
    assert page.state.problem.startswith("This trial is not in this store, or was taken back;")
