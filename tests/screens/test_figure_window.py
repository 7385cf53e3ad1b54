"""Figures in a real window: chosen by touch, drawn on another thread, written to disk."""

from __future__ import annotations

import threading

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

LOW_PIXELS_PER_INCH = 170


class Watched:
    """The worker aside, which waits at a gate, and on which thread each piece of its work ran."""

    def __init__(self, worker) -> None:
        self.worker = worker
        self.gate = threading.Event()
        self.threads: list[threading.Thread] = []

    def __call__(self, work, done, failed) -> None:
        def run():
            self.threads.append(threading.current_thread())
            self.gate.wait(60)
            return work()

        self.worker(run, done, failed)


def test_figures_are_looked_at_and_written_by_touch(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        floor = Floor(desk)
        floor.count()
        floor.lots()
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "b")
        hand = drive(app, size=(1024, 600), density=1.0)
        watched = app.session.aside = Watched(app.session.aside)
        walk = TouchWalk(desk, hand, tmp_path / "camera")

        def check():
            assert problems(hand.window, pixels_per_inch=LOW_PIXELS_PER_INCH) == []

        app.go(Route(screen="concern", concern=floor.route.concern))
        walk.tap("row-figures")
        hand.until(lambda: hand.has("rows-drawn"))
        check()
        walk.tap("row-share-by-station")
        hand.until(lambda: watched.threads)
        hand.wait(0.5)  # frames go on being drawn while the picture is not
        assert app.page.texture is None and "Being drawn" in hand.find("waiting").text
        check()
        watched.gate.set()
        hand.until(lambda: app.page.texture is not None)
        assert threading.main_thread() not in watched.threads
        assert hand.find("waiting").text == ""
        room = hand.find("scroll")
        assert tuple(app.page.texture.size) == (round(room.width), round(app.page.picture_height()))
        assert "the first bad station is" in hand.find("sentence").text
        check()

        walk.tap("after")
        hand.until(lambda: app.page.state.picture and app.page.state.picture.key == "defects-over-time")
        check()
        walk.tap("zoom")
        hand.until(lambda: app.page.texture and app.page.texture.size[0] > room.width)
        check()
        walk.tap("write-pdf")
        hand.until(lambda: "On disk" in hand.find("saved").text)
        (path,) = (tmp_path / "b").iterdir()
        assert path.read_bytes().startswith(b"%PDF-") and path.name in hand.find("saved").text

        hand.back()
        hand.until(lambda: hand.has("rows-drawn"))
        assert app.manager.get_screen("figure").texture is None
        assert app.session.kept.route().screen == "figures"


def test_a_turned_window_draws_the_figure_anew(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        concern = desk.concern()
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "b")
        hand = drive(app, size=(1280, 800), density=1.33)
        app.go(Route(screen="figure", concern=concern, entry="share-by-station"))
        hand.until(lambda: app.page.texture is not None)
        wide = tuple(app.page.texture.size)
        hand.window.size = (800, 1280)
        hand.until(lambda: app.page.texture and tuple(app.page.texture.size) != wide)
        hand.wait(0.3)
        hand.until(lambda: app.page.texture.size[0] == round(hand.find("scroll").width))
        assert problems(hand.window, pixels_per_inch=LOW_PIXELS_PER_INCH * 1.33) == []
