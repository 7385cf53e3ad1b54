"""Files that go out: a page or a picture is written whole, and never over something that it is not."""

from __future__ import annotations

from pathlib import Path

from walkapp.bundle.places import describe_refusal
from walkapp.errors import InputError
from walkapp.files import write_atomically
from walkapp.language import msg, tr
from walkapp.store import PRACTICE_FILE, Store

BEGINS_WITH = {
    "pdf": (b"%PDF-",),
    "png": (b"\x89PNG\r\n\x1a\n",),
    "svg": (b"<?xml", b"<svg"),
    "html": (b"<!DOCTYPE html>",),
}
"""How a file of each form begins."""


PRACTICE_STAYS = msg(
    "This is practice and nothing in it is real: nothing leaves it, and nothing is merged into it; tap "
    "Leave practice and do this with the real records."
)

DRAWN_FORMS = ("pdf", "png", "svg")
"""What a figure is written as."""


def form_of(out: Path) -> str:
    """Give the form that a file's name asks for: ``pdf``, ``png`` or ``svg``.

    Raises
    ------
    InputError
        If its name ends in none of these.
    """
    form = out.suffix.lower()[1:]
    if form not in DRAWN_FORMS:
        raise InputError(tr("{out}: a name that ends in .pdf, .png or .svg says what to write.", out=out))
    return form


def refuse_other_file(out: Path, form: str) -> None:
    """Refuse to write over something that is no file of this form, such as a checklist.

    Parameters
    ----------
    out
        The file to be written.
    form
        A key of ``BEGINS_WITH``.

    Raises
    ------
    InputError
        If something else is there, it cannot be looked at, or the file would be one of practice.
    """
    if any((folder / PRACTICE_FILE).is_file() for folder in out.absolute().parents):
        raise InputError(tr(PRACTICE_STAYS))
    try:
        if not out.exists():
            return
        with out.open("rb") as file:
            begins = file.read(max(len(one) for one in BEGINS_WITH[form]))
    except OSError as error:
        raise cannot_write(out, error) from error
    if not begins.startswith(BEGINS_WITH[form]):
        raise InputError(
            tr("{out}: is there already and is no {form}; choose another name.", out=out, form=form.upper())
        )


def write_out(out: Path, data: bytes, form: str) -> None:
    """Write a page or a picture; an older one of that name is replaced in one step.

    Parameters
    ----------
    out, form
        As for :func:`refuse_other_file`.
    data
        The whole file.

    Raises
    ------
    InputError
        If something else is there, or the file cannot be written; what was there before stays.
    """
    refuse_other_file(out, form)
    try:
        write_atomically(out, data)
    except OSError as error:
        raise cannot_write(out, error) from error


def refuse_practice(store: Store) -> None:
    """Refuse to let any record out of a store to practise on, or into it.

    Raises
    ------
    InputError
        If it is such a store.
    """
    if store.is_practice:
        raise InputError(tr(PRACTICE_STAYS))


def make_folder(folder: Path) -> None:
    """Make a folder to write into, and those above it, where it is not there yet.

    Raises
    ------
    InputError
        If it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            tr(
                "{folder}: cannot be made ({strerror}); free that name.",
                folder=folder,
                strerror=error.strerror,
            )
        ) from error


def cannot_write(out: Path, error: OSError) -> InputError:
    """Make the error that says why a file cannot be written, and what to do about it."""
    what, mend = describe_refusal(error)
    return InputError(tr("{out}: cannot be written: {what}; {mend}.", out=out, what=what, mend=mend))
