"""What a bundle has to be beyond what its reader can tell: pictures, checklists, entries of this tablet."""

from __future__ import annotations

from collections.abc import Iterable

from walkapp.bundle import Bundle
from walkapp.checklists import digest_of
from walkapp.errors import BundleError, PhotoError
from walkapp.language import msg, tr
from walkapp.model.records import Photo, PhotoCopy
from walkapp.photos import examine

LARGEST_OWN_NUMBER = 500_000_000
"""A tablet that counts on from here still has as many numbers left; nobody ever gave so many."""

_ASK_AGAIN = msg("ask for the bundle again")


def check_arriving(bundle: Bundle, name: str, device: str) -> None:
    """Refuse a bundle that this program cannot have written as it is.

    Parameters
    ----------
    bundle
        The opened bundle, with all hashes right.
    name
        What to call it.
    device
        Id of the tablet that it would be merged into.

    Raises
    ------
    BundleError
        Naming the first thing that is wrong.

    Notes
    -----
    One picture that cannot be decoded, or is not what its record says, keeps the whole bundle out. This
    is the safer of two ways for whoever needs the evidence. A picture is decoded to the last pixel before
    it is recorded, its SHA-256 is that of the bytes that were decoded, and a picture that was damaged
    later is left out when a bundle is written. So a wrong one with the right SHA-256 was put in by
    somebody who rebuilt the bundle, and then no record beside it can be trusted either. Refusing loses
    nothing: the tablet has its records, the bundle stays as it is, and the sentence names the picture.
    Keeping it, marked, would bring bytes that are no picture into the store, and pass them on from there.

    Something behind the end of a picture, or in its metadata, is no reason to refuse: phones put films and
    second pictures there, and evidence is kept as it was taken. It stays bytes in a file that ends in
    .jpg or .png: whatever is shown is made from the compressed pixels alone.
    """
    for digest, files in bundle.checklists.items():
        if digest_of(files) != digest:
            raise BundleError(
                tr(
                    "{name}: a checklist is not the one that its name says; {ask_again}.",
                    name=name,
                    ask_again=tr(_ASK_AGAIN),
                )
            )
    for record in bundle.records:
        if record.device == device and record.number > LARGEST_OWN_NUMBER:
            raise BundleError(
                tr(
                    "{name}: holds an entry of this very tablet with the running number "
                    "{number}, which it never gave; {ask_again}.",
                    name=name,
                    number=record.number,
                    ask_again=tr(_ASK_AGAIN),
                )
            )
    named: dict[str, list[Photo | PhotoCopy]] = {}
    for record in bundle.records:
        if isinstance(record, (Photo, PhotoCopy)):
            named.setdefault(record.file_name, []).append(record)
    for photo in bundle.photo_names:
        # One at a time: decoded, the largest takes 200 MB.
        _check_picture(
            bundle.read_photo(photo),
            f"{name}: photos/{photo}",  # no text: name of a file
            named.get(photo, ()),
        )


def _check_picture(data: bytes, where: str, records: Iterable[Photo | PhotoCopy]) -> None:
    try:
        facts = examine(data, where)
    except PhotoError as error:
        raise BundleError(
            tr(
                "{where} cannot be decoded as a picture, so it was put in afterwards; {ask_again}.",
                where=where,
                ask_again=tr(_ASK_AGAIN),
            )
        ) from error
    found = facts.media, facts.width_px, facts.height_px, len(data)
    for record in records:
        if (record.media, record.width_px, record.height_px, record.size_bytes) != found:
            raise BundleError(
                tr(
                    "{where} is {width_px} x {height_px} pixels of {media} in {data} bytes, its "
                    "record says otherwise; {ask_again}.",
                    where=where,
                    width_px=facts.width_px,
                    height_px=facts.height_px,
                    media=facts.media,
                    data=len(data),
                    ask_again=tr(_ASK_AGAIN),
                )
            )
