"""The guide is made by the tour, under the names that the README shows."""

from __future__ import annotations

import pytest
from PIL import Image

from walkapp.app import window_app
from walkapp.demo.guide import GUIDE, WIDTH_PX, photograph_guide

pytestmark = [pytest.mark.window, pytest.mark.long]


def test_the_tour_makes_the_guide_under_the_same_names(everywhere, drive, tmp_path):
    desk = everywhere.tablet
    hand = drive(window_app(desk.place, tmp_path / "camera", bundles=tmp_path / "bundles"))
    guide = tmp_path / "guide"
    guide.mkdir()
    (guide / "gone.png").write_bytes(b"of an older guide")

    made = photograph_guide(hand, everywhere.routes, guide)

    assert [path.name for path in made] == [one.path.name for one in GUIDE]
    assert sorted(guide.iterdir()) == sorted(made)
    for path in made:
        with Image.open(path) as image:
            assert image.size == (WIDTH_PX, 500)
    # Each shows its own place: no two pictures are alike.
    assert len({path.read_bytes() for path in made}) == len(made)
