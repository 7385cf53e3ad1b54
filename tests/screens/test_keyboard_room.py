"""The keyboard on the glass: whatever is typed into stays in sight, and the page comes back as it was."""

from __future__ import annotations

import pytest

from tests.screens.glass import LYING, STANDING, Glass

pytestmark = [pytest.mark.long, pytest.mark.window]

PAGES = (
    "new-concern", "note", "change", "correct-change", "new-action", "audit-not-done", "search", "limit-ok",
)  # fmt: skip
"""A form, forms in a walk, long forms with words to tap, and the pages that are no forms;
``python -m tests.soak.keyboard`` goes through every field of all pages."""


@pytest.mark.parametrize(("tablet", "share"), [(LYING, 0.55), (STANDING, 0.40)])
def test_a_field_its_label_and_what_is_wrong_stay_above_the_keyboard(drive, everywhere, tablet, share):
    glass = Glass(drive, everywhere, share=share, tablet=tablet)
    hidden = []
    for page in PAGES:
        glass.open(everywhere.routes[page])
        route = glass.app.route
        for name in glass.names()[-1:]:
            hidden += [f"{page}: {one}" for one in glass.hidden(name)]
            glass.let_go()
            assert glass.app.route == route  # back let go of the keyboard, and of nothing else
            assert tuple(glass.app.manager.pos) == (0, 0)
            assert tuple(glass.app.manager.size) == tablet["size"]

    assert hidden == []


def test_the_words_to_tap_give_way_to_the_keyboard_and_come_back(drive, everywhere):
    glass = Glass(drive, everywhere, share=0.55, tablet=LYING)
    glass.open(everywhere.routes["new-action"])
    offered = len(glass.hand.find("field-owner-choice").options)
    assert offered

    assert glass.hidden("field-owner-words") == []
    glass.hand.type("QE")
    assert not glass.hand.find("field-owner-choice").options
    glass.let_go()

    assert len(glass.hand.find("field-owner-choice").options) == offered
    assert glass.hand.find("field-owner-words").text.endswith("QE")


def test_nothing_moves_under_a_finger_that_taps_while_the_keyboard_goes(drive, everywhere):
    glass = Glass(drive, everywhere, share=0.55, tablet=LYING)
    glass.open(everywhere.routes["new-action"])
    glass.hidden("field-owner-words")
    moved = glass.app.manager.y
    assert moved > 0

    finger = glass.hand.finger("record")
    finger.down()
    glass.hand.wait(0.5)
    assert glass.app.manager.y == moved
    finger.up()
    glass.hand.wait(0.4)
    assert glass.app.manager.y == 0


def test_a_number_needs_no_keyboard_on_the_glass(drive, everywhere):
    glass = Glass(drive, everywhere, share=0.55, tablet=LYING)
    for page in ("measure", "count", "setting", "trial-run", "confirmation-turn", "judge"):
        glass.open(everywhere.routes[page])
        assert glass.names() == [], page
