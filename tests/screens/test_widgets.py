"""The widgets of the kit under real touches, gloves and all."""

from __future__ import annotations

from decimal import Decimal
from types import SimpleNamespace

import pytest
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from tests.screens.gallery import GalleryApp, column, rows, tiles
from walkapp.presenters.frame import UnitChoice
from walkapp.presenters.pad import tolerance_view
from walkapp.screens import look, widgets
from walkapp.screens.kit.numbers import Readout
from walkapp.screens.kit.scrolling import Scroll

pytestmark = pytest.mark.window


@pytest.fixture
def show(drive):
    """Put one widget on a page of its own; gives the hand."""

    def put(widget_of, **sizes):
        return drive(GalleryApp(lambda: column(widget_of())), **sizes)

    return put


def listening(widget, *events):
    """Keep what a widget tells of."""
    heard = []
    for event in events:
        widget.bind(**{event: lambda _, *what, event=event: heard.append((event, *what))})
    return heard


def one_button(**more):
    return widgets.TapButton(text="Go on", test_name="go", **more)


# texts


def test_what_cannot_be_seen_in_a_text_gets_a_mark_and_markup_stays_off(show):
    hostile = "clean\u202e dab\u200b [b]bold[/b] \x1b[2J\nsecond line"
    shown = "clean<U+202E> dab<U+200B> [b]bold[/b] <U+001B>[2J\nsecond line"
    hand = show(lambda: widgets.TapButton(text=hostile, detail=hostile, test_name="go"))

    labels = [w for w in hand.find("go").walk() if isinstance(w, Label) and w.text]
    assert [label.text for label in labels] == [shown, shown]
    assert not any(label.markup for label in labels)

    hand.find("go").text = "plain"
    assert labels[0].text == "plain"
    hand.find("go").text = "\u2066again"
    assert labels[0].text == "<U+2066>again"
    hand.wait(0.1)


# one button


def test_a_tap_is_told_once(show):
    hand = show(one_button)
    heard = listening(hand.find("go"), "on_tap")

    hand.tap("go")

    assert heard == [("on_tap",)]


def test_a_bounce_60_ms_later_is_the_same_tap(show):
    hand = show(one_button)
    heard = listening(hand.find("go"), "on_tap")

    for _ in range(2):
        finger = hand.finger("go")
        finger.down()
        hand.wait(0.02)
        finger.up()
        hand.wait(0.06)

    assert len(heard) == 1


def test_two_taps_half_a_second_apart_are_two(show):
    hand = show(one_button)
    heard = listening(hand.find("go"), "on_tap")

    hand.tap("go")
    hand.wait(0.35)
    hand.tap("go")

    assert len(heard) == 2


def test_two_fingers_on_one_button_are_one_tap_however_long_they_stay(show):
    hand = show(one_button)
    heard = listening(hand.find("go"), "on_tap")
    first, second = hand.finger("go"), hand.finger("go")

    first.down()
    second.down()
    hand.wait(0.1)
    first.up()
    hand.wait(1)
    second.up()
    hand.wait(0.1)

    assert len(heard) == 1


def test_a_finger_that_slides_off_does_nothing_and_the_next_tap_counts(show):
    hand = show(one_button)
    button = hand.find("go")
    heard = listening(button, "on_tap")

    hand.drag(button, (button.center_x, button.y - 200))
    assert heard == []
    hand.tap("go")

    assert len(heard) == 1


def test_a_button_that_is_off_does_nothing(show):
    hand = show(lambda: one_button(disabled=True))
    heard = listening(hand.find("go"), "on_tap")

    hand.tap("go")

    assert heard == []


def test_a_held_button_looks_pressed(show):
    hand = show(one_button)
    button, finger = hand.find("go"), hand.finger("go")
    before = tuple(button.paper), button.foot_px

    finger.down()
    hand.wait(0.1)

    assert (tuple(button.paper), button.foot_px) == (look.THEME.pressed.paper, 0)
    finger.up()
    hand.wait(0.1)
    assert (tuple(button.paper), button.foot_px) == before


