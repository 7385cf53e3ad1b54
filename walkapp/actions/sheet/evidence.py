"""The pictures of a sheet: limit samples side by side, then what was seen where the defect starts."""

from __future__ import annotations

from collections.abc import Iterator

from walkapp.actions.acting import actions_of
from walkapp.actions.copies import copies_by_photo, shown_bytes
from walkapp.actions.days import today
from walkapp.actions.judging import evidence_of, limit_samples, on_both_sides
from walkapp.actions.marks import marks_on
from walkapp.actions.pictures import DAMAGED, NOT_HERE
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.errors import PhotoError
from walkapp.language import msg, tr, trn
from walkapp.model.records import Photo
from walkapp.paper.sheet_content import SheetGap, SheetPicture
from walkapp.photos import small_jpeg

MOST_PICTURES = 4

LONGEST_PX = 1000
"""Longest side of a picture: more than 200 pixels an inch where it is shown 5 inches wide."""


def evidence(
    place: Workplace, facts: ConcernFacts
) -> tuple[tuple[SheetPicture, ...], str, tuple[SheetGap, ...]]:
    """Choose the pictures of a concern that tell most.

    Returns
    -------
    pictures
        At most ``MOST_PICTURES``: the newest NOK and OK limit samples, then pictures of the first bad
        station, then evidence of actions, then all others; each picture once. People stay covered.
    note
        How many more there are, or that there is none.
    gaps
        What is missing.
    """
    chosen: dict[str, tuple[str, Photo]] = {}
    for label, photo in _in_order(place, facts):
        chosen.setdefault(photo.sha256, (label, photo))
    shown = tuple(_picture(place, facts, *one) for one in list(chosen.values())[:MOST_PICTURES])
    more = len(chosen) - len(shown)
    note = "" if shown else tr("No picture was taken in yet.")
    if more:
        note = trn("{count} more picture in the store.", "{count} more pictures in the store.", more)
    gaps = [
        SheetGap(about="judging", words=tr(words))
        for limit, words in _NO_SAMPLE.items()
        if not limit_samples(facts, limit)
    ]
    if not shown:
        gaps.append(SheetGap(about="pictures", words=tr("No picture of what was found yet.")))
    return shown, note, tuple(gaps)


_NO_SAMPLE = {"not_ok": msg("No NOK limit sample yet."), "ok": msg("No OK limit sample yet.")}


def _in_order(place: Workplace, facts: ConcernFacts) -> Iterator[tuple[str, Photo]]:
    both = on_both_sides(facts)
    samples = [limit_samples(facts, limit) for limit in ("not_ok", "ok")]
    for label, photos in zip((tr("NOK limit sample"), tr("OK limit sample")), samples, strict=True):
        for photo in photos[:1]:
            odd = tr("Shown as OK and as NOK: settle which") if photo.sha256 in both else label
            yield odd, photo
    answer, stream = facts.quick_answer, facts.stream
    names = {station.id: station.name for station in stream.stations} if stream else {}
    seen = [r for r in facts.standing.current if isinstance(r, Photo) and r.walk and r.station]
    first = answer.first_bad_station if answer else None
    if first:
        yield from (
            (tr("At {first}", first=first), photo) for photo in seen if names.get(photo.station) == first
        )
    for action in actions_of(facts, today(place)):
        for photo in evidence_of(facts, action.id):
            yield (tr("After the action") if action.done else tr("Of the action")), photo
    yield from ((tr("At {get}", get=names.get(photo.station, photo.station)), photo) for photo in seen)
    for label, photos in zip((tr("NOK limit sample"), tr("OK limit sample")), samples, strict=True):
        yield from ((label, photo) for photo in photos[1:])
    others = (r for r in facts.standing.current if isinstance(r, Photo))
    yield from ((tr("Evidence"), photo) for photo in others)


def _picture(place: Workplace, facts: ConcernFacts, label: str, photo: Photo) -> SheetPicture:
    copies = copies_by_photo(facts.standing).get(photo.sha256)
    said = (
        tr("{caption} (invented)", caption=photo.caption)
        if photo.invented and photo.caption
        else photo.caption
    )
    try:
        data = shown_bytes(place.store, photo, copies)
        trouble = tr(NOT_HERE)
        if data is not None:
            drawings = marks_on(place, photo).drawings
            (width, height), small = small_jpeg(data, LONGEST_PX, drawings=drawings)
            return SheetPicture(
                label=label, caption=said, data=small, width_px=width, height_px=height, trouble=""
            )
    except PhotoError:
        trouble = tr(DAMAGED)
    return SheetPicture(label=label, caption=said, data=b"", width_px=0, height_px=0, trouble=trouble)
