"""Pictures, copies of them that may leave the tablet, and what is drawn over them."""

from __future__ import annotations

from typing import ClassVar

from walkapp.errors import RecordError
from walkapp.model.boxes import Box, boxes_from_text
from walkapp.model.drawings import (
    LEAST_LETTERS,
    LONGEST_WORDS,
    MOST_LETTERS,
    SHAPES,
    Drawing,
    points_from_text,
)
from walkapp.model.records.base import Record
from walkapp.model.schema import choice, digest, flag, key, record_id, record_kind, text, whole

LIMITS = ("ok", "not_ok")
PICTURE_KINDS = ("image/jpeg", "image/png")


def picture_file_name(sha256: str, media: str) -> str:
    """Name under which a picture file is kept: its SHA-256 and the ending of its kind."""
    return sha256 + (".jpg" if media == "image/jpeg" else ".png")


@record_kind
class Photo(Record):
    """A picture; the file itself is kept unchanged under its SHA-256.

    It shows what was found at a station, a limit sample of the concern, or what another record is about.
    """

    kind: ClassVar[str] = "photo"
    title: ClassVar[str] = "Photos: pictures of what was found"

    station: str = key("Id of the station; empty for a picture of the concern itself", default="")
    check: str = key("Id of the check that asked for it", default="")
    limit: str = choice(
        "What a limit sample shows: a part that is just OK, or one that is NOK", LIMITS, default=""
    )
    about: str = record_id("Id of the action, trial or other record that it is evidence of", default="")
    sha256: str = digest("SHA-256 of the picture file")
    media: str = choice("Kind of file", PICTURE_KINDS)
    size_bytes: int = whole("Size of the file in bytes", least=1)
    width_px: int = whole("Width of the upright picture in pixels", least=1)
    height_px: int = whole("Height of the upright picture in pixels", least=1)
    caption: str = text("What the picture shows", longest=200, default="")
    invented: bool = flag("Whether it was drawn for the demo and shows no real part", default=False)

    def _check_together(self) -> None:
        if not (self.station or self.limit or self.about):
            raise RecordError("station, limit and about are all missing: a picture belongs to something")

    @property
    def file_name(self) -> str:
        """Name of the picture file in a store and in a bundle."""
        return picture_file_name(self.sha256, self.media)


@record_kind
class PhotoCopy(Record):
    """A copy of a picture that may leave the tablet: without any metadata, perhaps with covered places.

    A copy without covered places is made again from the picture wherever it is needed; one with covered
    places is a file of its own. Places are in pixels, not in shares of the picture, so that everybody
    covers exactly the same ones.
    """

    kind: ClassVar[str] = "photo_copy"
    title: ClassVar[str] = "Copies of photos: without place, serial number and all other metadata"

    station: str = key("Id of the station; empty for a picture of the concern itself", default="")
    photo: str = digest("SHA-256 of the picture file that it is a copy of")
    sha256: str = digest("SHA-256 of the copy")
    media: str = choice("Kind of file", PICTURE_KINDS)
    size_bytes: int = whole("Size of the copy in bytes", least=1)
    width_px: int = whole("Width of the upright picture in pixels", least=1)
    height_px: int = whole("Height of the upright picture in pixels", least=1)
    covered: str = text(
        "Places that are covered for good, with people or names: left, top, right and bottom of each in "
        "pixels of the upright picture",
        default="",
    )

    def _check_together(self) -> None:
        if not all(box.fits(self.width_px, self.height_px) for box in self.boxes):
            raise RecordError("covered must lie on the picture")
        if self.photo == self.sha256:
            raise RecordError("sha256 must differ from photo")

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The covered places."""
        return boxes_from_text(self.covered)

    @property
    def file_name(self) -> str:
        """Name of the copy's file in a store and in a bundle."""
        return picture_file_name(self.sha256, self.media)


@record_kind
class PictureMark(Record):
    """One thing drawn over a picture; the picture itself stays as it was taken.

    It lies on the picture wherever the concern has it, so it belongs to no walk. Changing it is a record
    that replaces it. Where two tablets changed the same one apart from each other both changes stay: there
    is nothing to decide, and whoever does not want one takes it away.
    """

    kind: ClassVar[str] = "picture_mark"
    title: ClassVar[str] = "Marks on pictures: arrows, rings, lines and words drawn over them"
    heads_all_hold: ClassVar[bool] = True

    photo: str = digest("SHA-256 of the picture file that it lies on")
    shape: str = choice("What is drawn", SHAPES)
    points: str = text(
        "Where, in shares of width and height of the upright picture from its upper left corner, 0 to 1: "
        "tail and tip of an arrow, two corners around a ring, points along a line, the middle of words"
    )
    words: str = text("What is written; empty for other shapes", longest=LONGEST_WORDS, default="")
    letters: int | None = whole(
        "Height of the letters in thousandths of the longer side of the picture; empty for other shapes",
        least=LEAST_LETTERS,
        most=MOST_LETTERS,
        default=None,
    )

    def _check_together(self) -> None:
        if self.walk:
            raise RecordError("walk must be empty: a mark lies on its picture wherever that is")
        if problem := self.drawing.problem():
            raise RecordError(problem)

    @property
    def drawing(self) -> Drawing:
        """What it looks like."""
        return Drawing(self.shape, points_from_text(self.points), self.words, self.letters or 0)
