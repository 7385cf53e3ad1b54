"""Checklist folders on disk."""

from __future__ import annotations

from pathlib import Path

from walkapp.checklists.documents import LARGEST_FILE_BYTES
from walkapp.checklists.reading import parse_stream, translations
from walkapp.errors import ChecklistError, Mistake
from walkapp.language import tr
from walkapp.model.checklist import Stream


def stream_files(folder: Path) -> dict[str, bytes]:
    """Read the files of one checklist folder; hidden ones are left out.

    Returns
    -------
    dict of str to bytes
        Content by file name. Of a file that is too large only as much as shows it is read.

    Raises
    ------
    ChecklistError
        If the folder or a file cannot be read.
    """
    files: dict[str, bytes] = {}
    path = folder
    try:
        for path in sorted(folder.iterdir()):
            if path.name.startswith("."):
                continue
            if not path.is_file() and not path.is_dir() and path.exists():
                # Opening a pipe could wait for ever.
                raise ChecklistError([Mistake(str(path), 0, tr("it is no plain file"), tr("take it out"))])
            with path.open("rb") as file:
                files[path.name] = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise ChecklistError([_unreadable(path, error)]) from None
    return files


def load_streams(folder: Path, *, language: str = "") -> tuple[Stream, ...]:
    """Read every checklist in a folder.

    Parameters
    ----------
    folder
        Holds one folder per value stream.
    language
        As in :func:`parse_stream`.

    Returns
    -------
    tuple of Stream
        At least one, sorted by id.

    Raises
    ------
    ChecklistError
        With every mistake of every folder; nothing was loaded.
    """
    try:
        folders = [path for path in sorted(folder.iterdir()) if path.is_dir() and path.name[0] != "."]
    except OSError as error:
        raise ChecklistError([_unreadable(folder, error)]) from None
    if not folders:
        mend = tr("add a folder for each value stream, with stream.toml and checks.toml")
        raise ChecklistError([Mistake(str(folder), 0, tr("no value stream is in this folder"), mend)])
    streams: list[Stream] = []
    mistakes: list[Mistake] = []
    for path in folders:
        try:
            streams.append(parse_stream(path.name, stream_files(path), language=language))
        except ChecklistError as error:
            mistakes.extend(error.mistakes)
    if mistakes:
        raise ChecklistError(mistakes)
    return tuple(streams)


def load_translations(folder: Path) -> dict[str, dict[str, tuple[str, ...]]]:
    """Read every checklist in a folder in each further language that it has.

    Returns
    -------
    dict of str to dict of str to tuple of str
        By id of the stream: the texts without a translation, by the name of the file that should have it.

    Raises
    ------
    ChecklistError
        With every mistake in the files of the languages.
    """
    mistakes: list[Mistake] = []
    found = {}
    for stream in load_streams(folder):
        try:
            found[stream.id] = translations(stream.id, stream_files(folder / stream.id))
        except ChecklistError as error:
            mistakes.extend(error.mistakes)
    if mistakes:
        raise ChecklistError(mistakes)
    return found


def _unreadable(path: Path, error: OSError) -> Mistake:
    if isinstance(error, FileNotFoundError):
        return Mistake(str(path), 0, tr("there is no such folder"), tr("check the name"))
    return Mistake(
        str(path),
        0,
        tr("it cannot be read ({strerror})", strerror=error.strerror),
        tr("name a folder that can be read"),
    )
