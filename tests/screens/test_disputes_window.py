"""Entries that disagree in a real window: seen from the concern, side by side, and decided by touch."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.quarrels import Quarrel
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.presenters.disputes import NO_DISPUTES, REASONS
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

TABLETS = [((1280, 800), 1.0, 149), ((800, 1280), 1.33, 189), ((1024, 600), 1.0, 170)]


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS)
def test_entries_that_disagree_are_seen_and_decided_by_touch(
    drive, tmp_path, size, density, pixels_per_inch
):
    desk = Desk(tmp_path)
    with desk.store:
        quarrel = Quarrel(desk)
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=size, density=density)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="concern", concern=quarrel.concern))
        walk.settle()
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        (row,) = hand.find("disputes").children
        assert row.title == "1 entry disagrees with another"
        walk.tap("row-disputes")
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("dispute-1-decide")
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.tap("field-side-choice-1")
        walk.tap(f"field-common-choice-{REASONS[0]}")
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.tap("record")

        (made,) = (r for r in desk.records if r.why == f"settled: {REASONS[0]}")
        assert (made.answer, len(made.replaces)) == ("ok", 2)
        assert hand.find("hint").text == NO_DISPUTES
        hand.back()
        walk.settle()
        assert app.session.kept.route().screen == "concern"
        assert not hand.find("disputes").children


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS[1:2])
def test_many_values_and_long_words_fit_down_to_the_end(drive, tmp_path, size, density, pixels_per_inch):
    desk = Desk(tmp_path)
    with desk.store:
        quarrel = Quarrel(desk)
        for number, answer in ((3, "not_ok"), (4, "ok")):
            quarrel.arrive(replace(quarrel.mine, answer=answer), number)
        note = quarrel.floor.walking.note("welding", "pads look new " * 20)
        start = next(r for r in desk.records if r.kind == "walk_start")
        twins = [replace(note, words="pads look old " * 20), replace(start, by="SL-KB")]
        desk.store.merge(twins, name="twins", photos={}, checklists={})
        app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=size, density=density)
        walk = TouchWalk(desk, hand, tmp_path / "camera")
        app.go(Route(screen="disputes", concern=quarrel.concern))
        walk.settle()
        assert len(hand.find("disputes").children) == 3

        found = problems(hand.window, pixels_per_inch=pixels_per_inch)
        for _ in range(6):
            hand.drag((size[0] / 2, size[1] * 0.2), (size[0] / 2, size[1] * 0.7))
            hand.wait(1.0)
            found += problems(hand.window, pixels_per_inch=pixels_per_inch)
        assert found == []