def test_a_long_text_makes_the_button_grow_and_a_short_one_shrink_again(show):
    hand = show(one_button)
    button = hand.find("go")

    button.text = "Record who was told about the escaped parts and when that was " * 20
    hand.wait(0.1)
    assert button.height > look.target() * 1.2
    button.text = "Go on"
    hand.wait(0.1)

    assert button.height == look.target()


# the three answers


def answer_bar(**more):
    return widgets.AnswerBar(test_name="bar", **more)


@pytest.mark.parametrize("word", ["ok", "not_ok", "not_applicable"])
def test_one_tap_gives_an_answer(show, word):
    hand = show(answer_bar)
    heard = listening(hand.find("bar"), "on_answer")

    hand.tap(f"answer-{word}")

    assert heard == [("on_answer", word)]


def test_two_fingers_on_two_answers_give_none_and_the_next_tap_counts(show):
    hand = show(answer_bar)
    heard = listening(hand.find("bar"), "on_answer")
    first, second = hand.finger("answer-ok"), hand.finger("answer-not_ok")

    first.down()
    hand.wait(0.03)
    second.down()
    hand.wait(0.1)
    first.up()
    hand.wait(0.5)
    second.up()
    hand.wait(0.1)
    assert heard == []

    hand.tap("answer-not_ok")
    assert heard == [("on_answer", "not_ok")]


def test_no_answer_counts_until_all_fingers_are_up(show):
    hand = show(answer_bar)
    heard = listening(hand.find("bar"), "on_answer")
    resting = hand.finger("answer-not_applicable")
    resting.down()
    hand.wait(0.5)

    hand.tap("answer-ok")
    assert heard == []
    resting.move(5, 5)
    resting.up()
    hand.wait(0.5)
    hand.tap("answer-ok")

    assert heard == [("on_answer", "ok")]


def test_a_bounce_onto_the_next_answer_is_left_out(show):
    hand = show(answer_bar)
    heard = listening(hand.find("bar"), "on_answer")

    for name in ("answer-ok", "answer-not_ok"):
        finger = hand.finger(name)
        finger.down()
        hand.wait(0.02)
        finger.up()
        hand.wait(0.06)

    assert heard == [("on_answer", "ok")]


def test_the_dead_space_between_answers_does_nothing(show):
    hand = show(answer_bar)
    heard = listening(hand.find("bar"), "on_answer")
    ok = hand.find("answer-ok")

    hand.tap(ok.to_window(ok.right + look.gap() / 2, ok.center_y))

    assert heard == []


def test_the_given_answer_is_shown_by_word_and_frame(show):
    hand = show(answer_bar)
    bar, button = hand.find("bar"), hand.find("answer-not_ok")

    bar.given = "not_ok"
    hand.wait(0.1)

    assert (button.is_framed, button.detail) == (True, "given")
    assert [b.is_framed for b in map(hand.find, ("answer-ok", "answer-not_applicable"))] == [False] * 2


def test_n_a_can_be_taken_away_and_offered_again(show):
    hand = show(lambda: answer_bar(offer_na=False))
    bar = hand.find("bar")
    assert not hand.has("answer-not_applicable")

    bar.offer_na = True
    hand.wait(0.1)
    heard = listening(bar, "on_answer")
    hand.tap("answer-not_applicable")

    assert heard == [("on_answer", "not_applicable")]


def test_answers_that_are_off_do_nothing(show):
    hand = show(lambda: answer_bar(disabled=True))
    heard = listening(hand.find("bar"), "on_answer")

    hand.tap("answer-ok")

    assert heard == []


# the strip


def test_a_tapped_tile_tells_its_station(show):
    hand = show(lambda: widgets.StreamStrip(tiles=tiles()))
    heard = listening(hand.find("strip"), "on_station")

    hand.tap("station-welding")

    assert heard == [("on_station", "welding")]


