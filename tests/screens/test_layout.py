"""Every page of the gallery on the tablets planned for: nothing cut, too small or too close."""

from __future__ import annotations

import pytest
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.label import Label

from tests.screens.gallery import PAGES, GalleryApp
from tests.screens.layout_check import problems
from walkapp.screens import widgets

pytestmark = pytest.mark.window

TABLETS = {
    "10 inch lying": {"size": (1280, 800), "density": 1.0, "pixels_per_inch": 149},
    "8 inch standing": {"size": (800, 1280), "density": 1.33, "pixels_per_inch": 189},
    "7 inch lying": {"size": (1024, 600), "density": 1.0, "pixels_per_inch": 170},
}


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("tablet", TABLETS)
def test_the_kit_fits_the_tablet(drive, tablet, page):
    sizes = dict(TABLETS[tablet])
    pixels_per_inch = sizes.pop("pixels_per_inch")

    hand = drive(GalleryApp(PAGES[page]), **sizes)
    hand.wait(0.2)

    assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []


@pytest.mark.parametrize("page", ["answering", "buttons", "numbers", "counts", "fields"])
def test_larger_type_set_by_the_person_still_fits(drive, page):
    hand = drive(GalleryApp(PAGES[page]), size=(800, 1280), density=1.33, fontscale=1.3)
    hand.wait(0.2)

    assert problems(hand.window, pixels_per_inch=189) == []


def planted(fault):
    """Give a page with one fault on it."""
    root = FloatLayout()
    button = {"size_hint": (None, None), "size": (120, 120)}
    match fault:
        case "too small":
            root.add_widget(widgets.TapButton(text="x", size_hint=(None, None), size=(120, 40)))
        case "off the window":
            root.add_widget(widgets.TapButton(text="x", pos=(-60, 0), **button))
        case "too close":
            root.add_widget(widgets.TapButton(text="a", pos=(100, 100), **button))
            root.add_widget(widgets.TapButton(text="b", pos=(225, 100), **button))
        case "word broken":
            box = BoxLayout(size_hint=(None, None), size=(60, 200))
            box.add_widget(widgets.WrapLabel(text="unbreakable", size_name="title"))
            root.add_widget(box)
        case "cut":
            root.add_widget(Label(text="far too long", size_hint=(None, None), size=(30, 20)))
        case "covered":
            root.add_widget(Label(text="LSL 55", size_hint=(None, None), size=(80, 40), pos=(90, 200)))
            root.add_widget(widgets.TapButton(text="5", pos=(100, 100), **button))
    return root


@pytest.mark.parametrize(
    "fault", ["too small", "off the window", "too close", "word broken", "cut", "covered"]
)
def test_the_layout_check_finds_a_planted_fault(drive, fault):
    hand = drive(GalleryApp(lambda: planted(fault)), size=(1024, 600))

    found = problems(hand.window, pixels_per_inch=170)

    assert found
    assert all(fault in problem for problem in found)
