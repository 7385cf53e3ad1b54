"""Gloved hands in a real window: what bounces, rests, wobbles, slides and scrolls is no tap of its own."""

from __future__ import annotations

import gc
import random
from dataclasses import replace
from itertools import product

import pytest
from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView

from tests.fakes import Desk
from tests.screens.gallery import GalleryApp, column, rows
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import Answer, Measurement
from walkapp.presenters.route import Route
from walkapp.screens import widgets
from walkapp.screens.kit.scrolling import GloveScroll

pytestmark = [pytest.mark.long, pytest.mark.window]

WOBBLE_DP = 40
"""6 mm on the least dense tablet planned for (170 pixels an inch at density 1)."""


PALM = ((0, 0), (1, 0), (0, 1), (1, 1), (-1, 0))
"""Fingers of a palm, in steps of a thing that is tapped."""


def tappables():
    """Give everything that is tapped, on one page."""
    return column(
        widgets.TapButton(text="Go on", test_name="go"),
        widgets.MarkButton(text="Mark", shape="clean", test_name="mark"),
        widgets.Choice(options=[("a", "One"), ("b", "Other")], test_name="choice"),
        widgets.Stepper(label="Checked", value=3, test_name="stepper"),
        widgets.AnswerBar(test_name="bar"),
    )


def touch(hand, target):
    """Come down for two frames."""
    finger = hand.finger(target)
    finger.down()
    hand.wait(0.03)
    finger.up()


EVENTS = {
    "go": ("go", "on_tap"),
    "mark": ("mark", "on_tap"),
    "choice-a": ("choice", "on_choice"),
    "stepper-more": ("stepper", "on_step"),
    "stepper-value": ("stepper", "on_pad"),
    "answer-ok": ("bar", "on_answer"),
    "row-r1": ("stack", "on_row"),
    "key-minus": ("pad", "on_key"),
    "key-enter": ("pad", "on_key"),
}
"""What is touched, and what tells of it."""


@pytest.fixture
def kit(drive):
    """Everything that is tapped; gives the hand and a list of what it tells."""

    def page():
        root = BoxLayout()
        lists = column(widgets.Stack(rows=rows(6), test_name="stack"), widgets.NumberPad())
        for side in (tappables(), lists):
            root.add_widget(side)
        return root

    hand = drive(GalleryApp(page), size=(1600, 1600))
    heard = []
    for owner, event in set(EVENTS.values()):
        hand.find(owner).bind(**{event: lambda _w, *what, e=event: heard.append((e, *what))})
    return hand, heard


def test_a_touch_that_follows_so_soon_is_the_same_tap_on_everything_that_is_tapped(kit):
    hand, heard = kit

    for name, gap_s in product(EVENTS, (0.03, 0.06, 0.12, 0.2)):
        heard.clear()
        hand.look()
        for _ in range(3 if gap_s < 0.1 else 2):
            touch(hand, name)
            hand.wait(gap_s)
        hand.wait(0.3)
        assert len(heard) == 1, (name, gap_s)


def test_a_bounce_that_waited_while_the_window_was_busy_is_still_one(kit):
    hand, heard = kit

    for name in EVENTS:
        heard.clear()
        hand.look()
        touch(hand, name)
        hand.now += 0.8  # one frame took as long as that
        touch(hand, name)
        hand.wait(0.3)
        assert len(heard) == 1, name


def test_two_fingers_on_one_thing_are_one_tap_and_on_two_things_none(kit):
    hand, heard = kit

    for name, other in (("go", "mark"), ("choice-a", "choice-b"), ("answer-ok", "answer-not_ok")):
        for second, taps in ((name, 1), (other, 0)):
            heard.clear()
            hand.look()
            fingers = [hand.finger(name), hand.finger(second)]
            for finger in fingers:
                finger.down()
                hand.wait(0.05)
            for finger in fingers:
                finger.up()
                hand.wait(0.1)
            assert len(heard) == taps, (name, second)


