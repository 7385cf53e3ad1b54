"""Which pictures go into a bundle: copies without metadata, unless the pictures as taken are asked for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.copies import Copies, bare_bytes, copies_by_photo, sound_bytes
from walkapp.errors import PhotoError
from walkapp.files import sha256_of_file
from walkapp.language import msgn, trn
from walkapp.model.records import CarriedRecord, Photo, PhotoCopy, Record, Withdrawal
from walkapp.model.standing import standing_of
from walkapp.photos import without_location
from walkapp.store import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaving:
    """The pictures of a bundle.

    Parameters
    ----------
    files
        Where each is, by its file name.
    notes
        What a person should know about them, one sentence each.
    """

    files: dict[str, Path]
    notes: tuple[str, ...]


def pictures_to_send(
    store: Store, records: Iterable[Record], folder: Path, *, originals: bool = False
) -> Leaving:
    """Choose the file of each recorded picture that leaves the tablet.

    Parameters
    ----------
    store
        Where the pictures are.
    records
        Everything that goes into the bundle. Pictures that were taken back do not leave.
    folder
        Where copies that are made again for this are put.
    originals
        Whether to send the pictures as they were taken.

    Returns
    -------
    Leaving
        At most one file a picture: as it was taken when that is asked for and it is here, or when there
        is no metadata in it and nothing of it is covered; else a copy that covers all that any copy in
        the whole store covers. A file that is not here or damaged must not hold up the records: the
        reader is told what is missing.
    """
    sent = set(records)
    photos = _current_photos(sent)
    chooser = _Chooser(store, {r for r in sent if isinstance(r, PhotoCopy)}, folder, originals)
    # A copy in another concern counts too: a face that is covered there must not leave from here.
    kinds = (PhotoCopy, Withdrawal)
    copies = copies_by_photo(standing_of(r for r in store.all_records() if isinstance(r, kinds)))
    # One tablet may have a picture with metadata, another the same one without: the copy of the first is
    # the picture of the second, and does not leave either once that was covered.
    covered = {sha256 for sha256, known in copies.items() if known.boxes}
    files = dict(_carried_photos(store, sent))
    for photo in photos:
        files |= chooser.choose(photo, copies.get(photo.sha256), covered)
    return Leaving(files=files, notes=_notes(chooser.told))


def _current_photos(records: Iterable[Record]) -> list[Photo]:
    standing = standing_of(r for r in records if isinstance(r, (Photo, Withdrawal)))
    photos = {r.sha256: r for r in standing.current if isinstance(r, Photo)}
    return [photos[sha256] for sha256 in sorted(photos)]


class _Chooser:
    """Chooses file by file, and counts what has to be told."""

    def __init__(self, store: Store, named: set[PhotoCopy], folder: Path, originals: bool) -> None:
        self._store = store
        self._named = named
        self._folder = folder
        self._originals = originals
        self.told: Counter[str] = Counter()

    def choose(self, photo: Photo, copies: Copies | None, covered: set[str]) -> dict[str, Path]:
        if self._originals and (data := sound_bytes(self._store, photo)) is not None:
            return self._as_taken(photo, data, copies)
        if copies is None:
            return self._only_without_metadata(photo)
        if not copies.safe:
            return self._keep_back("contradicting")
        safe = [copy for copy in copies.safe if copy in self._named and copy.sha256 not in covered]
        if not safe:
            return self._keep_back("elsewhere")
        return self._copy(photo, safe)

    def _as_taken(self, photo: Photo, data: bytes, copies: Copies | None) -> dict[str, Path]:
        self.told["as_taken"] += copies is not None or not _is_bare(data, photo)
        self.told["uncovered"] += copies is not None and bool(copies.boxes)
        return self._kept(photo)

    def _only_without_metadata(self, photo: Photo) -> dict[str, Path]:
        data = sound_bytes(self._store, photo)
        if data is None:
            return {}
        return self._kept(photo) if _is_bare(data, photo) else self._keep_back("no_copy")

    def _copy(self, photo: Photo, safe: list[PhotoCopy]) -> dict[str, Path]:
        for copy in safe:
            data = sound_bytes(self._store, copy)
            made = bare_bytes(self._store, photo, copy) if data is None else None
            # A record from elsewhere may call any picture a copy: one with metadata does not leave.
            if data is not None and not _is_bare(data, copy):
                continue
            if data is None and made is None:
                continue
            self.told["copies"] += 1
            self.told["covered"] += bool(copy.boxes)
            if made is None:
                return self._kept(copy)
            path = self._folder / copy.file_name
            path.write_bytes(made)
            return {copy.file_name: path}
        is_here = not safe[0].boxes and sound_bytes(self._store, photo) is not None
        return self._keep_back("no_copy") if is_here else {}

    def _kept(self, kept: Photo | PhotoCopy) -> dict[str, Path]:
        path = self._store.photo_path(kept.file_name)
        return {} if path is None else {kept.file_name: path}

    def _keep_back(self, why: str) -> dict[str, Path]:
        self.told[why] += 1
        return {}


def _is_bare(data: bytes, photo: Photo | PhotoCopy) -> bool:
    """Whether there is no metadata in a picture; one that cannot be read may hold any."""
    try:
        return without_location(data, photo.file_name) == data
    except PhotoError:
        return False


def _notes(told: Counter[str]) -> tuple[str, ...]:
    sentences = {
        "as_taken": msgn(
            "{count} photo is as taken, place and serial number included.",
            "{count} photos are as taken, place and serial number included.",
        ),
        "uncovered": msgn(
            "{count} photo is shown uncovered, although people or names were covered in the copy.",
            "{count} photos are shown uncovered, although people or names were covered in the copy.",
        ),
        "copies": msgn(
            "{count} photo is sent as a copy without place, serial number and other metadata.",
            "{count} photos are sent as a copy without place, serial number and other metadata.",
        ),
        "covered": msgn(
            "{count} photo is sent with places covered.",
            "{count} photos are sent with places covered.",
        ),
        "no_copy": msgn(
            "{count} photo is not sent, for lack of a copy without place and serial number: "
            "write the bundle in the app, which makes such copies, or add --originals to "
            "send photos as they were taken.",
            "{count} photos are not sent, for lack of a copy without place and serial "
            "number: write the bundle in the app, which makes such copies, or add "
            "--originals to send photos as they were taken.",
        ),
        "contradicting": msgn(
            "{count} photo is not sent, because tablets covered different places: open it "
            "from its photo page and tap 'Cover all these places'.",
            "{count} photos are not sent, because tablets covered different places: open "
            "each from its photo page and tap 'Cover all these places'.",
        ),
        "elsewhere": msgn(
            "{count} photo is not sent, because places are covered where the same picture "
            "was recorded elsewhere: cover them here too, from the photo page.",
            "{count} photos are not sent, because places are covered where the same picture "
            "was recorded elsewhere: cover them here too, from the photo page.",
        ),
    }
    return tuple(trn(*texts, told[why]) for why, texts in sentences.items() if told[why])


def _carried_photos(store: Store, records: Iterable[Record]) -> Iterator[tuple[str, Path]]:
    """Find the pictures that only records of a newer version name, by a SHA-256 in any of their fields.

    Such a record came in a bundle, and its picture with it, so that one is fit to leave. A picture that
    the record of a photo or of a copy names as well is decided about by that record.
    """
    named = {cell for record in records if isinstance(record, CarriedRecord) for _, cell in record.cells}
    known = {r.sha256 for r in records if isinstance(r, (Photo, PhotoCopy))}
    for name in store.photo_names() if named else ():
        path = store.photo_path(name)
        digest = name.partition(".")[0]
        if digest in named - known and path is not None and sha256_of_file(path) == digest:
            yield name, path
