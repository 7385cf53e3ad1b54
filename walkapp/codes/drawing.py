"""The squares of a QR code."""

from __future__ import annotations

from dataclasses import dataclass

from walkapp.errors import InputError
from walkapp.language import tr

QUIET = 4
"""Light squares that a code has to have around it (ISO/IEC 18004)."""

MOST_LETTERS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Squares:
    """The dark squares of a code, without the quiet zone around it.

    Parameters
    ----------
    side
        Squares on each side.
    runs
        Runs of dark squares: row from the top, first column from the left, and how many; each at least 1.
    """

    side: int
    runs: tuple[tuple[int, int, int], ...]


def qr_squares(text: str) -> Squares:
    """Work out the QR code of a text, at error correction level M (ISO/IEC 18004).

    Parameters
    ----------
    text
        1 to 200 letters.

    Raises
    ------
    InputError
        If the text is empty or too long.
    """
    if not 1 <= len(text) <= MOST_LETTERS:
        raise InputError(
            tr(
                "A code is drawn for 1 to {most_letters} letters, not for {text}.",
                most_letters=MOST_LETTERS,
                text=len(text),
            )
        )
    import segno

    rows = segno.make_qr(text, error="m", boost_error=False).matrix
    runs: list[tuple[int, int, int]] = []
    for number, row in enumerate(rows):
        start = None
        for column, square in enumerate((*row, 0)):
            if square and start is None:
                start = column
            elif not square and start is not None:
                runs.append((number, start, column - start))
                start = None
    return Squares(side=len(rows), runs=tuple(runs))