def test_a_palm_of_five_fingers_taps_nothing_anywhere(kit):
    hand, heard = kit
    chance = random.Random(5)

    for _ in range(25):
        hand.look()
        x, y = chance.uniform(150, 1400), chance.uniform(150, 1400)
        palm = [hand.finger((x + dx * 110, y + dy * 110)) for dx, dy in PALM]
        for finger in palm:
            finger.down()
            hand.wait(0.01)
        for finger in palm:
            hand.wait(chance.choice((0.01, 0.2)))
            finger.up()
        hand.wait(0.3)
    row = hand.find("row-r1")
    x, y = row.to_window(*row.center)
    palm = [hand.finger((x + 40 * number, y)) for number in range(-2, 3)]  # all of it on one wide row
    hand.look()
    for finger in palm:
        finger.down()
    hand.wait(0.1)
    for finger in palm:
        finger.up()
    hand.wait(0.3)
    assert heard == []


def test_a_button_that_is_made_anew_under_the_finger_is_not_tapped_by_its_bounce(drive):
    heard = []

    def anew(place, *_):
        place.clear_widgets()
        button = widgets.TapButton(text="Undo", test_name="undo")
        button.bind(on_tap=lambda _w: heard.append(1) or anew(place))
        place.add_widget(button)

    def page():
        place = BoxLayout()
        anew(place)
        return place

    hand = drive(GalleryApp(page))
    for _ in range(2):
        hand.look()
        touch(hand, "undo")
        gc.collect()
        hand.wait(0.06)
        touch(hand, "undo")
        hand.wait(0.3)

    assert len(heard) == 2


def test_a_finger_that_rests_does_nothing_and_keeps_no_other_from_tapping(kit):
    hand, heard = kit
    resting = hand.finger("mark")
    resting.down()
    hand.wait(0.6)

    hand.tap("go")
    assert heard == [("on_tap",)]
    hand.wait(2.5)
    resting.up()
    hand.wait(0.3)

    assert heard == [("on_tap",)]


def test_a_slow_press_taps_one_that_stays_or_slides_off_does_not(kit):
    hand, heard = kit

    hand.tap("go", hold_s=1.0)
    hand.tap("row-r1", hold_s=1.0)
    assert [event for event, *_ in heard] == ["on_tap", "on_row"]

    hand.tap("go", hold_s=3.0)
    button = hand.find("go")
    hand.drag(button, (button.center_x, button.y - 60), rests=True)
    assert len(heard) == 2


def test_digits_typed_by_two_thumbs_come_in_the_order_in_which_they_were_touched(kit):
    hand, heard = kit
    hand.look()
    first, second = hand.finger("key-1"), hand.finger("key-2")

    first.down()
    hand.wait(0.12)
    second.down()
    hand.wait(0.05)
    second.up()
    hand.wait(0.05)
    first.up()
    hand.wait(0.2)

    assert [key for _, key in heard] == ["1", "2"]


# lists


@pytest.fixture(params=["long list", "page"])
def scrolling(request, drive):
    """Show 500 rows, or a page of 60; gives the hand, what scrolls and what it tells."""

    def page():
        if request.param == "long list":
            return widgets.Rows(rows=rows(500), test_name="list")
        view = widgets.Scroll()
        view.add_widget(widgets.Stack(rows=rows(60), test_name="list"))
        return view

    hand = drive(GalleryApp(page), size=(800, 1280), density=1.33)
    heard = []
    hand.find("list").bind(on_row=lambda _w, row: heard.append(row))
    view = next(w for w in hand.widgets() if isinstance(w, GloveScroll))
    hand.look()
    return hand, view, heard


def path(chance, length_px):
    """Make up where a thumb goes: away by more than a wobble, with tremor, rests and perhaps back again."""
    x, y = chance.uniform(100, 700), chance.uniform(300, 950)
    steps = chance.randint(3, 14)
    away = chance.choice((-1, 1)) * chance.uniform(1.1, 5) * length_px
    comes_back = chance.random() < 0.3
    points = []
    for step in range(1, steps + 1):
        share = step / steps
        share = 2 * min(share, 1 - share) + (1 / steps) * 0.01 if comes_back and steps > 3 else share
        tremor = chance.uniform(-4, 4)
        points.append((x + tremor * 2, min(max(y + away * share + tremor, 5), 1270)))
    return (x, y), points


