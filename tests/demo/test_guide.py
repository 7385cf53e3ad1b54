"""The guide in the README: its pictures are there, are what they say, and show places of the tour."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from walkapp.demo.desk_routes import desk_routes
from walkapp.demo.guide import FOLDER, GUIDE, WIDTH_PX, guide_text
from walkapp.demo.tour import walked_by
from walkapp.demo.walk_routes import tour_routes

REPOSITORY = Path(__file__).resolve().parents[2]
MOST_BYTES = 600_000


def test_the_readme_shows_the_guide_and_no_other_picture_of_it():
    readme = (REPOSITORY / "README.md").read_text(encoding="utf-8")

    assert guide_text() in readme
    assert readme.count(f"({FOLDER.as_posix()}/") == len(GUIDE)
    assert sorted(path.name for path in (REPOSITORY / FOLDER).iterdir()) == sorted(
        one.path.name for one in GUIDE
    )


@pytest.mark.parametrize("picture", GUIDE, ids=lambda picture: picture.place)
def test_a_picture_of_the_guide_can_be_read_and_has_its_size(picture):
    with Image.open(REPOSITORY / picture.path) as image:
        image.load()
        assert (image.format, image.size) == ("PNG", (WIDTH_PX, 500))
        assert len(image.convert("RGB").getcolors(WIDTH_PX * 500)) > 20


def test_all_pictures_of_the_guide_together_are_small():
    assert sum((REPOSITORY / picture.path).stat().st_size for picture in GUIDE) < MOST_BYTES


def test_each_picture_is_of_a_place_of_the_tour(everywhere):
    tablet = everywhere.tablet
    routes = tour_routes(walked_by(tablet, everywhere.folder)) | desk_routes(tablet.place, tablet.concern)

    assert [picture.place for picture in GUIDE if picture.place not in routes] == []
    assert 6 <= len({picture.place for picture in GUIDE}) == len(GUIDE) <= 8
