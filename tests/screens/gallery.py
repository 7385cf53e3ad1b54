"""Every widget of the kit in every state, on pages that fit the tablets planned for."""

from __future__ import annotations

from decimal import Decimal
from types import SimpleNamespace

from kivy.app import App
from kivy.core.window import Window
from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from walkapp.presenters.frame import UnitChoice
from walkapp.presenters.pad import tolerance_view
from walkapp.presenters.strip import StripTile
from walkapp.screens import look, widgets
from walkapp.screens.kit.marks import SHAPES

STATIONS = (
    ("moulding", "Moulding", "clean", "clean so far", "0 of 30 NOK"),
    ("degating", "Degating", "clean", "clean so far", "0 of 30 NOK"),
    ("welding", "Hot-plate weld", "undecided", "undecided", "0 of 5 NOK"),
    ("leak", "Leak test", "bad", "bad", "12 of 30 NOK"),
    ("pump", "Pump assembly", "bad", "bad", "9 of 20 NOK"),
    ("packing", "Packing", "not_visited", "not visited", ""),
    ("store", "Warehouse", "not_visited", "not visited", ""),
    ("dock", "Customer dock", "undecided", "undecided", "1 of 8 NOK"),
)
"""Our invented stream, with invented counts."""


def tiles(count=8, *, here="leak", next_="welding", named="leak"):
    """Give the strip of the invented stream, repeated to `count` stations."""
    made = []
    for number in range(count):
        station, short, mark, word, counts = STATIONS[number % len(STATIONS)]
        ident = station if number < len(STATIONS) else f"{station}-{number}"
        made.append(
            StripTile(
                station=ident,
                number=str(number + 1),
                short=short,
                mark=mark,
                word=word,
                counts=counts,
                is_here=ident == here,
                is_next=ident == next_,
                flag="first bad" if ident == named else "",
            )
        )
    return made


def rows(count=6):
    """Give rows of a list, with short and long texts, with and without marks."""
    marks = ("clean", "bad", "undecided", "not_visited", "")
    return [
        SimpleNamespace(
            id=f"r{number}",
            title="Look at the ear"
            if number % 2
            else "Washer-fluid reservoir, whitened and cracked "
            "mounting ears reported by the customer's assembly line",
            subtitle=f"{number} of 30 checked, {number % 3} NOK",
            mark=marks[number % len(marks)],
        )
        for number in range(count)
    ]


class GalleryApp(App):
    """Shows one page that a test builds."""

    def __init__(self, build_page) -> None:
        super().__init__()
        self._build_page = build_page

    def build(self):
        """Build the page in the theme's colours."""
        look.prepare()
        Window.clearcolor = look.THEME.ground.paper
        return self._build_page()

    def open_settings(self, *_) -> None:
        """No settings panel of Kivy's own."""


def column(*children, scrolls=False):
    """Put widgets below each other, with the kit's gap between them."""
    box = BoxLayout(orientation="vertical", padding=dp(12), spacing=look.gap(), size_hint_y=None)
    box.bind(minimum_height=box.setter("height"))
    for child in children:
        box.add_widget(child)
    if scrolls:
        view = ScrollView(do_scroll_x=False, scroll_distance=dp(40))
        view.add_widget(box)
        return view
    outer = BoxLayout(orientation="vertical")
    outer.add_widget(box)
    outer.add_widget(Widget())
    return outer


def answering():
    """Give the page of a check with an answer given."""
    return column(
        widgets.StreamStrip(tiles=tiles()),
        widgets.Banner(kind="caution", text="Hot plate: do not reach in while the guard is open."),
        widgets.AnswerBar(given="not_ok"),
    )


def answers():
    """Give the answers in each state."""
    return column(
        *(widgets.AnswerBar(given=given) for given in ("", "ok", "not_applicable")),
        widgets.AnswerBar(offer_na=False, disabled=True),
        scrolls=True,
    )


