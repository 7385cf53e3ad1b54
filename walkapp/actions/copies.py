"""Copies of pictures: which one may leave the tablet, and covering people in them.

A picture that holds metadata never leaves unless asked for; its copy without metadata does. Once places
of it were covered, only a copy leaves that covers all that any copy of the picture covers. So where two
tablets covered different places none leaves until a person covers both (:func:`cover_all`): to send
either would show what somebody covered.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from walkapp.actions.books import OutsideWalks, facts_of
from walkapp.actions.reading import WalkFacts
from walkapp.actions.reasons import ANEW, COVERED, COVERS_ALL, UNCOVERED, UNDO
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError, PhotoError
from walkapp.files import sha256_of
from walkapp.language import tr
from walkapp.model.boxes import MOST_BOXES, Box, boxes_to_text
from walkapp.model.records import Photo, PhotoCopy, Record, Withdrawal, picture_file_name
from walkapp.model.standing import Standing
from walkapp.photos import cover, examine, without_location
from walkapp.store import Store

Album = WalkFacts | OutsideWalks
"""Where pictures are recorded: a walk, or what of a concern or audit book lies outside any walk."""


@dataclass(frozen=True, slots=True)
class Copies:
    """The copies of one picture that hold; several after corrections on several tablets.

    Parameters
    ----------
    heads
        Sorted by id; at least one.
    """

    heads: tuple[PhotoCopy, ...]

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Every place that any of them covers, each once."""
        return tuple(dict.fromkeys(box for head in self.heads for box in head.boxes))

    @property
    def safe(self) -> tuple[PhotoCopy, ...]:
        """Those that cover all that any of them covers; none where they contradict each other."""
        everything = set(self.boxes)
        return tuple(head for head in self.heads if set(head.boxes) == everything)


def copies_by_photo(standing: Standing) -> Mapping[str, Copies]:
    """Give the copies that hold, by the SHA-256 of the picture; every head of a conflict counts."""
    heads = {record for record in standing.current if isinstance(record, PhotoCopy)}
    for conflict in standing.conflicts:
        heads.update(head for head in conflict.heads if isinstance(head, PhotoCopy))
    found: dict[str, list[PhotoCopy]] = {}
    for head in sorted(heads, key=lambda record: (record.id, record.sha256)):
        found.setdefault(head.photo, []).append(head)
    return {photo: Copies(tuple(copies)) for photo, copies in found.items()}


def bare_copy(
    data: bytes, *, station: str, media: str, size_px: tuple[int, int], copy: bytes | None = None
) -> dict[str, Any] | None:
    """Say what the record of the copy without metadata holds; none when there is nothing to remove.

    `copy` is that copy where it was made already.
    """
    if copy is None:
        copy = without_location(data)
    return None if copy == data else _said(data, copy, station, media, size_px)


def _said(
    data: bytes, copy: bytes, station: str, media: str, size_px: tuple[int, int], boxes: Iterable[Box] = ()
) -> dict[str, Any]:
    return {
        "station": station,
        "photo": sha256_of(data),
        "sha256": sha256_of(copy),
        "media": media,
        "size_bytes": len(copy),
        "width_px": size_px[0],
        "height_px": size_px[1],
        "covered": boxes_to_text(boxes),
    }


def bare_bytes(store: Store, photo: Photo, copy: PhotoCopy) -> bytes | None:
    """Make the copy without metadata again; none when that is not possible here.

    Returns
    -------
    bytes or None
        Bytes with the SHA-256 of `copy`. None when the picture is not here or damaged, or this version
        makes other bytes of it than the one that wrote the record.
    """
    data = sound_bytes(store, photo)
    if data is None or copy.boxes:
        return None
    made = without_location(data, photo.file_name)
    return made if sha256_of(made) == copy.sha256 else None


def sound_bytes(store: Store, kept: Photo | PhotoCopy) -> bytes | None:
    """Read a kept file; none when it is not here or not what its name says."""
    path = store.photo_path(kept.file_name)
    if path is None:
        return None
    data = path.read_bytes()
    return data if sha256_of(data) == kept.sha256 else None


def picture_bytes(store: Store, photo: Photo, copies: Copies | None) -> bytes | None:
    """Give the picture as little covered as it is here: as it was taken, or a copy; none when not here."""
    found = uncovered_bytes(store, photo)
    if found is None and copies is not None:
        by_boxes = sorted(copies.heads, key=lambda head: len(head.boxes))
        found = next((data for head in by_boxes if (data := sound_bytes(store, head))), None)
    return found