def test_whatever_path_a_thumb_takes_that_scrolls_no_row_is_tapped(scrolling):
    hand, _, heard = scrolling
    chance = random.Random(11)

    for _ in range(60):
        start, points = path(chance, dp(WOBBLE_DP) * 1.5)
        finger = hand.finger(start)
        finger.down()
        hand.wait(chance.choice((0.02, 0.1, 0.4, 1.0)))
        for x, y in points:
            finger.move(x, y)
            hand.wait(chance.choice((1 / 60, 1 / 60, 0.05)))
        if chance.random() < 0.3:  # the other hand touches the glass too
            hand.poke((400, 640), hold_s=0.03)
        finger.up()
        hand.wait(chance.choice((0.02, 0.3)))

    assert heard == []


def test_a_finger_that_comes_down_while_the_list_moves_only_stops_it(scrolling):
    hand, view, heard = scrolling

    for _ in range(4):
        hand.drag((400, 300), (400, 900), seconds=0.1, steps=5)
        before = view.scroll_y
        hand.poke((400, 640), hold_s=0.1)
        hand.wait(0.1)
        assert heard == [] and view.scroll_y != 1 != before
        hand.wait(2.0)
    # How far it swung is another thing each time: a row and not a place, which may be between two.
    rows_seen = [w for w in hand.widgets() if getattr(w, "test_name", "").startswith("row-")]
    hand.tap(min(rows_seen, key=lambda row: abs(row.to_window(*row.center)[1] - 640)))
    assert len(heard) == 1


def test_a_wobble_within_6_mm_taps_however_often_it_goes_to_and_fro(scrolling):
    hand, _, heard = scrolling
    row = hand.find("row-r2")
    x, y = row.to_window(*row.center)
    finger = hand.finger((x, y))

    finger.down()
    for step in range(10):
        hand.wait(0.03)
        finger.move(x, y + (-1) ** step * dp(WOBBLE_DP) * 0.45)
    finger.move(x, y)
    finger.up()
    hand.wait(0.3)

    assert heard == ["r2"]


def test_a_wobble_across_the_gap_between_two_rows_taps_neither(scrolling):
    hand, _, heard = scrolling
    row, below = hand.find("row-r1"), hand.find("row-r2")
    x, y = row.to_window(row.center_x, row.y + 4)
    to = below.to_window(below.center_x, below.top - 2)[1]
    assert abs(y - to) < dp(WOBBLE_DP)

    hand.look()
    finger = hand.finger((x, y))
    finger.down()
    hand.wait(0.05)
    finger.move(x, to)
    hand.wait(0.05)
    finger.up()
    hand.wait(0.3)

    assert heard == []


def test_after_100_scrolls_and_a_turned_tablet_every_row_shows_its_own(drive):
    wanted = {row.id: row for row in rows(500)}
    hand = drive(GalleryApp(lambda: widgets.Rows(rows=rows(500), test_name="list")), size=(800, 1280))
    view, chance = hand.find("list"), random.Random(3)

    for number in range(100):
        view.scroll_y = chance.random()
        hand.wait(1 / 60)
        if number in (33, 66):
            hand.turn((1280, 800) if number == 33 else (800, 1280))
        shown = [w for w in hand.widgets() if isinstance(w, widgets.Row) and w.parent is not None]
        assert shown
        for widget in shown:
            row = wanted[widget.row_id]
            assert (widget.title, widget.subtitle, widget.mark) == (row.title, row.subtitle, row.mark)


# pages


class Walked:
    """The window of the program, on a walk at the leak test."""

    def __init__(self, drive, folder, size=(1024, 600)):
        self.desk = Desk(folder)
        self.app = window_app(self.desk.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, size=size)
        self.walk = TouchWalk(self.desk, self.hand, folder / "camera")
        self.route = replace(self.desk.walk(), station="leak-test")

    def go(self, screen, check=""):
        self.app.go(replace(self.route, screen=screen, check=check))
        self.walk.settle()

    def bounce(self, name, waits):
        """Tap, and come down again where it was after each of the waits; the disk is as fast as can be."""
        x, y = self.hand.find(name).to_window(*self.hand.find(name).center)
        self.hand.look()
        for wait_s in (1 / 60, *waits):
            self.hand.wait(wait_s)
            touch(self.hand, (x, y))
            self.app.worker.finish()
        self.walk.settle()

    @property
    def screen(self):
        return self.app.page.presenter.route.screen


