"""A gauge that acts as a keyboard, and pasted text, in a real window; what the hand is told."""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from kivy.core.clipboard import Clipboard

from tests.fakes import Desk
from tests.screens.layout_check import problems
from tests.screens.test_layout import TABLETS
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.devices.clipboard import KivyClipboard
from walkapp.model.records import Measurement
from walkapp.presenters.devices import Devices
from walkapp.presenters.settings import FEEDBACK
from walkapp.screens import keys as k

pytestmark = pytest.mark.window


class Hand:
    """Notes what it is told."""

    ways = frozenset({"sound"})

    def __init__(self):
        self.told = []

    def tell(self, what, how):
        self.told.append(what)


@pytest.mark.parametrize("tablet", ["7 inch lying", "8 inch standing"])
def test_a_gauge_records_by_its_enter_and_what_has_to_be_looked_at_waits(drive, tmp_path, tablet):
    desk, felt = Desk(tmp_path), Hand()
    sizes = dict(TABLETS[tablet])
    ppi = sizes.pop("pixels_per_inch")
    Clipboard.put("")
    with desk.store:
        desk.session.settings.set_to(FEEDBACK, "sound")
        # Before the window: its worker would take what is recorded beside it for its own work.
        route = replace(desk.walk(), screen="measure", station="leak-test", check="part-temperature")
        devices = Devices(feedback=felt, clipboard=KivyClipboard())
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles", devices=devices)
        hand = drive(app, **sizes)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(route)
        walk.settle()
        assert not hand.has("paste")

        def send(text, end=k.ENTER):
            hand.send(text, end)
            walk.settle()
            return [r.value for r in desk.records if isinstance(r, Measurement)]

        assert send("+0031.50") == ["31.50"]
        assert send("32,5 C", k.TAB) == ["31.50", "32.5"]
        assert hand.find("values").text == "32.5  31.50"
        assert send("86.9 F") == ["31.50", "32.5"]
        assert hand.find("received").text.startswith("What came is 86.9 °F, that is 30.50 °C")
        assert problems(hand.window, pixels_per_inch=ppi) == []
        shot(hand, f"gauge-unit-{tablet}")
        walk.tap("key-enter")
        assert send("7;33") == ["31.50", "32.5", "30.50"]
        assert "holds more than one number" in hand.find("received").text
        assert problems(hand.window, pixels_per_inch=ppi) == []
        assert felt.told == ["recorded", "recorded", "refused", "recorded", "refused"]

        Clipboard.put("34.0\n")
        app.page.presenter.look_at_clipboard()
        walk.settle()
        assert problems(hand.window, pixels_per_inch=ppi) == []
        shot(hand, f"gauge-paste-{tablet}")
        if not hand.has("paste"):
            walk.tap("key-unit")
        assert problems(hand.window, pixels_per_inch=ppi) == []
        walk.tap("paste")
        assert (app.page.state.pad.text, app.page.state.received) == ("34.0", "")
        walk.tap("key-enter")
        walk.tap("undo")
        assert send("")[-1] == "34.0" and hand.find("values").text == "30.50  32.5  31.50"
        assert felt.told[5:] == ["recorded", "taken_back"]
    Clipboard.put("")


def shot(hand, name):
    """Keep a picture of the window where somebody wants to look at it."""
    if folder := os.environ.get("WALKAPP_SHOTS"):
        shutil.copy(hand.shot(name.replace(" ", "-")), Path(folder))
