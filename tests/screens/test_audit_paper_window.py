"""An audit on paper in a real window: its page is written, and what stands on it is typed in by touch."""

from __future__ import annotations

import pytest

from tests.clipboards import Clipboard
from tests.paper.printed import pages_of
from tests.screens.layout_check import problems
from walkapp.actions.audits.page import check_number
from walkapp.app import window_app
from walkapp.demo.tour import TouchWalk
from walkapp.model.records import AuditStart
from walkapp.presenters.route import Route

pytestmark = pytest.mark.window

TABLETS = [((1024, 600), 1.0, 170), ((800, 1280), 1.33, 189)]


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS)
def test_a_page_is_written_and_typed_in_by_touch(drive, tmp_path, size, density, pixels_per_inch):
    board = Clipboard(tmp_path)
    with board.desk.store:
        found = board.find_nok()
        check = check_number(board.planned().slot, [one.ref for one in board.asked()])
        board.at("2026-03-10T15:00:00+01:00")
        app = window_app(board.place, tmp_path / "camera", bundles=tmp_path / "bundles")
        hand = drive(app, size=size, density=density)
        walk = TouchWalk(board.desk, hand, tmp_path / "camera")
        app.go(Route(screen="audit_print", stream="washer-reservoir", layer="supervisor", day="2026-03-09"))
        walk.settle()
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("write")
        hand.until(lambda: hand.find("saved").text.startswith("On disk: "))
        (path,) = (tmp_path / "bundles").iterdir()
        assert path.name in hand.find("saved").text
        assert len(pages_of(path.read_bytes())) == 2
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []

        walk.tap("audit_paper")
        walk.write("check", check)
        assert "The page is known: 7 questions, 1 of them beyond the plan." in hand.texts()
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.write("paper_by", "SV-KL")
        walk.write("begun_at", "07:10")
        walk.write("signed_at", "07:25")
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
        walk.tap("record")

        starts = [r for r in board.desk.records if isinstance(r, AuditStart) and r.is_paper]
        assert [(start.paper_by, start.by, start.added) for start in starts] == [("SV-KL", "QE-RT", found)]
        assert app.session.kept.route().screen == "audit"
        assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
