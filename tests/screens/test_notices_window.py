"""Damage that the check of the store finds is seen on the home page."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from tests.screens.layout_check import clipped, problems
from walkapp.actions.walking import Walking
from walkapp.app import window_app
from walkapp.files import sha256_of
from walkapp.presenters.route import Route
from walkapp.screens.window import CHECK_AFTER_S

pytestmark = pytest.mark.window

PICTURES = 12
TABLETS = [((1280, 800), 1.0, 149), ((800, 1280), 1.33, 189), ((1024, 600), 1.0, 170)]


@pytest.fixture
def desk(tmp_path):
    """A tablet with four concerns, of which one walk and many pictures are damaged behind its back."""
    made = Desk(tmp_path)
    with made.store as store:
        route = made.walk()
        for what in ("Leaks at the weld", "Pump rattles", "Label is crooked"):
            made.concern(what=f"{what} (invented)")
        walking = Walking(made.place, route.concern, route.walk)
        for words in ("warm", "loud", "new pads"):
            walking.note("welding", words)
        for data in (b"%d" % n for n in range(PICTURES)):
            store.add_photo(sha256_of(data) + ".png", data)
        path = tmp_path / "store" / "journals" / "own" / f"{route.walk}.journal"
        store.table(route.walk).all()  # read while it was sound
        path.write_bytes(path.read_bytes().replace(b"loud", b"load"))
        for photo in (tmp_path / "store" / "photos").iterdir():
            photo.write_bytes(b"")
        yield made


def said(hand) -> int:
    """Count the damages that the home page tells."""
    return hand.find("notices").text.count("is damaged") if hand.has("notices") else 0


def test_nothing_is_said_before_the_check_and_everything_after_it(drive, desk, tmp_path):
    app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app)
    hand.until(lambda: any("Pump rattles" in text for text in hand.texts()))
    assert not hand.has("notices")

    hand.wait(CHECK_AFTER_S)
    hand.until(lambda: said(hand) == 1 + PICTURES)

    first = hand.find("notices").text.splitlines()[0]
    assert ".journal, line 4 is damaged (the checksum does not match): running number 7 cannot be" in first
    hand.tap("new-concern")  # The page goes on working.
    hand.until(lambda: not hand.has("notices"))


def test_what_was_found_away_from_home_is_told_when_home_is_opened(drive, desk, tmp_path):
    app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app)
    app.go(Route(screen="new_concern"))
    hand.wait(CHECK_AFTER_S)
    hand.until(lambda: desk.store.notices)
    assert not hand.has("notices")

    hand.back()

    hand.until(lambda: hand.has("notices"))


def test_closing_during_the_check_is_quiet(drive, desk, tmp_path):
    app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app)

    hand.wait(CHECK_AFTER_S)  # The fixture looks for what is left over.


@pytest.mark.parametrize(("size", "density", "pixels_per_inch"), TABLETS)
def test_many_notices_leave_room_for_the_concerns_and_can_be_read_to_the_end(
    drive, desk, tmp_path, size, density, pixels_per_inch
):
    app = window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles")
    hand = drive(app, size=size, density=density)
    hand.wait(CHECK_AFTER_S)
    hand.until(lambda: said(hand) == 1 + PICTURES)
    hand.wait(0.2)

    assert problems(hand.window, pixels_per_inch=pixels_per_inch) == []
    notices, rows = hand.find("notices"), hand.find("concerns")
    assert rows.height > 0.3 * size[1]
    assert hand.shot("notices").stat().st_size > 0
    # The last line is out of sight, and is dragged into it.
    for drags in range(20):
        left, bottom, right, top = clipped(notices)
        if bottom <= notices.to_window(*notices.pos)[1] + 1:
            assert drags > 0
            break
        middle = ((left + right) / 2, (bottom + top) / 2)
        hand.drag(middle, (middle[0], middle[1] + 80 * density), rests=True)
    else:
        pytest.fail("the end of the notices cannot be dragged into sight")