def uncovered_bytes(store: Store, photo: Photo) -> bytes | None:
    """Give the picture as it was taken, or its copy without metadata; none when neither is here."""
    found = sound_bytes(store, photo)
    if found is None:
        records = (r for r in store.records(photo.scope) if isinstance(r, PhotoCopy))
        bare = (r for r in records if r.photo == photo.sha256 and not r.boxes)
        found = next((data for copy in bare if (data := sound_bytes(store, copy))), None)
    return found


def shown_bytes(store: Store, photo: Photo, copies: Copies | None) -> bytes | None:
    """Give the picture as screens show it: with every place covered that any copy covers."""
    if copies is None or not copies.boxes:
        return picture_bytes(store, photo, copies)
    for head in copies.safe:
        if (data := sound_bytes(store, head)) is not None:
            return data
    data = picture_bytes(store, photo, copies)
    if data is None:
        return None
    try:
        return cover(data, copies.boxes, photo.file_name)
    except ValueError as error:
        # Another tablet may have said that the picture is larger than it is.
        raise PhotoError(
            tr(
                "The places covered in {file_name} do not lie on it; cover them once more.",
                file_name=photo.file_name,
            )
        ) from error


def version_of(copies: Copies | None) -> str:
    """Say all that decides how a picture is shown beside its file; empty when it is shown as it is.

    Whatever :func:`shown_bytes` comes to draw has to be named here: small pictures are kept under it.
    """
    return boxes_to_text(copies.boxes) if copies is not None else ""


def make_missing_copies(place: Workplace, concern: str) -> int:
    """Record the copies without metadata that pictures of a concern or audit book lack; give their number.

    They lack them when a version that made no copies took them in, or when this version makes other
    bytes than the one that wrote the record. A picture that cannot be read is left out.
    """
    standing = facts_of(place, concern).standing
    copies = copies_by_photo(standing)
    entries: list[tuple[type[PhotoCopy], dict[str, Any]]] = []
    done: set[str] = set()
    for photo in standing.current:
        if not isinstance(photo, Photo) or photo.sha256 in done:
            continue
        done.add(photo.sha256)
        said = _missing_copy(place.store, photo, copies.get(photo.sha256))
        if said is not None:
            entries.append((PhotoCopy, said))
    if entries:
        place.add_all(entries)
    return len(entries)


def _missing_copy(store: Store, photo: Photo, copies: Copies | None) -> dict[str, Any] | None:
    said: dict[str, Any] = {"concern": photo.concern, "walk": photo.walk}
    if copies is not None:
        if copies.boxes or any(sound_bytes(store, head) for head in copies.heads):
            return None
        said |= {"replaces": tuple(head.id for head in copies.heads), "why": ANEW}
    data = sound_bytes(store, photo)
    if data is None:
        return None
    try:
        facts = examine(data, photo.file_name)
        size_px = (facts.width_px, facts.height_px)
        copy = bare_copy(data, station=photo.station, media=facts.media, size_px=size_px)
    except PhotoError:
        return None
    is_there = (
        copies is not None and copy is not None and copy["sha256"] in {c.sha256 for c in copies.heads}
    )
    return None if copy is None or is_there else {**copy, **said}


def photo_of(here: Album, sha256: str) -> Photo:
    """Find a recorded picture of a walk, or of what lies outside any walk.

    Raises
    ------
    InputError
        If there is no such picture.
    """
    found = next((r for r in here.current if isinstance(r, Photo) and r.sha256 == sha256), None)
    if found is None:
        raise InputError(tr("This picture is not recorded here; go back and choose one."))
    return found


def cover_place(place: Workplace, here: Album, sha256: str, box: Box) -> PhotoCopy:
    """Cover one more place of a picture: a new copy, its file durable before its record is.

    Parameters
    ----------
    place
        Where to write.
    here
        Where the picture is recorded.
    sha256
        Of the picture.
    box
        The place, on the upright picture.

    Raises
    ------
    InputError
        If there is no such picture, or it has too many covered places.
    PhotoError
        If the picture is not here or cannot be read.
    """
    photo = photo_of(here, sha256)
    everything = copies_by_photo(here.facts.standing).get(sha256)
    boxes = tuple(dict.fromkeys((*(everything.boxes if everything else ()), box)))
    if len(boxes) > MOST_BOXES:
        raise InputError(
            tr(
                "A picture has at most {most_boxes} covered places; cover a larger place at once.",
                most_boxes=MOST_BOXES,
            )
        )
    before = _own_heads(everything, photo)
    if everything is not None and any(set(h.boxes) != set(everything.boxes) for h in everything.heads):
        # Undo goes back to a record of this journal: it has to cover what any other covers.
        before = (cover_all(place, here, sha256).id,)
    return _put(place, photo, everything, boxes, before, COVERED)


