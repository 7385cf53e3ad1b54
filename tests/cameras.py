"""One tablet with a walk on which pictures are taken, covered and sent."""

from __future__ import annotations

import zipfile
from pathlib import Path

from tests.fakes import Desk
from tests.photos.camera import phone_jpeg, scene
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.copies import copies_by_photo, cover_place, uncover_last
from walkapp.actions.merging import merge_bundles
from walkapp.actions.walking import Walking
from walkapp.model.boxes import Box
from walkapp.model.records import Photo, PhotoCopy

FACE, BADGE = Box(4, 6, 24, 30), Box(40, 20, 60, 40)
PHONE = phone_jpeg(scene((80, 48)))
"""A picture as a phone writes it: place, serial numbers and a small picture inside."""


class Camera:
    """Takes pictures on one tablet; every step reads the walk anew."""

    def __init__(self, folder: Path, *, seed: int = 0, desk: Desk | None = None, route=None) -> None:
        self.folder = folder
        self.desk = desk or Desk(folder, seed=seed)
        self.route = route or self.desk.walk()
        self.walking = Walking(self.desk.place, self.route.concern, self.route.walk)

    @property
    def now(self):
        return self.desk.facts(self.route)

    @property
    def copies(self):
        return copies_by_photo(self.now.facts.standing)

    def take(self, data: bytes = PHONE, station: str = "moulding") -> Photo:
        return self.walking.add_photo(station, data, "ear.jpg", invented=True)

    def cover(self, photo: Photo, box: Box = FACE) -> PhotoCopy:
        return cover_place(self.desk.place, self.now, photo.sha256, box)

    def uncover(self, photo: Photo):
        return uncover_last(self.desk.place, self.now, photo.sha256)

    def undo(self):
        return self.walking.undo(self.now)

    def send(self, name: str = "sent.zip", **how):
        return bundle_concerns(self.desk.place, self.folder / name, **how)

    def sent(self, name: str = "sent.zip", **how) -> dict[str, bytes]:
        """Write a bundle and give its pictures by file name."""
        return pictures_in(self.send(name, **how).path)

    def merge(self, *paths: Path):
        return merge_bundles(self.desk.place, paths)

    def close(self) -> None:
        self.desk.store.close()


def pictures_in(bundle: Path) -> dict[str, bytes]:
    """Give the pictures of a bundle by file name, straight out of the zip."""
    with zipfile.ZipFile(bundle) as read:
        names = [name for name in read.namelist() if name.startswith("photos/")]
        return {name.removeprefix("photos/"): read.read(name) for name in names}