BOUNCES = [(0.03,), (0.1, 0.06), (0.2,)]


def test_a_bounce_on_an_answer_is_no_second_part(drive, tmp_path):
    tablet = Walked(drive, tmp_path)
    with tablet.desk.store:
        tablet.go("judge", "ear-look")
        for count, waits in enumerate(BOUNCES, start=1):
            tablet.bounce("answer-ok", waits)
            assert [r.answer for r in tablet.desk.records if isinstance(r, Answer)] == ["ok"] * count


@pytest.mark.parametrize("waits", [(0.1, 0.06), (0.2,)])
def test_a_bounce_never_reaches_what_comes_up_on_the_next_page(drive, tmp_path, waits):
    tablet = Walked(drive, tmp_path)
    with tablet.desk.store:
        tablet.go("station")
        if tablet.hand.has("cautions-read"):
            tablet.bounce("cautions-read", waits)
            assert tablet.screen == "station" and tablet.hand.has("row-ear-look")
        count = len(tablet.desk.records)
        for row, screen in (("row-ear-look", "judge"), ("row-part-temperature", "measure")):
            tablet.walk._reach(row)
            tablet.bounce(row, waits)
            assert (tablet.screen, len(tablet.desk.records)) == (screen, count)
            tablet.bounce("back", waits)
            assert tablet.screen == "station"
        tablet.go("judge", "ear-look")
        tablet.bounce("answer-not_applicable", waits)
        assert tablet.screen == "reason" and len(tablet.desk.records) == count
        assert all(not field.value for field in tablet.app.page.state.fields)
        tablet.app.go(Route())
        tablet.walk.settle()
        tablet.bounce("new-concern", waits)
        assert tablet.screen == "new_concern"


def test_a_bounce_on_enter_records_one_value_and_one_on_minus_turns_the_sign_once(drive, tmp_path):
    waits = (0.1, 0.06)
    tablet = Walked(drive, tmp_path)
    with tablet.desk.store:
        tablet.go("measure", "part-temperature")
        for key in ("4", "1"):
            tablet.walk.tap(f"key-{key}")
        tablet.bounce("key-minus", waits)
        assert tablet.app.page.state.pad.text == "-41"
        tablet.bounce("key-minus", waits)
        tablet.bounce("key-enter", waits)

        assert [r.value for r in tablet.desk.records if isinstance(r, Measurement)] == ["41"]


def test_a_finger_that_was_on_a_page_that_is_gone_does_nothing_there(drive, tmp_path):
    tablet = Walked(drive, tmp_path)
    with tablet.desk.store:
        tablet.go("judge", "ear-look")
        late = tablet.hand.finger("answer-ok")
        late.down()
        tablet.hand.wait(0.2)
        tablet.app.go(Route())
        tablet.hand.wait(0.5)
        late.up()
        tablet.walk.settle()

        assert not [r for r in tablet.desk.records if isinstance(r, Answer)]


def test_every_view_of_every_page_that_scrolls_knows_gloves(drive, tmp_path):
    tablet = Walked(drive, tmp_path)
    with tablet.desk.store:
        for screen in ("home", "concern", "station", "answer", "detail", "onset", "search", "studies"):
            tablet.go(screen)
            views = [w for w in tablet.app.page.walk() if isinstance(w, ScrollView)]
            assert views and all(isinstance(view, GloveScroll) for view in views), screen
            assert all(view.scroll_distance == dp(WOBBLE_DP) for view in views), screen


def test_a_drag_that_follows_others_at_once_scrolls_as_far(scrolling):
    hand, view, heard = scrolling
    moved = []

    for _ in range(6):
        before = view.scroll_y
        hand.drag((400, 500), (400, 700), rests=True)
        moved.append(before - view.scroll_y)

    assert heard == [] and min(moved) > 0.9 * max(moved) > 0