def cover_all(place: Workplace, here: Album, sha256: str) -> PhotoCopy:
    """Settle that tablets covered different places: one copy that covers all of them.

    Raises
    ------
    InputError
        If there is no such picture, or nothing is covered.
    PhotoError
        If the picture is not here or cannot be read.
    """
    photo = photo_of(here, sha256)
    everything = copies_by_photo(here.facts.standing).get(sha256)
    if everything is None or not everything.boxes:
        raise InputError(tr("Nothing is covered in this picture yet; draw over a face first."))
    return _put(place, photo, everything, everything.boxes, _own_heads(everything, photo), COVERS_ALL)


def uncover_last(place: Workplace, here: Album, sha256: str) -> Record:
    """Take back the place that was covered last.

    Returns
    -------
    Record
        A copy that covers one place less, or, where none is left and the picture holds no metadata, the
        withdrawal of the copy: the picture itself leaves again.

    Raises
    ------
    InputError
        If there is no such picture, or nothing was covered here.
    PhotoError
        If the picture is here only with places covered.
    """
    photo = photo_of(here, sha256)
    everything = copies_by_photo(here.facts.standing).get(sha256)
    if everything is None or not everything.boxes or not _own_heads(everything, photo):
        raise InputError(tr("Nothing was covered in this picture here, so nothing can be taken back."))
    return _uncover(place, photo, everything, everything.boxes[-1], UNCOVERED)


def undo_cover(place: Workplace, here: Album, entry: PhotoCopy) -> Record:
    """Undo a record that covered a place: that place alone, whatever was covered since.

    Raises
    ------
    InputError
        If the picture is no longer recorded.
    PhotoError
        If the picture is here only with places covered.
    """
    photo = photo_of(here, entry.photo)
    everything = copies_by_photo(here.facts.standing).get(entry.photo)
    if everything is None or not _own_heads(everything, photo):
        ids = {"concern": entry.concern, "walk": entry.walk}
        return place.add(Withdrawal, replaces=(entry.id,), why=UNDO, **ids)
    return _uncover(place, photo, everything, entry.boxes[-1], UNDO)


def _uncover(place: Workplace, photo: Photo, everything: Copies, gone: Box, why: str) -> Record:
    data = uncovered_bytes(place.store, photo)
    if data is None:
        raise PhotoError(
            tr("Only a covered copy is here; take the place back on the tablet that has the picture.")
        )
    own = _own_heads(everything, photo)
    if boxes := tuple(box for box in everything.boxes if box != gone):
        return _put(place, photo, everything, boxes, own, why)
    copy = without_location(data, photo.file_name)
    ids = {"concern": photo.concern, "walk": photo.walk, "replaces": own, "why": why}
    if sha256_of(copy) == photo.sha256:
        return place.add(Withdrawal, **ids)
    said = _said(data, copy, photo.station, photo.media, (photo.width_px, photo.height_px))
    return place.add(PhotoCopy, **{**said, "photo": photo.sha256}, **ids)


def _own_heads(copies: Copies | None, photo: Photo) -> tuple[str, ...]:
    """Ids of the copies that were recorded where the picture was: in its walk, or outside any."""
    return tuple(dict.fromkeys(h.id for h in copies.heads if h.walk == photo.walk)) if copies else ()


def _put(
    place: Workplace,
    photo: Photo,
    copies: Copies | None,
    boxes: tuple[Box, ...],
    replaces: tuple[str, ...],
    why: str,
) -> PhotoCopy:
    data = picture_bytes(place.store, photo, copies)
    if data is None:
        raise PhotoError(tr("The picture is not on this tablet; cover it on the one that took it."))
    made = cover(data, boxes, photo.file_name)
    said = _said(data, made, photo.station, photo.media, (photo.width_px, photo.height_px), boxes)
    place.store.add_photo(picture_file_name(said["sha256"], photo.media), made)
    return place.add(
        PhotoCopy,
        **{**said, "photo": photo.sha256},
        concern=photo.concern,
        walk=photo.walk,
        replaces=replaces,
        why=why,
    )
