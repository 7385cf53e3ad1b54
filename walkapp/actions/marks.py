"""Marks on pictures: arrows, rings, lines and words as records of their own; no picture file is changed.

The marks of a picture lie outside any walk, beside the concern or audit book that has the picture, and are
drawn over it wherever it is shown. A bundle carries the picture without them, and them as records.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from walkapp.actions.books import Facts
from walkapp.actions.reasons import REDRAWN, TAKEN_BACK
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import tr
from walkapp.model.drawings import Drawing, points_to_text
from walkapp.model.records import Photo, PictureMark, Record, Withdrawal
from walkapp.model.standing import standing_of
from walkapp.photos import width_of, words_as_drawn

MOST_MARKS = 100
"""Marks of one picture that are drawn, and that can be added to it."""

MOST_DRAWN_POINTS = 4000
"""Points of all marks of one picture that are drawn: more would hold up the worker for seconds."""


@dataclass(frozen=True)
class Marks:
    """The marks of one picture.

    Parameters
    ----------
    drawn
        Those that are drawn, sorted by id: the same on every tablet.
    total
        How many there are.
    """

    drawn: tuple[PictureMark, ...] = ()
    total: int = 0

    @cached_property
    def drawings(self) -> tuple[Drawing, ...]:
        """What they look like."""
        return tuple(mark.drawing for mark in self.drawn)


NO_MARKS = Marks()


class PictureMarks:
    """The marks that hold on the pictures of a concern or audit book.

    Parameters
    ----------
    records
        What is recorded outside any walk.
    """

    def __init__(self, records: tuple[Record, ...]) -> None:
        self.records = records
        kinds = (PictureMark, Withdrawal)
        has_any = any(isinstance(r, PictureMark) for r in records)
        standing = standing_of(r for r in records if isinstance(r, kinds)) if has_any else None
        found: dict[str, list[PictureMark]] = {}
        for record in standing.current if standing else ():
            if isinstance(record, PictureMark):
                found.setdefault(record.photo, []).append(record)
        self.by_photo: Mapping[str, Marks] = {
            photo: Marks(drawn=_chosen(marks), total=len(marks)) for photo, marks in found.items()
        }


def _chosen(marks: Iterable[PictureMark]) -> tuple[PictureMark, ...]:
    """Choose what is drawn: by turns of each tablet its newest, so that none crowds out another."""
    chosen: list[PictureMark] = []
    points = 0
    for mark in _by_turns(marks):
        more = mark.points.count(";") + 1
        if len(chosen) == MOST_MARKS:
            break
        if points + more <= MOST_DRAWN_POINTS:  # A shorter one may still have room.
            points += more
            chosen.append(mark)
    return tuple(sorted(chosen, key=lambda mark: mark.id))


def _by_turns(marks: Iterable[PictureMark]) -> Iterator[PictureMark]:
    by_tablet: dict[str, list[PictureMark]] = {}
    for mark in marks:
        by_tablet.setdefault(mark.device, []).append(mark)
    waiting = [by_tablet[device] for device in sorted(by_tablet)]
    while waiting:
        for own in waiting:
            yield own.pop()
        waiting = [own for own in waiting if own]


def recorded_photo(facts: Facts, sha256: str, walk: str = "") -> Photo:
    """Find a recorded picture of a concern or audit book, that of a walk before any other.

    Raises
    ------
    InputError
        If there is no such picture.
    """
    found = [r for r in facts.standing.current if isinstance(r, Photo) and r.sha256 == sha256]
    if not found:
        raise InputError(tr("This picture is not recorded here; go back and choose one."))
    return next((photo for photo in found if photo.walk == walk), found[0])


def marks_on(place: Workplace, photo: Photo) -> Marks:
    """Give the marks of a picture; worked out anew only when something was recorded."""
    return place.picture_marks(photo.concern).by_photo.get(photo.sha256, NO_MARKS)


def add_mark(place: Workplace, photo: Photo, drawing: Drawing) -> PictureMark:
    """Draw something over a picture.

    Parameters
    ----------
    place
        Where to record it.
    photo
        The picture.
    drawing
        What it looks like.

    Raises
    ------
    InputError
        If the picture has too many marks.
    RecordError
        If the drawing is not one that can be kept.
    """
    if marks_on(place, photo).total >= MOST_MARKS:
        raise InputError(
            tr("A picture has at most {most_marks} marks; take some away first.", most_marks=MOST_MARKS)
        )
    return place.add(PictureMark, photo=photo.sha256, concern=photo.concern, **_said(drawing))


def change_mark(place: Workplace, photo: Photo, mark: str, drawing: Drawing) -> PictureMark:
    """Move a mark, make it larger or smaller, or give it other words.

    Parameters
    ----------
    place, photo
        As for :func:`add_mark`.
    mark
        Its id.
    drawing
        What it looks like from now on.

    Raises
    ------
    InputError
        If the mark is no longer there.
    RecordError
        If the drawing is not one that can be kept.
    """
    old = mark_of(place, photo, mark)
    return place.add(
        PictureMark,
        photo=photo.sha256,
        concern=photo.concern,
        replaces=(old.id,),
        why=REDRAWN,
        **_said(drawing),
    )


def remove_mark(place: Workplace, photo: Photo, mark: str) -> Withdrawal:
    """Take a mark away, whoever drew it.

    Raises
    ------
    InputError
        If it is no longer there.
    """
    old = mark_of(place, photo, mark)
    return place.add(Withdrawal, concern=photo.concern, replaces=(old.id,), why=TAKEN_BACK)


def mark_of(place: Workplace, photo: Photo, mark: str) -> PictureMark:
    """Find a mark of a picture among those that are drawn.

    Raises
    ------
    InputError
        If it is no longer there.
    """
    found = next((one for one in marks_on(place, photo).drawn if one.id == mark), None)
    if found is None:
        raise InputError(tr("This mark was changed or taken away meanwhile; tap it once more."))
    return found


def newest_mark(place: Workplace, photo: Photo) -> Record | None:
    """Give what :func:`undo_mark` would undo: a mark, a change of one, or that one was taken away."""
    return newest_entry(place, photo.concern, (PictureMark,), lambda r: _is_on(r, photo))


def undo_mark(place: Workplace, photo: Photo) -> Record:
    """Undo what this tablet did last to the marks of a picture, whatever was recorded since elsewhere.

    Raises
    ------
    InputError
        If there is nothing to undo.
    """
    return take_back(place, photo.concern, (PictureMark,), lambda r: _is_on(r, photo))


def _is_on(record: Record, photo: Photo) -> bool:
    return isinstance(record, PictureMark) and record.photo == photo.sha256


def _said(drawing: Drawing) -> dict[str, object]:
    return {
        "shape": drawing.shape,
        "points": points_to_text(drawing.points),
        "words": drawing.words,
        "letters": drawing.letters or None,
    }


__all__ = [
    "MOST_MARKS",
    "NO_MARKS",
    "Marks",
    "PictureMarks",
    "add_mark",
    "change_mark",
    "mark_of",
    "marks_on",
    "newest_mark",
    "recorded_photo",
    "remove_mark",
    "undo_mark",
    "width_of",
    "words_as_drawn",
]
