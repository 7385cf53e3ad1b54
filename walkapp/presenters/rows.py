"""A row of a list."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ListRow:
    """One row of a list.

    Parameters
    ----------
    id
        What it stands for; empty when there is nothing behind it.
    title, subtitle
        Two lines of text.
    mark
        Shape of its state: ``clean``, ``bad``, ``undecided``, ``not_visited``; empty for none.
    """

    id: str
    title: str
    subtitle: str
    mark: str = ""