def buttons():
    """Give buttons, choices and banners."""
    bar = widgets.FootBar()
    for text in ("Which lot are the parts from?", "Change point", "Note", "Photo"):
        bar.add_widget(widgets.TapButton(text=text))
    tones = widgets.FootBar()
    for tone in ("plain", "strong", "quiet"):
        tones.add_widget(widgets.TapButton(text=tone, tone=tone))
    tones.add_widget(widgets.TapButton(text="off", disabled=True))
    tones.add_widget(widgets.TapButton(text="Undo", detail="12 of 30 NOK at Hot-plate weld"))
    tones.add_widget(widgets.TapButton(text="held", state="down", test_name="held"))
    return column(
        tones,
        bar,
        widgets.Choice(
            options=[("safety", "Safety or regulatory"), ("function", "Fit or function"), ("look", "Look")],
            chosen="function",
        ),
        widgets.UnitBar(units=UnitChoice(question="Which cavity?", names=("1", "2", "3", "4"), chosen="3")),
        widgets.Banner(kind="caution", text="Hot plate: do not reach in while the guard is open."),
        widgets.Banner(kind="notice", text="One damaged line was set aside; nothing else was lost. " * 2),
        widgets.Banner(kind="error", text="The disk is full; free some space and tap again."),
        scrolls=True,
    )


def numbers():
    """Give the pad beside the tolerance."""
    pair = widgets.Pair(size_hint_y=None, height=dp(860 if Window.width < dp(700) else 476))
    left = BoxLayout(orientation="vertical", spacing=dp(12), size_hint_y=None, height=dp(400))
    left.pos_hint = {"top": 1}
    for text in ("11.92", "11.2", "14"):
        view = tolerance_view(text, Decimal("11.5"), Decimal("12.5"), Decimal(12), "mm")
        left.add_widget(widgets.ToleranceBar(view=view))
    pair.add_widget(left)
    pair.add_widget(widgets.NumberPad(text_value="11.92", unit="mm", pos_hint={"top": 1}))
    return column(pair, scrolls=True)


def low_pad():
    """Give the pad alone over the whole width."""
    one_sided = tolerance_view("3.2", None, Decimal("2.5"), None, "mbar/min")
    return column(
        widgets.ToleranceBar(view=one_sided),
        widgets.NumberPad(text_value="3.2", unit="mbar/min"),
    )


def counts():
    """Give steppers and the pad for whole numbers."""
    return column(
        widgets.Stepper(label="Checked", value=30, test_name="checked"),
        widgets.Stepper(label="NOK", value=0, test_name="nok"),
        widgets.NumberPad(text_value="30", whole=True),
        scrolls=True,
    )


def lists():
    """Give the scrolling list under the strip of a long stream."""
    page = BoxLayout(orientation="vertical", padding=dp(12), spacing=look.gap())
    page.add_widget(widgets.StreamStrip(tiles=tiles(20, here="packing-13", next_="store", named="leak")))
    page.add_widget(widgets.Rows(rows=rows(40), test_name="list"))
    return page


def fields():
    """Give a form."""
    return column(
        widgets.Field(label="What is wrong", is_required=True, words="Ear whitened", test_name="what"),
        widgets.Field(label="How to judge", hint="Look, touch or gauge", lines=3, test_name="how"),
        widgets.ChoiceField(label="Kind", options=[("man", "Man"), ("machine", "Machine")], words="man"),
        widgets.DayField(
            label="Made on",
            hint="As 2026-03-02",
            options=[("2026-03-02", "today"), ("2026-03-01", "yesterday")],
            words="2026-03-02",
            test_name="day",
        ),
        widgets.Stack(rows=rows(3)),
        scrolls=True,
    )


def shapes():
    """Give every shape, large and small."""
    lines = []
    for size_dp in (64, 22):
        line = BoxLayout(size_hint_y=None, height=dp(size_dp), spacing=dp(8))
        for shape in SHAPES:
            line.add_widget(widgets.Mark(shape=shape, ink=look.verdict_ink(shape)))
        lines.append(line)
    return column(*lines)


PAGES = {
    page.__name__: page
    for page in (answering, answers, buttons, numbers, low_pad, counts, lists, fields, shapes)
}
"""Every page by name."""
