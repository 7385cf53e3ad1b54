"""A change point by touch: in under 30 seconds at the station, on the time line, and corrected."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.presenters.test_time_axis import overlapping
from tests.screens.layout_check import box, problems
from tests.screens.test_layout import TABLETS
from walkapp.actions.changes import change_points
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import CHANGE_KINDS, ChangePoint, what_is_said

pytestmark = pytest.mark.window

POINT_S, PRESS_S, THINK_S, KEY_S = 1.10, 0.20, 1.35, 0.28
"""Times of the keystroke-level model: point to a target, press and release, prepare mentally, type a key
(average non-secretary typist). Card, Moran & Newell (1980), Communications of the ACM 23(7), 396-410, as
repeated in lecture notes on GOMS of the University of Hamburg (asi-www.informatik.uni-hamburg.de, page
"goms", read as a search excerpt); the paper itself was not read. The model is for experts who make no
mistakes, with a mouse."""

GLOVE = 1.5
"""How much longer a gloved finger takes to point and to type; our own assumption, no source."""

ALLOWED_S = 30.0


@dataclass
class Counted:
    """How often a hand tapped, dragged and pressed a key."""

    taps: int = 0
    drags: int = 0
    keys: int = 0

    @property
    def seconds(self) -> float:
        """Time by the model: a thought before every tap, and a drag is to point twice."""
        tap = THINK_S + GLOVE * POINT_S + PRESS_S
        return self.taps * tap + self.drags * 2 * GLOVE * POINT_S + self.keys * GLOVE * KEY_S


def counting(hand):
    """Count what a hand does from now on; it goes on doing it."""
    counted = Counted()
    tap, drag, write = hand.tap, hand.drag, hand.type

    def one_tap(target, *args, **more):
        counted.taps += 1
        tap(target, *args, **more)
        hand.wait(0.5)  # no person is faster; the page has moved to the next question by then

    def one_drag(*args, **more):
        counted.drags += 1
        drag(*args, **more)

    def keys(text):
        counted.keys += len(text)
        write(text)

    hand.tap, hand.drag, hand.type = one_tap, one_drag, keys
    return counted


@pytest.fixture
def open_floor(drive, tmp_path):
    """Open the app on a floor with a walk; gives floor, app, hand, walk and the tablet's fineness."""
    desks = []

    def start(tablet):
        sizes = dict(TABLETS[tablet])
        fineness = sizes.pop("pixels_per_inch")
        desk = Desk(tmp_path)
        desks.append(desk)
        floor = Floor(desk)
        floor.walk()
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, **sizes)
        return floor, app, hand, TouchWalk(desk, hand, tmp_path / "camera"), fineness

    yield start
    for desk in desks:
        desk.store.close()


def answer(hand, walk, *names):
    """Tap answers of a form as fast as a person, who sees the page move to the next question."""
    for name in names:
        walk.tap(f"field-{name}")
        hand.wait(0.5)


def changes(floor):
    return [r for r in floor.desk.records if isinstance(r, ChangePoint)]


USEFUL = (
    "change-choice-machine",
    "common-choice-Repaired",
    "changed_on-choice-2026-03-02",
    "customer_told-choice-no",
)
COMPLETE = (
    *USEFUL, "meant_to-choice-run as before", "reason-choice-Worn out or broken",
    "approved_by-choice-shift lead",
)  # fmt: skip


@pytest.mark.parametrize(
    ("tablet", "answers"),
    [("7 inch lying", COMPLETE), ("8 inch standing", USEFUL)],
    ids=["complete", "useful"],
)
def test_a_change_point_takes_less_than_30_seconds_by_the_keystroke_level_model(
    open_floor, tablet, answers
):
    floor, app, hand, walk, fineness = open_floor(tablet)
    app.go(replace(floor.route, station="leak-test"))
    walk.tap("cautions-read")
    counted = counting(hand)

    walk.tap("change")
    for one in answers:
        assert problems(hand.window, pixels_per_inch=fineness) == []
        walk.tap(f"field-{one}")
    walk.tap("record")

    (point,) = changes(floor)
    said = {name: value for name, value in what_is_said(point).items() if value}
    assert said == {
        "station": "leak-test", "change": "machine", "what": "Repaired", "changed_on": "2026-03-02",
        "customer_told": "no",
        **({"meant_to": "run as before", "reason": "Worn out or broken", "approved_by": "shift lead"}
           if answers is COMPLETE else {}),
    }  # fmt: skip
    assert (counted.taps, counted.drags, counted.keys) == (len(answers) + 2, 0, 0)
    assert counted.seconds < ALLOWED_S
    assert app.session.kept.route().screen == "station"