@pytest.mark.parametrize("size", [(1280, 800), (1024, 600)])
def test_eight_stations_need_no_scrolling_on_a_lying_tablet(show, size):
    hand = show(lambda: widgets.StreamStrip(tiles=tiles()), size=size)
    strip = hand.find("strip")

    assert strip.ids.row.width <= strip.width


def test_a_long_stream_is_scrolled_to_where_one_is(show):
    hand = show(lambda: widgets.StreamStrip(tiles=tiles(20, here="packing-13")))

    for here in ("packing-13", "moulding", "welding-18"):
        hand.find("strip").tiles = tiles(20, here=here)
        hand.wait(0.2)
        tile = hand.find(f"station-{here}")
        left, _ = tile.to_window(*tile.pos)
        assert 0 <= left <= hand.window.width - tile.width


def test_new_counts_are_shown_in_the_same_tiles(show):
    hand = show(lambda: widgets.StreamStrip(tiles=tiles()))
    before = hand.find("station-leak")

    hand.find("strip").tiles = tiles(here="pump", named="pump")
    hand.wait(0.1)

    assert hand.find("station-leak") is before
    assert not before.is_here
    assert hand.find("station-pump").flag == "first bad"


def test_dragging_the_strip_goes_to_no_station(show):
    hand = show(lambda: widgets.StreamStrip(tiles=tiles(20, here="moulding")))
    strip = hand.find("strip")
    heard = listening(strip, "on_station")

    hand.drag((900, strip.center_y), (300, strip.center_y))

    assert heard == []
    assert strip.scroll_x > 0


class Taller(Scroll):
    """A page that is higher than its window: a strip above much else."""

    def __init__(self):
        super().__init__(do_scroll_x=False)
        inside = BoxLayout(orientation="vertical", size_hint_y=None, height=1600)
        self.strip = widgets.StreamStrip(tiles=tiles(20, here="moulding"))
        inside.add_widget(self.strip)
        inside.add_widget(Widget())
        self.add_widget(inside)


@pytest.mark.parametrize("hold_s", [0.0, 2.0])
def test_a_finger_that_goes_up_on_the_strip_scrolls_the_page_and_taps_nothing(drive, hold_s):
    page = Taller()
    hand = drive(GalleryApp(lambda: page), size=(1280, 800))
    heard = listening(page.strip, "on_station")
    x, y = page.strip.to_window(*page.strip.center)

    finger = hand.finger((x, y))
    finger.down()
    for moved in range(0, 240, 20):
        hand.wait(0.02)
        finger.move(x, y + moved)
    hand.wait(hold_s)  # a finger that rests is no slow press once it has gone so far
    finger.up()
    hand.wait(0.3)

    assert page.scroll_y < 0.9
    assert page.strip.scroll_x == 0
    assert heard == []


def test_a_finger_that_goes_along_the_strip_scrolls_it_and_not_the_page(drive):
    page = Taller()
    hand = drive(GalleryApp(lambda: page), size=(1280, 800))
    _, y = page.strip.to_window(*page.strip.center)

    hand.drag((900, y), (300, y), rests=True)

    assert page.strip.scroll_x > 0
    assert page.scroll_y == 1


def test_here_next_and_first_bad_are_said_in_words(show):
    hand = show(lambda: widgets.StreamStrip(tiles=tiles(here="leak", next_="leak", named="leak")))

    said = " ".join(hand.texts())

    assert all(word in said for word in ("here", "next", "first bad"))


# numbers


def pad(**more):
    return widgets.NumberPad(**more)


def test_every_key_tells_its_own_name(show):
    hand = show(pad)
    heard = listening(hand.find("pad"), "on_key")

    for key in ("0", "7", "point", "minus", "back", "clear", "enter"):
        hand.tap(f"key-{key}")

    assert [key for _, key in heard] == ["0", "7", ".", "-", "back", "clear", "enter"]


