"""Each fault that the layout check looks for, planted on a page: it is found, and nothing else is."""

from __future__ import annotations

import pytest
from kivy.graphics import Color, Rectangle
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from tests.screens.gallery import GalleryApp
from tests.screens.layout_check import problems
from tests.screens.longer import longer_texts
from tests.screens.walking import walk_page
from walkapp.screens import widgets

pytestmark = [pytest.mark.long, pytest.mark.window]


def label(text, pos=(100, 100)):
    """Give a label of exactly its letters' size."""
    made = Label(text=text, size_hint=(None, None), pos=pos, color=(0, 0, 0, 1))
    made.texture_update()
    made.size = made.texture_size
    return made


def plate(pos, size):
    """Give something drawn that cannot be tapped."""
    made = Widget(size_hint=(None, None), pos=pos, size=size)
    with made.canvas:
        Color(1, 1, 1, 1)
        Rectangle(pos=pos, size=size)
    return made


def button(pos=(100, 100), size=(120, 120), **more):
    return widgets.TapButton(text="a", size_hint=(None, None), pos=pos, size=size, **more)


def scrolled(*children, size=(300, 300), inside=(300, 800), **more):
    """Give a view of a free layout."""
    view = ScrollView(size_hint=(None, None), size=size, pos=(50, 50), **more)
    content = FloatLayout(size_hint=(None, None), size=inside)
    for child in children:
        content.add_widget(child)
    view.add_widget(content)
    return view


def answer():
    bar = widgets.AnswerBar(size_hint=(None, None), width=700)
    bar.height = 110  # 16.4 mm at 170 pixels an inch
    return bar


PLANTED = {
    "overwritten": lambda: [label("one text"), label("another", (110, 104))],
    "under: TapButton('a') has": lambda: [button(), plate((120, 120), (80, 80))],
    "under: TapButton('a') is not reached": lambda: [
        button(),
        BoxLayout(size_hint=(None, None), size=(200, 200), pos=(80, 80), disabled=True),
    ],
    "never shown": lambda: [scrolled(button((100, 900)))],
    "never shown: TapButton('a') wholly": lambda: [
        scrolled(button((100, 600), (120, 120)), size=(300, 100), do_scroll_x=False)
    ],
    "too wide": lambda: [scrolled(size=(300, 300), inside=(500, 800), do_scroll_x=False)],
    "too low to read": lambda: [scrolled(label("a line"), size=(300, 20), do_scroll_x=False)],
    "too low: MarkButton('answer-ok')": lambda: [answer()],
}


@pytest.mark.parametrize("fault", PLANTED)
def test_a_planted_fault_is_found(drive, fault):
    def page():
        root = FloatLayout()
        for widget in PLANTED[fault]():
            root.add_widget(widget)
        return root

    hand = drive(GalleryApp(page), size=(1024, 600))

    assert any(problem.startswith(fault) for problem in problems(hand.window, pixels_per_inch=170))


def test_a_text_that_sticks_out_of_its_plate_is_found(drive):
    def page():
        root = FloatLayout()
        row = widgets.Row(title="A title that is long enough for several lines " * 4, row_id="r")
        row.size_hint, row.size, row.pos = (None, None), (300, 90), (100, 200)
        root.add_widget(row)
        return root

    hand = drive(GalleryApp(page), size=(1024, 600))

    assert any(problem.startswith("sticks out") for problem in problems(hand.window, pixels_per_inch=170))


def test_a_fault_that_only_scrolling_brings_up_is_found(drive):
    hand = drive(GalleryApp(lambda: widgets.Rows(rows=())), size=(1024, 600))
    # The last row of a list whose heights are not measured: its text is larger than the row.
    hand.app.root.data = [
        {"row_id": f"{n}", "title": "short" if n < 19 else "long " * 200, "height": 90} for n in range(20)
    ]
    hand.wait(0.2)

    assert problems(hand.window, pixels_per_inch=170) == []
    assert any("sticks out" in fault for fault in walk_page(hand, 170).faults)


def test_longer_texts_are_drawn_and_measured_longer(drive):
    with longer_texts():
        hand = drive(GalleryApp(lambda: widgets.TapButton(text="Station", size_name="title")))
        hand.wait(0.2)
        (shown,) = [one for one in hand.app.root.children if one.text]

        assert shown.text == shown._label.text == "Stationerin"
        assert hand.app.root.size_hint_min_x > shown._label.get_extents("Station")[0]
        assert problems(hand.window, pixels_per_inch=149) == []
    assert widgets.WrapLabel(text="Station").text == "Station"


def test_what_a_label_draws_is_what_it_says_with_hidden_characters_marked(drive):
    hand = drive(GalleryApp(lambda: widgets.WrapLabel(text="first")))
    shown = hand.app.root
    shown.text = "lot 12\u202e34"
    hand.wait(0.1)

    assert shown._label.text == shown.text
    assert "\u202e" not in shown._label.text
