"""All pictures of a concern or of a book, each once, and which of them are looked at."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from walkapp.actions.books import Facts
from walkapp.actions.copies import Copies, copies_by_photo, version_of
from walkapp.model.checklist import Stream
from walkapp.model.records import LIMITS, Photo, PictureMark

ALL, OF_WALK, OF_ENTRY, EVIDENCE = "all", "walk", "entry", "evidence"
AT_STATION = "station "
"""Begins the word of a filter by station; the id of the station follows."""

MOST_LISTED = 2_000
"""Pictures that one page lists, the first of them; filters reach the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GalleryPicture:
    """One picture, whoever recorded it and how often.

    Parameters
    ----------
    photos
        Its records that hold, the newest first by id; at least one.
    copies
        The copies of it that hold; none where there are none.
    marks
        Ids of what is drawn over it, the oldest first.
    """

    photos: tuple[Photo, ...]
    copies: Copies | None
    marks: tuple[str, ...] = ()

    @property
    def sha256(self) -> str:
        """What it is known by."""
        return self.photos[0].sha256

    @property
    def version(self) -> str:
        """Its covered places and marks, as text: it looks the same as long as this is the same."""
        return "\n".join((version_of(self.copies), *self.marks))

    @property
    def limits(self) -> tuple[str, ...]:
        """The sides of the limit that it shows, OK first; both where tablets contradict each other."""
        return tuple(limit for limit in LIMITS if any(_is_sample(photo, limit) for photo in self.photos))

    @property
    def is_evidence(self) -> bool:
        """Whether it is kept as evidence of an entry."""
        return any(photo.about for photo in self.photos)

    @property
    def covered(self) -> int:
        """How many places are covered."""
        return len(self.copies.boxes) if self.copies is not None else 0


def gallery_of(facts: Facts) -> tuple[GalleryPicture, ...]:
    """Give every picture that holds, the newest first by id; also those that two tablets corrected apart.

    Parameters
    ----------
    facts
        The concern, or the book.
    """
    standing = facts.standing
    photos = {record.id: record for record in standing.current if isinstance(record, Photo)}
    for conflict in standing.conflicts:
        photos.update((head.id, head) for head in conflict.heads if isinstance(head, Photo))
    found: dict[str, list[Photo]] = {}
    for photo_id in sorted(photos, reverse=True):
        found.setdefault(photos[photo_id].sha256, []).append(photos[photo_id])
    copies = copies_by_photo(standing)
    marks: dict[str, list[str]] = {}
    for record in standing.current:
        if isinstance(record, PictureMark):
            marks.setdefault(record.photo, []).append(record.id)
    return tuple(
        GalleryPicture(
            photos=tuple(own), copies=copies.get(sha256), marks=tuple(sorted(marks.get(sha256, ())))
        )
        for sha256, own in found.items()
    )


def narrowed_gallery(
    pictures: Iterable[GalleryPicture], wanted: str, *, walk: str = "", entries: Collection[str] = ()
) -> tuple[GalleryPicture, ...]:
    """Give those pictures that are wanted, each with the records that are wanted before its others.

    Parameters
    ----------
    pictures
        In their order.
    wanted
        ``all``; ``walk``, ``entry``, ``evidence``; ``ok`` or ``not_ok``; ``station`` and an id.
    walk
        Id of the walk that ``walk`` means.
    entries
        Ids of the entry that ``entry`` means.
    """
    if wanted == ALL:
        return tuple(pictures)

    def is_wanted(photo: Photo) -> bool:
        if wanted.startswith(AT_STATION):
            return photo.station == wanted.removeprefix(AT_STATION)
        match wanted:
            case "walk":
                return bool(walk) and photo.walk == walk
            case "entry":
                return bool(photo.about) and photo.about in entries
            case "evidence":
                return bool(photo.about)
            case _:
                return _is_sample(photo, wanted)

    return tuple(
        replace(one, photos=(*(p for p in one.photos if is_wanted(p)), *others))
        for one in pictures
        if len(others := tuple(p for p in one.photos if not is_wanted(p))) < len(one.photos)
    )


def by_station(pictures: Iterable[GalleryPicture], stream: Stream | None) -> tuple[GalleryPicture, ...]:
    """Put pictures in the order of the stream; those of no station first, of strange ones last."""
    order = {"": -1, **({station.id: station.order for station in stream.stations} if stream else {})}
    last = max(order.values()) + 1

    def place(one: GalleryPicture) -> tuple[int, str]:
        station = one.photos[0].station
        return order.get(station, last), "" if station in order else station

    return tuple(sorted(pictures, key=place))


def _is_sample(photo: Photo, limit: str) -> bool:
    return bool(photo.limit) and photo.limit == limit and not photo.walk


def stations_of(pictures: Iterable[GalleryPicture]) -> Mapping[str, int]:
    """Count the pictures of each station id; one that was recorded at two counts at both."""
    found: dict[str, int] = {}
    for one in pictures:
        for station in {photo.station for photo in one.photos if photo.station}:
            found[station] = found.get(station, 0) + 1
    return found
