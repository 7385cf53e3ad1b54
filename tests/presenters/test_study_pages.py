"""The pages of inspection studies: what they show, what they keep to themselves, and where they lead."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk, Queue
from tests.labs import BAD, GOOD, Lab
from walkapp.actions.workplace import NOBODY
from walkapp.model.records import RatesChosen, Study, StudyReading
from walkapp.presenters.answer import AnswerPage
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.route import Route
from walkapp.presenters.studies import StudiesPage, StudyPage
from walkapp.presenters.study_forms import InspectorForm, NewStudyForm
from walkapp.presenters.study_reading import ReadingPage
from walkapp.presenters.study_result import StudyResultPage


@pytest.fixture
def lab(desk):
    return Lab(desk)


def opened(page, desk, route, **filled):
    shown = page(desk.session, route)
    shown.open()
    for name, value in filled.items():
        shown.fill(name, value)
    return shown


def at(lab, screen, **more):
    return Route(screen=screen, concern=lab.concern, study=lab.study, **more)


def reading_page(lab, inspector="OP-TB"):
    return opened(ReadingPage, lab.desk, at(lab, "reading", inspector=inspector))


def result_page(lab):
    return opened(StudyResultPage, lab.desk, at(lab, "study_result"))


# --- the list and the form ------------------------------------------------------------------------


def test_the_concern_leads_to_its_studies_and_they_to_the_form(desk):
    concern = desk.concern()
    ConcernPage(desk.session, Route(screen="concern", concern=concern)).to_studies()
    page = opened(StudiesPage, desk, desk.routes[-1])
    assert page.state.is_empty
    page.new_study()
    assert [r.screen for r in desk.routes] == ["studies", "new_study"]


def test_each_study_says_how_far_it_is_by_shape_and_word(lab):
    def row():
        return opened(StudiesPage, lab.desk, Route(screen="studies", concern=lab.concern)).state.rows[0]

    assert (row().mark, row().title) == ("not_visited", "Leak test: Mounting ear: look and touch")
    assert row().subtitle == "2026-03-03, 12 parts, 2 repeats, invented for the demo: not begun"
    lab.read("OP-TB", 3)
    assert (row().mark, row().subtitle.split(": ")[1]) == ("undecided", "3 of 24 readings")
    lab.finish("OP-TB")
    assert (row().mark, row().subtitle.split(": ")[1]) == ("clean", "usable")
    result_page(lab).use_rates()
    assert row().subtitle.endswith("usable, its rates count")
    lab.finish("SL-HN", wrong={(part, 1) for part in (*BAD, *GOOD)})
    assert (row().mark, row().subtitle.split(": ")[1]) == ("bad", "not usable, its rates count")


FILLED = {"check": "leak-test ear-look", "bad": "3 4 7 8 11 12", "good": "1, 2, 5; 6 9\n10", "by": "QE-AB"}


def test_the_form_opens_a_study_and_remembers_who_knows_the_answers(desk):
    route = Route(screen="new_study", concern=desk.concern())
    page = opened(NewStudyForm, desk, route, **FILLED)
    page.record()
    (study,) = [r for r in desk.records if isinstance(r, Study)]
    assert (study.station, study.check, study.repeats, study.by) == ("leak-test", "ear-look", 2, "QE-AB")
    assert desk.routes == [Route(screen="study", concern=route.concern, study=study.id)]
    assert desk.store.place()["by"] == "QE-AB"
    parts = Lab(desk, route.concern, study.id).now.parts
    assert sorted(p.label for p in parts if p.known == "bad") == sorted(BAD)
    assert sorted(p.label for p in parts if p.known == "good") == sorted(GOOD)


def test_the_form_offers_only_checks_of_the_concerns_defect(desk):
    page = opened(NewStudyForm, desk, Route(screen="new_study", concern=desk.concern(defect="leak")))
    (check,) = [f for f in page.state.fields if f.name == "check"]
    assert check.options == (("leak-test leak", "Leak test"),)


def test_advice_follows_what_is_filled_in(desk):
    page = opened(NewStudyForm, desk, Route(screen="new_study", concern=desk.concern()))
    assert page.state.advice == ()
    page.fill("bad", "1 2")
    assert page.state.advice == ()
    page.fill("good", "3")
    assert page.state.advice[0] == "2 bad and 1 good parts: 12 readings with 2 inspectors."
    assert any("would not be usable" in said for said in page.state.advice)
    page.fill("bad", " ".join(BAD))
    page.fill("good", " ".join(GOOD))
    assert not any("would not be usable" in said for said in page.state.advice)
    assert any("take 2 or 3" in said for said in page.state.advice) is False
    page.fill("repeats", "1")
    assert any("take 2 or 3" in said for said in page.state.advice)
    page.fill("good", "3")
    assert page.state.advice[0] == "Named twice: 3."


@pytest.mark.parametrize(
    "changes, words",
    [
        ({"good": " "}, "Still needed: Parts known to be good."),
        ({"good": "3"}, "The part 3 is named twice"),
        ({"by": ""}, "Still needed: Your role and initials."),
        ({"check": ""}, "Still needed: Which check."),
    ],
)
def test_a_form_that_cannot_be_is_refused_in_words_and_stays_filled(desk, changes, words):
    desk.place.by = NOBODY
    page = opened(
        NewStudyForm, desk, Route(screen="new_study", concern=desk.concern()), **{**FILLED, **changes}
    )
    page.record()
    assert page.state.problem.startswith(words)
    assert desk.routes == []
    assert not [r for r in desk.records if isinstance(r, Study)]


# --- one study ------------------------------------------------------------------------------------


def test_the_page_of_a_study_tells_no_answer_and_not_how_many_are_bad(lab):
    lab.finish("OP-TB")
    lab.read("SL-HN", 5)
    state = opened(StudyPage, lab.desk, at(lab, "study")).state
    assert [(r.id, r.title, r.mark) for r in state.rows] == [
        ("", "OP-TB", "clean"),
        ("SL-HN", "SL-HN", "undecided"),
    ]
    assert state.rows[1].subtitle == "5 of 24 readings, tap to go on"
    assert state.how_far == "29 of 48 readings"
    assert "must not be an inspector" in state.cautions[0]
    assert not [word for word in ("bad", "good", "NOK", "usable") if word in f"{state}"]


def test_an_inspector_begins_by_the_form_and_goes_on_by_a_tap(lab):
    opened(InspectorForm, lab.desk, at(lab, "inspector"), inspector="op-tb").record()
    reading = at(lab, "reading", inspector="op-tb")
    assert lab.desk.routes == [reading]
    page = opened(StudyPage, lab.desk, at(lab, "study"))
    page.continue_as("op-tb")
    page.new_inspector()
    page.to_result()
    assert lab.desk.routes[1:] == [reading, at(lab, "inspector"), at(lab, "study_result")]


@pytest.mark.parametrize(
    "typed, words",
    [("", "Still needed"), ("QE-RT", "entered the known answers"), ("x" * 41, "at most 40 characters")],
)
def test_who_cannot_judge_is_refused_in_words(lab, typed, words):
    page = opened(InspectorForm, lab.desk, at(lab, "inspector"), inspector=typed)
    page.record()
    assert words in page.state.problem
    assert lab.desk.routes == []


# --- the blind reading ----------------------------------------------------------------------------


def test_the_reading_shows_the_part_whose_turn_it_is_and_never_an_answer(lab):
    page = reading_page(lab)
    order = [turn.part for turn in lab.now.turns("OP-TB")]
    shown = []
    for i in range(24):
        shown.append(page.state)
        page.answer("not_ok" if i % 2 else "ok")
    assert [state.part for state in shown] == [f"Take part {part}" for part in order]
    assert shown[0].progress == "Reading 1 of 24, repeat 1 of 2"
    assert [i for i, state in enumerate(shown) if state.repeat] == [12]
    assert shown[1].saved == f"On disk: part {order[0]}"
    assert shown[1].undo == f"Part {order[0]}"
    for state in (*shown, page.state):
        told = f"{replace(state, how='')}"
        assert not [word for word in ("OK", "ok'", "bad", "good", "not_ok", "known") if word in told]
    assert page.state.done.startswith("All 24 readings are on disk.")
    assert page.state.part == ""


def test_a_reading_is_on_disk_before_the_page_says_so(tmp_path):
    queue = Queue()
    desk = Desk(tmp_path, run_later=queue)
    with desk.store:
        lab = Lab(desk)
        page = ReadingPage(desk.session, at(lab, "reading", inspector="OP-TB"))
        page.open()
        queue.run()
        first = page.state
        page.answer("ok")
        assert page.state == first
        assert lab.now.readings == ()
        queue.run()
        assert page.state.saved
        assert len(lab.now.readings) == 1


def test_a_second_tap_before_the_next_part_is_shown_counts_nothing(tmp_path):
    queue = Queue()
    desk = Desk(tmp_path, run_later=queue)
    with desk.store:
        lab = Lab(desk)
        page = ReadingPage(desk.session, at(lab, "reading", inspector="OP-TB"))
        page.answer("ok")  # nothing is shown yet
        page.open()
        queue.run()
        assert lab.now.readings == ()
        page.answer("ok")
        page.answer("not_ok")
        queue.run()
        assert [r.called for r in lab.now.readings] == ["ok"]
        assert page.state.progress.startswith("Reading 2 of 24")


def test_undo_brings_the_part_back(lab):
    page = reading_page(lab)
    before = page.state
    page.answer("ok")
    page.undo()
    assert page.state == replace(before, saved="Taken back")
    page.undo()
    assert page.state.problem.startswith("There is no reading to undo")


def test_an_inspector_who_comes_back_goes_on_where_they_stopped(lab):
    page = reading_page(lab)
    for _ in range(5):
        page.answer("ok")
    page.back()
    assert lab.desk.routes == [at(lab, "study")]
    assert reading_page(lab).state.progress == "Reading 6 of 24, repeat 1 of 2"
    assert reading_page(lab, "SL-HN").state.progress == "Reading 1 of 24, repeat 1 of 2"


# --- the result -----------------------------------------------------------------------------------


def lines_of(state):
    return {block.title: list(block.lines) for block in state.blocks}


def test_the_result_says_all_of_it_in_words(lab):
    lab.finish("OP-TB", wrong={("8", 1)})
    lab.finish("SL-HN")
    state = result_page(lab).state
    assert state.mark == "clean"
    assert state.verdict.startswith("Usable: bad parts are called NOK in 95 % of readings (48 % to 100 %")
    assert state.size == "12 parts, 2 repeats, invented for the demo (6 bad, 6 good); 48 of 48 readings"
    assert lines_of(state) == {
        "All together": [
            "Detection: 95 % (48 % to 100 %), 23 of 24 readings of bad parts NOK",
            "False alarm: 0 % (0 % to 46 %), 0 of 24 readings of good parts NOK",
            "All readings alike: 11 of 12 parts (61 % to 99.8 %)",
            "All readings right: 11 of 12 parts (61 % to 99.8 %)",
            "Kappa of all readings (Fleiss): 0.91 (0.73 to 1.00)",
        ],
        "OP-TB": [
            "Detection: 91 % (44 % to >99.9 %), 11 of 12 readings of bad parts NOK",
            "False alarm: 0 % (0 % to 46 %), 0 of 12 readings of good parts NOK",
            "Alike each time: 11 of 12 parts (61 % to 99.8 %)",
            "Right each time: 11 of 12 parts (61 % to 99.8 %)",
            "Kappa with the known answer: 0.91 (0.73 to 1.00)",
        ],
        "SL-HN": [
            "Detection: 100 % (54 % to 100 %), 12 of 12 readings of bad parts NOK",
            "False alarm: 0 % (0 % to 46 %), 0 of 12 readings of good parts NOK",
            "Alike each time: 12 of 12 parts (73 % to 100 %)",
            "Right each time: 12 of 12 parts (73 % to 100 %)",
            "Kappa with the known answer: 1.00, range not known",
        ],
        "Between inspectors": ["Kappa of OP-TB and SL-HN: 0.91 (0.73 to 1.00)"],
    }
    assert any(said.startswith("Kappa, SL-HN. No interval") for said in state.unknown)
    assert any("For OP-TB alone it is not shown" in said for said in state.unknown)
    assert any("29 bad parts" in said for said in state.unknown)
    assert state.offer == "detection 89 %, false alarm 8 %"
    assert state.chosen == "The walk uses the checklist: detection 90 %, false alarm 0.5 %."


def test_before_the_first_reading_there_is_nothing_to_say(lab):
    state = result_page(lab).state
    assert (state.verdict, state.blocks, state.offer) == ("Nothing was judged yet.", (), "")
    assert state.mark == "undecided"


def test_an_unfinished_study_is_marked_and_offers_nothing(lab):
    lab.finish("OP-TB")
    lab.read("SL-HN", 3)
    state = result_page(lab).state
    assert state.mark == "undecided"
    assert state.unfinished.startswith("SL-HN is not through")
    assert state.offer == ""


def test_what_one_inspector_and_one_repeat_cannot_show_is_said(lab):
    short = Lab(lab.desk, lab.concern, lab.open(repeats=1).id)
    short.finish("OP-TB")
    state = result_page(short).state
    assert state.unknown[0] == "Whether inspectors agree: only one has judged."
    assert state.unknown[1].startswith("Whether an inspector judges the same part alike twice")
    assert [block.title for block in state.blocks] == ["OP-TB"]


def test_a_study_that_shows_nothing_is_not_usable(lab):
    lab.finish("OP-TB", wrong={(part, 1) for part in (*BAD, *GOOD)})
    page = result_page(lab)
    assert page.state.mark == "bad"
    assert page.state.verdict.startswith("Not usable: ")
    assert page.state.offer == ""
    page.use_rates()
    assert page.state.problem.startswith("Not usable")
    assert not [r for r in lab.desk.records if isinstance(r, RatesChosen)]


def test_using_the_rates_asks_nothing_and_shows_who_and_when(lab):
    lab.finish("OP-TB", "SL-HN")
    page = result_page(lab)
    page.use_rates()
    (chosen,) = [r for r in lab.desk.records if isinstance(r, RatesChosen)]
    assert page.state.saved == "On disk: the walk uses these rates"
    assert page.state.chosen == (
        "The walk uses this study: detection 92 %, false alarm 8 %; chosen by QE-RT, "
        f"2026-03-03 {chosen.at[11:16]}."
    )
    assert (page.state.offer, page.state.can_take_back) == ("", True)
    page.use_rates()
    assert [r for r in lab.desk.records if isinstance(r, RatesChosen)] == [chosen]

    page.take_back()

    assert page.state.chosen.startswith("The walk uses the checklist")
    assert not page.state.can_take_back
    page.take_back()
    assert "count already" in page.state.problem


def test_readings_after_the_choice_are_said_and_can_be_chosen_anew(lab):
    lab.finish("OP-TB")
    result_page(lab).use_rates()
    lab.finish("SL-HN", wrong={("8", 1)})
    page = result_page(lab)
    assert page.state.chosen.startswith("The walk uses what this study said before: detection 92 %")
    assert page.state.offer == "detection 89 %, false alarm 8 %"
    other = Lab(lab.desk, lab.concern, lab.open().id)
    assert result_page(other).state.chosen.startswith("The walk uses another study: ")


def test_the_answer_page_shows_where_the_rates_come_from(lab):
    lab.finish("OP-TB", "SL-HN")
    result_page(lab).use_rates()
    state = opened(AnswerPage, lab.desk, Route(screen="answer", concern=lab.concern)).state
    assert any("inspection study of 2026-03-03, 6 bad and 6 good parts" in said for said in state.warnings)


def test_a_study_that_is_not_here_is_said_on_every_page(desk):
    concern = desk.concern()
    route = Route(concern=concern, study="none", inspector="OP-TB")
    for page in (StudyPage, ReadingPage, StudyResultPage):
        assert "not in this store" in opened(page, desk, route).state.problem


def test_readings_are_those_of_the_page(lab):
    page = reading_page(lab)
    page.answer("not_ok")
    (made,) = [r for r in lab.desk.records if isinstance(r, StudyReading)]
    assert (made.inspector, made.called, made.study) == ("OP-TB", "not_ok", lab.study)
