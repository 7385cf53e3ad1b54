"""Making the parts of a sheet: bounded, and always of the same shape."""

from __future__ import annotations

from collections.abc import Sequence

from walkapp.paper.sheet_content import MOST_ENTRIES, SheetEntry, SheetPart


def part_of(
    *,
    name: str,
    title: str,
    state: str,
    sentence: str,
    entries: Sequence[SheetEntry],
    left_out: int = 0,
) -> SheetPart:
    """Make a part of any number of entries; of very many the first stay, and the rest is counted.

    Parameters
    ----------
    name, title, state, sentence, entries, left_out
        See :class:`walkapp.paper.sheet_content.SheetPart`.
    """
    return SheetPart(
        name=name,
        title=title,
        state=state,
        sentence=sentence,
        entries=tuple(entries[:MOST_ENTRIES]),
        left_out=left_out + max(0, len(entries) - MOST_ENTRIES),
    )
