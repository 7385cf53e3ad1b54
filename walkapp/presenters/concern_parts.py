"""The rows of a concern's page that lead to what is done about it."""

from __future__ import annotations

from collections.abc import Callable

from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.presenters.onset import onset_row
from walkapp.presenters.rows import ListRow

PART_ROWS: tuple[Callable[[Workplace, ConcernFacts], ListRow], ...] = (onset_row,)
"""Each makes one row; the row's id is the name of the page that it leads to (``presenters.pages``)."""


def part_rows(place: Workplace, facts: ConcernFacts) -> tuple[ListRow, ...]:
    """Make all rows, in the order in which the work is done."""
    return tuple(make_row(place, facts) for make_row in PART_ROWS)