def test_the_same_digit_twice_quickly_counts_twice(show):
    hand = show(pad)
    heard = listening(hand.find("pad"), "on_key")

    for _ in range(3):
        finger = hand.finger("key-5")
        finger.down()
        hand.wait(0.04)
        finger.up()
        hand.wait(0.08)

    assert [key for _, key in heard] == ["5", "5", "5"]


def test_a_digit_that_bounces_within_80_ms_counts_once(show):
    hand = show(pad)
    heard = listening(hand.find("pad"), "on_key")

    for _ in range(2):
        finger = hand.finger("key-5")
        finger.down()
        hand.wait(0.017)
        finger.up()
        hand.wait(0.017)

    assert len(heard) == 1


def test_a_pad_for_whole_numbers_has_no_point_and_no_sign(show):
    hand = show(lambda: pad(whole=True))

    assert not hand.has("key-point")
    assert not hand.has("key-minus")
    assert hand.has("key-0")


def test_a_key_to_leave_the_pad_stands_in_the_place_of_the_sign(show):
    made = pad(whole=True, has_close=True)
    hand = show(lambda: made)
    heard = listening(made, "on_key")

    hand.tap("key-close")

    assert heard == [("on_key", "close")]
    assert hand.find("key-close").right == hand.find("key-clear").right
    assert hand.find("key-close").y < hand.find("key-clear").y


def test_a_long_number_with_its_unit_stays_on_one_line_and_grows_again(show):
    hand = show(lambda: pad(test_name="pad", unit="mbar l/min at 23 °C and 50 % r. h."), size=(600, 800))
    number = hand.find("pad")
    (readout,) = [w for w in number.walk() if isinstance(w, Readout)]
    big = readout.font_size
    height = number.height

    number.text_value = "64.5645645645"
    hand.wait(0.1)
    assert readout.text == "64.5645645645 mbar l/min at 23 °C and 50 % r. h."
    assert readout.font_size < big
    assert readout.texture_size[1] <= readout.height
    assert number.height == height

    number.text_value = "6"
    hand.wait(0.1)
    assert readout.font_size == big


def test_turning_the_tablet_keeps_every_key_and_what_was_typed(show):
    hand = show(lambda: pad(text_value="12.5", unit="mm"), size=(1024, 600))
    names = [f"key-{key}" for key in (*"0123456789", "point", "minus", "back", "clear", "enter")]

    hand.turn((600, 1024))

    assert all(hand.has(name) for name in names)
    assert "12.5 mm" in hand.texts()


def test_the_tolerance_is_said_in_words_and_gone_without_a_view(show):
    hand = show(lambda: widgets.ToleranceBar(test_name="bar"))
    bar = hand.find("bar")
    assert bar.height == 0

    bar.view = tolerance_view("11.2", Decimal("11.5"), Decimal("12.5"), None, "mm")
    hand.wait(0.1)

    assert "11.2 mm: below LSL by 0.3 mm" in hand.texts()
    assert bar.height > 0


def test_a_stepper_steps_and_opens_the_pad(show):
    hand = show(lambda: widgets.Stepper(label="Checked", value=3, test_name="checked"))
    heard = listening(hand.find("checked"), "on_step", "on_pad")

    for part in ("more", "less", "value"):
        hand.tap(f"checked-{part}")

    assert heard == [("on_step", 1), ("on_step", -1), ("on_pad",)]


def test_a_stepper_at_zero_steps_no_further_down(show):
    hand = show(lambda: widgets.Stepper(label="NOK", value=0, test_name="nok"))
    heard = listening(hand.find("nok"), "on_step")

    hand.tap("nok-less")

    assert heard == []


# lists


@pytest.fixture
def long_list(drive):
    """Show a list of many rows; gives the hand, the list and what it tells."""

    def page():
        root = BoxLayout()
        root.add_widget(widgets.Rows(rows=rows(200), test_name="list"))
        return root

    hand = drive(GalleryApp(page))
    return hand, hand.find("list"), listening(hand.find("list"), "on_row")


