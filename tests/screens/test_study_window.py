"""A whole inspection study in a real window, by touch, from the concern to rates that the walk uses."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.screens.layout_check import problems
from walkapp.actions.reading import concern_facts
from walkapp.actions.studies import open_study, studies_of, study_facts
from walkapp.actions.walking import open_concern
from walkapp.app import window_app
from walkapp.demo.hand import Hand
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import StudyReading
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

CHECKLISTS = Path(__file__).parents[2] / "checklists"
BAD, GOOD = ("3", "4", "7", "8", "11", "12"), ("1", "2", "5", "6", "9", "10")
LOW = {"size": (1024, 600), "density": 1.0}
LOW_PIXELS_PER_INCH = 170


class Study:
    """The hand on one tablet; looks at every page for what is cut, small or covered."""

    def __init__(self, tablet, folder) -> None:
        self.tablet = tablet
        app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
        self.hand = Hand(app, folder=folder, **LOW)
        self.walk = TouchWalk(tablet, self.hand, folder / "camera")
        self.walk.settle()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        assert self.hand.close() == []

    def tap(self, name):
        self.walk.tap(name)
        self.check()

    def check(self):
        assert problems(self.hand.window, pixels_per_inch=LOW_PIXELS_PER_INCH) == []

    def says(self, name):
        return self.hand.find(name).text

    def judge(self):
        """Judge the part that the page asks for, rightly."""
        part = self.says("part").removeprefix("Take part ")
        self.walk.tap("answer-not_ok" if part in BAD else "answer-ok")
        self.hand.wait(0.3)
        return part


@pytest.fixture
def tablet(tmp_path):
    made = open_tablet(read_scenario()["tablet"][0], tmp_path / "store", CHECKLISTS)
    with made.place.store:
        yield made


def test_a_whole_study_by_touch_feeds_the_walk(tablet, tmp_path):
    concern = open_concern(tablet.place, **read_scenario()["concern"]).concern
    with Study(tablet, tmp_path) as study:
        walk_through(study, concern)
    (facts,) = studies_of(concern_facts(tablet.place, concern))
    assert len(facts.held) == 24
    assert {r.called for r in facts.held if r.part in BAD} == {"not_ok"}
    assert sum(isinstance(r, StudyReading) for r in tablet.place.store.records(concern)) == 26


def walk_through(study, concern):
    study.hand.app.go(Route(screen="concern", concern=concern))
    study.walk.settle()
    study.tap("to-studies")
    study.tap("new-study")
    study.tap("field-check-choice-leak-test ear-look")
    study.walk.write("bad", " ".join(BAD))
    study.walk.write("good", ", ".join(GOOD))
    study.tap("field-repeats-choice-1")
    assert study.hand.find("advice").text.startswith("6 bad and 6 good parts: 24 readings")
    study.tap("record")

    orders = {}
    for inspector in ("OP-TB", "SL-HN"):
        study.tap("new-inspector")
        study.walk.write("inspector", inspector)
        study.tap("record")
        assert study.says("progress") == "Reading 1 of 12"
        # One reading is taken back: its part comes again, and only the second one counts.
        first = study.judge()
        assert study.says("saved") == f"On disk: part {first}"
        study.tap("undo")
        assert study.says("part") == f"Take part {first}"
        orders[inspector] = [study.judge() for _ in range(12)]
        study.check()
        assert study.says("done").startswith("All 12 readings are on disk")
        study.tap("to-study")
    assert all(sorted(order) == sorted(BAD + GOOD) for order in orders.values())
    assert orders["OP-TB"] != orders["SL-HN"]

    study.tap("to-result")
    assert study.says("verdict").startswith("Usable: bad parts are called NOK in 100 % of readings")
    assert "Kappa of OP-TB and SL-HN: 1.00, range not known" in "\n".join(study.hand.texts())
    assert study.says("chosen").startswith("The walk uses the checklist")
    study.tap("use-rates")
    assert study.says("chosen").startswith(
        "The walk uses this study: detection 92 %, false alarm 8 %; chosen by QE-RT, 2026-03-03"
    )
    assert study.hand.find("use-rates").disabled

    study.hand.app.go(Route(screen="answer", concern=concern))
    study.walk.settle()
    assert "6 bad and 6 good parts" in study.hand.find("warnings").text


def test_the_reading_page_gives_nothing_away_and_is_there_again_after_a_restart(tmp_path):
    facts = read_scenario()["tablet"][0]
    first = open_tablet(facts, tmp_path / "store", CHECKLISTS)
    with first.place.store, Study(first, tmp_path) as study:
        concern = open_concern(first.place, **read_scenario()["concern"]).concern
        opened = open_study(
            first.place, concern_facts(first.place, concern), "leak-test", "ear-look",
            bad=BAD, good=GOOD, repeats=2,
        )  # fmt: skip
        route = Route(screen="reading", concern=concern, study=opened.id, inspector="OP-TB")
        study.hand.app.go(route)
        study.walk.settle()
        study.judge()
        study.judge()
        study.check()
        third = study.says("part")
        told = {text for text in study.hand.texts() if not text.startswith("Bend the ear")}
        # The two answers stand on their buttons and nowhere else.
        assert {text for text in told if "OK" in text} == {"NOK", "OK"}
        assert not [text for text in told if "bad" in text or "good" in text]

    again = open_tablet(facts | {"seed": 999}, tmp_path / "store", CHECKLISTS)
    with again.place.store, Study(again, tmp_path) as later:
        assert later.says("part") == third
        assert later.says("progress") == "Reading 3 of 24, repeat 1 of 2"
        later.judge()
        assert study_facts(again.place, concern, opened.id).done("OP-TB") == 3
