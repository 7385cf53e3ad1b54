"""Checklist folders on disk."""

from __future__ import annotations

from pathlib import Path

from walkapp.checklists.reading import LARGEST_FILE_BYTES, parse_stream
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


def load_streams(folder: Path) -> tuple[Stream, ...]:
    """Read every checklist in a folder.

    Parameters
    ----------
    folder
        Holds one folder per value stream.

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
            streams.append(parse_stream(path.name, stream_files(path)))
        except ChecklistError as error:
            mistakes.extend(error.mistakes)
    if mistakes:
        raise ChecklistError(mistakes)
    return tuple(streams)


def _unreadable(path: Path, error: OSError) -> Mistake:
    if isinstance(error, FileNotFoundError):
        return Mistake(str(path), 0, tr("there is no such folder"), tr("check the name"))
    return Mistake(
        str(path),
        0,
        tr("it cannot be read ({strerror})", strerror=error.strerror),
        tr("name a folder that can be read"),
    )
