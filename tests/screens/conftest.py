"""A real window, driven frame by frame; opened only when a test of this folder is collected."""

from __future__ import annotations

import gc
import tempfile
from pathlib import Path

import pytest

from walkapp.demo.hand import Hand, prepare_environment

# Before any test module of this folder imports Kivy.
prepare_environment(Path(tempfile.mkdtemp(prefix="walkapp-kivy-")))


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