def test_a_tapped_row_tells_its_id(long_list):
    hand, _, heard = long_list

    hand.tap("row-r1")

    assert heard == [("on_row", "r1")]


def test_a_row_is_as_high_as_its_text_whatever_its_length(long_list):
    hand, listed, _ = long_list
    word = "pads "
    for letters in range(60, 260):
        row = SimpleNamespace(id="r", title=(word * 60)[:letters], subtitle=(word * 60)[:letters], mark="")
        listed.rows = [row]
        hand.wait(0.05)

        seen = next(w for w in hand.widgets() if type(w).__name__ == "ListedRow")
        assert seen.height >= seen.words_px + 2 * look.space("apart"), letters


def test_scrolling_a_list_taps_no_row(long_list):
    hand, listed, heard = long_list

    hand.drag((400, 200), (400, 600))

    assert heard == []
    assert listed.scroll_y < 1


def test_a_finger_that_wobbles_30_px_still_taps(long_list):
    hand, _, heard = long_list
    row = hand.find("row-r2")
    x, y = row.to_window(*row.center)

    hand.drag((x, y), (x, y + 30), seconds=0.1)

    assert heard == [("on_row", "r2")]


def test_the_dead_space_between_rows_taps_nothing(long_list):
    hand, _, heard = long_list
    row = hand.find("row-r1")
    x, y = row.to_window(row.center_x, row.y)

    hand.tap((x, y - look.gap() / 2))

    assert heard == []


def test_after_scrolling_each_row_shows_and_tells_its_own(long_list):
    hand, listed, heard = long_list
    marks = {row.id: row.mark for row in rows(200)}

    listed.scroll_y = 0.5
    hand.wait(0.2)
    seen = [
        w for w in hand.widgets() if type(w).__name__ == "ListedRow" and 100 < w.to_window(*w.pos)[1] < 600
    ]
    hand.tap(seen[0])

    assert all(widget.mark == marks[widget.row_id] for widget in seen)
    assert heard == [("on_row", seen[0].row_id)]


def test_a_row_that_becomes_another_under_the_finger_tells_nothing(long_list):
    hand, listed, heard = long_list
    finger = hand.finger("row-r1")
    finger.down()
    hand.wait(0.4)

    listed.rows = rows(200)[50:]
    hand.wait(0.1)
    finger.up()
    hand.wait(0.2)

    assert heard == []


def test_a_row_without_an_id_cannot_be_tapped(show):
    row = SimpleNamespace(id="", title="Walk of another tablet", subtitle="3 entries", mark="")
    hand = show(lambda: widgets.Stack(rows=[row], test_name="stack"))
    heard = listening(hand.find("stack"), "on_row")

    hand.tap("row-")

    assert heard == []


@pytest.mark.parametrize(
    "text",
    [
        "Washer-fluid reservoir, whitened and cracked mounting ears reported by the customer. " * 4,
        "20 of 40 NOK, 33 % to 67 %; at most 0.5 % remain of 4\xa0800 parts. " * 5,
    ],
)
def test_measured_heights_are_those_that_the_labels_need(show, text):
    label = widgets.WrapLabel(test_name="text")
    show(lambda: label)
    label.text = text.strip()

    more = 0
    for width in range(200, 700, 2):
        label.text_size = (width, None)
        label.texture_update()
        # Type on one line is up to two pixels wider than its words; those who measure leave them.
        measured = widgets.TypeMeasure(label.font_size).height_px(label.text, width - 2)
        assert measured >= label.texture_size[1], width
        more += measured > label.texture_size[1]
    assert more < 25


