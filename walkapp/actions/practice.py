"""Practice: an invented walk in a store of its own, beside the real one and never a part of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from walkapp.actions.intake import Subject, keep_photo
from walkapp.actions.outputs import cannot_write
from walkapp.actions.walking import open_concern
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.files import make_folder_durably, remove_folder, write_durably
from walkapp.language import tr
from walkapp.store import PRACTICE_FILE, Store

MARKER_TEXT = b"Made by walkapp to practise on: nothing here is real, and all of it may be deleted.\n"

INCOMING = "incoming-pictures"  # no text: name of a folder


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedParts:
    """The parts that somebody who practises is told to have in hand.

    Parameters
    ----------
    checked
        How many parts the scenario knows there; at least 1.
    nok
        How many of them have the defect; 0 to `checked`.
    """

    checked: int
    nok: int

    def has_defect(self, number: int) -> bool:
        """Say whether a part has the defect; those that have it are spread evenly.

        Parameters
        ----------
        number
            Which part, from 0; behind the last one the parts begin again.

        Examples
        --------
        >>> [InventedParts(checked=4, nok=2).has_defect(number) for number in range(4)]
        [False, True, False, True]
        """
        at = number % self.checked
        return (at + 1) * self.nok // self.checked > at * self.nok // self.checked


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedPicture:
    """A drawn picture.

    Parameters
    ----------
    name, data
        Name and content of the file.
    limit
        ``ok`` or ``not_ok`` for a limit sample; empty for one that is there to be taken in.
    caption
        What it shows.
    """

    name: str
    data: bytes
    limit: str = ""
    caption: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeFacts:
    """What practice is about; all of it is invented.

    Parameters
    ----------
    checklists
        Folder of the value streams; that of the concern is in it.
    concern
        The fields of :class:`walkapp.model.records.Concern`.
    pictures
        Draws the pictures; asked when practice begins.
    parts
        What is known of the parts, by station, check and parallel unit; with an empty unit those of
        all units together.
    looks
        How a part looks, in words: some for ``ok`` and some for ``not_ok``, at least one of each.
    """

    checklists: Path
    concern: Mapping[str, Any]
    pictures: Callable[[], Sequence[InventedPicture]]
    parts: Mapping[tuple[str, str, str], InventedParts]
    looks: Mapping[str, Sequence[str]]


def practice_folder(store: Path) -> Path:
    """Give the folder of practice: beside that of the real records, so that neither is in the other."""
    return store.with_name(f"{store.name}-practice")


def open_practice(
    folder: Path,
    facts: PracticeFacts,
    *,
    now: Callable[[], datetime],
    new_id: Callable[[], str],
    app: str,
) -> Workplace:
    """Open practice where it was left; the first time, its concern is opened and its pictures are drawn.

    Parameters
    ----------
    folder
        Folder of practice; made when it is missing.
    facts
        What it is about.
    now, new_id, app
        As for :class:`walkapp.store.Store`.

    Returns
    -------
    Workplace
        The caller closes its store.

    Raises
    ------
    InputError
        If the folder holds something else, or cannot be written, or the checklists have a mistake.
    StoreError
        If the disk refuses, or it is open already.
    """
    _claim(folder)
    store = Store(folder, now=now, new_id=new_id, app=app)
    try:
        place = Workplace(store=store, checklists=facts.checklists, now=now, new_id=new_id)
        if not store.concerns():
            _begin(place, facts)
    except BaseException:
        store.close()
        raise
    return place


def _claim(folder: Path) -> None:
    """Say in the folder that nothing in it is real, before anything else is in it."""
    try:
        if folder.exists() and not (folder / PRACTICE_FILE).is_file() and any(folder.iterdir()):
            raise InputError(
                tr(
                    "{folder}: holds something else than practice; free that name to practise.",
                    folder=folder,
                )
            )
        make_folder_durably(folder)
        if not (folder / PRACTICE_FILE).is_file():
            write_durably(folder / PRACTICE_FILE, MARKER_TEXT)
    except OSError as error:
        raise cannot_write(folder, error) from error


def _begin(place: Workplace, facts: PracticeFacts) -> None:
    concern = open_concern(place, **facts.concern).concern
    incoming = place.store.folder / INCOMING
    try:
        incoming.mkdir(exist_ok=True)
        for picture in facts.pictures():
            if picture.limit:
                subject = Subject(concern=concern, limit=picture.limit)
                name, caption = picture.name, picture.caption
                keep_photo(place, subject, picture.data, name, caption=caption, invented=True)
            else:
                (incoming / picture.name).write_bytes(picture.data)
    except OSError as error:
        raise cannot_write(incoming, error) from error


def clear_practice(folder: Path) -> None:
    """Remove everything that was practised; its store has to be closed.

    Raises
    ------
    InputError
        If the folder holds something else, or cannot be removed.
    """
    _claim(folder)
    try:
        for inside in sorted(folder.iterdir()):
            # The marker goes last: what is left after a power cut is still known for practice.
            if inside.is_dir():
                remove_folder(inside)
            elif inside.name != PRACTICE_FILE:
                inside.unlink()
    except OSError as error:
        raise cannot_write(folder, error) from error