def test_the_page_does_not_move_under_a_finger_nor_before_a_glove_has_stopped_bouncing(open_floor):
    floor, app, hand, walk, _ = open_floor("7 inch lying")
    app.go(replace(floor.route, screen="change", station="leak-test"))
    walk.settle()
    scroll = app.page.ids.scroll

    hand.tap("field-change-choice-machine", hold_s=0.05)
    finger = hand.finger((hand.window.width - 30, 300))
    finger.down()
    hand.wait(1.0)
    assert scroll.scroll_y == 1
    finger.up()
    hand.wait(0.6)

    assert scroll.scroll_y < 1
    assert box(hand.find("field-common"))[3] == pytest.approx(box(scroll)[3], abs=2)


def test_a_day_to_come_is_refused_in_the_window_and_nothing_is_lost(open_floor):
    floor, app, hand, walk, fineness = open_floor("7 inch lying")
    app.go(replace(floor.route, screen="change", station="leak-test"))
    walk.settle()
    answer(hand, walk, *USEFUL[:2])
    walk.write("changed_on", "2026-03-30")
    walk.tap("record")

    assert any(text.startswith("When: 2026-03-30 is still to come") for text in hand.texts())
    assert changes(floor) == []
    assert hand.find("field-common").words == "Repaired"
    assert problems(hand.window, pixels_per_inch=fineness) == []
    answer(hand, walk, "changed_on-choice-not known")
    walk.tap("record")
    assert [point.what for point in changes(floor)] == ["Repaired"]


def test_from_the_time_line_to_a_change_its_correction_and_back(open_floor):
    floor, app, hand, walk, fineness = open_floor("7 inch lying")
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    app.go(replace(floor.route, screen="onset"))
    walk.settle()

    walk.tap("new-change")
    assert problems(hand.window, pixels_per_inch=fineness) == []
    answer(hand, walk, "station-choice-moulding", "change-choice-material", "common-choice-New lot")
    answer(hand, walk, "changed_on-choice-2026-02-25")
    walk.tap("record")
    drawing = hand.find("time-line").drawing
    assert [(mark.change.number, mark.change.day) for mark in drawing.changes] == [
        (1, "2026-02-24"), (2, "2026-02-25"),
    ]  # fmt: skip
    assert overlapping(drawing.texts) == []
    assert problems(hand.window, pixels_per_inch=fineness) == []

    walk.tap("suspect-2")
    assert hand.find("sentence").text == "New lot"
    assert problems(hand.window, pixels_per_inch=fineness) == []
    walk.tap("correct")
    answer(hand, walk, "why-choice-mistyped", "station-choice-degating")
    assert problems(hand.window, pixels_per_inch=fineness) == []
    walk.tap("record")

    points = sorted(changes(floor), key=lambda point: point.number)
    assert [(p.what, p.station, p.walk, p.why) for p in points[1:]] == [
        ("New lot", "moulding", "", ""),
        ("New lot", "degating", "", "mistyped"),
    ]
    walk.tap("undo")
    assert [p.station for p in change_points(floor.facts)] == ["leak-test", "moulding"]
    hand.back()
    walk.settle()
    assert app.session.kept.route().screen == "onset"


@pytest.mark.parametrize("tablet", ["8 inch standing", "10 inch lying"])
def test_the_pages_of_a_change_fit_the_other_tablets(open_floor, tablet):
    floor, app, hand, walk, fineness = open_floor(tablet)
    floor.lots()
    point = floor.change("Harder clamp pads", day=24, customer_told="no")
    for screen in ("onset", "new_change", "change_point", "correct_change"):
        app.go(replace(floor.route, screen=screen, entry=point.id))
        walk.settle()
        assert problems(hand.window, pixels_per_inch=fineness) == []


@pytest.mark.parametrize("tablet", ["7 inch lying", "8 inch standing"])
@pytest.mark.parametrize(
    "days", [[date(2026, 2, 24)] * 40, [date(2024, 3, 1) + timedelta(18 * n) for n in range(40)]]
)
def test_forty_changes_of_one_day_or_over_two_years_fit_every_tablet(open_floor, tablet, days):
    floor, app, hand, walk, fineness = open_floor(tablet)
    floor.lots()
    for number, day in enumerate(days):
        kind = CHANGE_KINDS[number % 6]
        floor.change(f"Change {number} (invented)", changed_on=day.isoformat(), kind=kind)
    app.go(replace(floor.route, screen="onset"))
    walk.settle()

    chart = hand.find("time-line")
    assert len(chart.drawing.changes) == 40
    assert overlapping(chart.drawing.texts) == []
    assert chart.drawing.width == chart.width <= hand.window.width
    assert [text.text for text in chart.drawing.texts][-1] == "Date (year-month-day)"
    assert problems(hand.window, pixels_per_inch=fineness) == []
