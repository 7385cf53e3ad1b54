"""A real window, driven frame by frame; opened only when a test of this folder is collected."""

from __future__ import annotations

import gc
import tempfile
from pathlib import Path

import pytest

from walkapp.demo.hand import Hand, prepare_environment
from walkapp.demo.tablets import open_tablet, read_scenario

CHECKLISTS = Path(__file__).parents[2] / "checklists"

# Before any test module of this folder imports Kivy.
prepare_environment(Path(tempfile.mkdtemp(prefix="walkapp-kivy-")))


@pytest.fixture(scope="session")
def desk_demo(tmp_path_factory, played_demo):
    """The desk of the demo, with the walks of both tablets and what is done about it; and its folder.

    For tests that look at it and write nothing but the place.
    """
    folder = tmp_path_factory.mktemp("desk-demo")
    played_demo(folder)
    desk = open_tablet(read_scenario()["desk"], folder / "desk", CHECKLISTS)
    with desk.place.store:
        yield desk, folder


@pytest.fixture
def drive(tmp_path):
    """Start an app in the window; it is stopped after the test and must leave nothing running."""
    hands = []

    def start(app, **sizes) -> Hand:
        hands.append(Hand(app, folder=tmp_path, **sizes))
        return hands[-1]

    yield start
    left_over = [callback for hand in hands for callback in hand.close()]
    # Kivy keeps the last text field that was shown: its window goes when the next one is collected.
    gc.collect()
    assert not left_over, f"the clock goes on calling: {left_over}"