def test_a_sign_of_percent_stays_with_its_number_where_a_line_is_broken(show):
    label = widgets.WrapLabel(test_name="text")
    show(lambda: label)
    label.text = "from 33 % to 67 % of them"

    for width in range(60, 200):
        label.text_size = (width, None)
        label.texture_update()
        lines = [line.words[0].text for line in label._label._cached_lines]
        assert not any(line.startswith("%") for line in lines), width
    assert label.text == "from 33 % to 67 % of them"


# words, fields, choices


def test_an_empty_banner_takes_no_room_and_a_filled_one_says_its_kind(show):
    hand = show(lambda: widgets.Banner(kind="error", test_name="problem"))
    banner = hand.find("problem")
    assert (banner.height, banner.opacity) == (0, 0)

    banner.text = "The disk is full."
    hand.wait(0.1)

    assert banner.height > 0
    assert {"Not done", "The disk is full."} <= set(hand.texts())


def test_typed_words_are_told_at_every_key_and_the_end_once(show):
    hand = show(lambda: widgets.Field(label="Note", test_name="note"))
    heard = listening(hand.find("note"), "words", "on_done")

    hand.tap("note-words")
    hand.type("ab")
    hand.key(13)
    hand.wait(0.2)

    assert heard == [("words", "a"), ("words", "ab"), ("on_done",)]


def test_words_given_from_outside_are_shown(show):
    hand = show(lambda: widgets.Field(label="Note", test_name="note"))

    hand.find("note").words = "typed before the restart"
    hand.wait(0.1)

    assert hand.find("note-words").text == "typed before the restart"


def test_a_choice_tells_the_word_and_shows_the_chosen_one_by_frame_and_box(show):
    hand = show(lambda: widgets.Choice(options=[("man", "Man"), ("machine", "Machine")]))
    choice = hand.find("choice-man").parent
    heard = listening(choice, "on_choice")

    hand.tap("choice-machine")
    choice.chosen = "machine"
    hand.wait(0.1)

    assert heard == [("on_choice", "machine")]
    assert (hand.find("choice-machine").is_framed, hand.find("choice-man").is_framed) == (True, False)


def test_a_choice_field_and_a_day_field_take_the_tapped_word(show):
    def page():
        box = BoxLayout(orientation="vertical", size_hint_y=None, height=500)
        box.add_widget(widgets.ChoiceField(label="Kind", options=[("man", "Man")], test_name="kind"))
        box.add_widget(widgets.DayField(label="On", options=[("2026-03-02", "today")], test_name="day"))
        return box

    hand = show(page)

    hand.tap("kind-choice-man")
    hand.tap("day-choice-2026-03-02")

    assert hand.find("kind").words == "man"
    assert hand.find("day").words == hand.find("day-words").text == "2026-03-02"


def test_units_are_offered_only_where_there_are_some(show):
    hand = show(lambda: widgets.UnitBar(units=UnitChoice()))
    bar = hand.find("units")
    assert bar.height == 0
    heard = listening(bar, "on_choice")

    bar.units = UnitChoice(question="Which cavity?", names=("1", "2"), chosen="2")
    hand.wait(0.1)
    hand.tap("units-choice-1")

    assert heard == [("on_choice", "1")]
    assert hand.find("units-choice-2").is_framed


# the hand itself


def test_the_hand_says_which_names_there_are_when_one_is_missing(show):
    hand = show(one_button)

    with pytest.raises(LookupError, match="'go'"):
        hand.find("gone")


def test_the_hand_refuses_to_tap_outside_the_window(show):
    hand = show(one_button)

    with pytest.raises(LookupError, match="off the window"):
        hand.tap((-5, 10))


def test_a_picture_has_the_size_of_the_window_in_either_direction(show):
    from PIL import Image

    hand = show(one_button, size=(800, 1280), density=1.33)
    with Image.open(hand.shot("standing")) as picture:
        assert picture.size == (800, 1280)
        red, green, blue = picture.convert("RGB").getpixel((400, 1000))
    assert [round(c * 255) for c in look.THEME.ground.paper[:3]] == [red, green, blue]
