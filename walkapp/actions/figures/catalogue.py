"""Every figure there is, and what it is made from."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping, Sequence

from walkapp.actions.desk import DeskFacts
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.paper.figures.drawn import Figure

OF_A_CONCERN: Mapping[str, str] = {
    "share-by-station": "walkapp.actions.figures.shares:of_concern",
}
"""Name of each kind of figure of a concern, and the function that makes its figures of the workplace and
the :class:`ConcernFacts`: none where the records tell nothing of it, several where there are several
characteristics. They are named, not imported, so that nobody waits for the code of all of them."""

OF_A_STREAM: Mapping[str, str] = {
    "indicators": "walkapp.actions.figures.indicators:of_stream",
    "ppm-by-month": "walkapp.actions.figures.ppm:of_stream",
}
"""The same of a value stream, of the workplace and its :class:`DeskFacts`."""


def concern_figures(place: Workplace, facts: ConcernFacts, *kinds: str) -> Iterator[Figure]:
    """Make the figures of a concern.

    Parameters
    ----------
    place
        Where the records are.
    facts
        The concern.
    kinds
        Keys of ``OF_A_CONCERN``; all when none is named.

    Raises
    ------
    InputError
        If a figure cannot be made, as where the checklist of the stream is not here.
    """
    for kind in kinds or OF_A_CONCERN:
        make: Callable[[Workplace, ConcernFacts], Sequence[Figure]] = pkgutil.resolve_name(
            OF_A_CONCERN[kind]
        )
        yield from make(place, facts)


def stream_figures(place: Workplace, facts: DeskFacts, *kinds: str) -> Iterator[Figure]:
    """Make the figures of a value stream; parameters and errors as for :func:`concern_figures`."""
    for kind in kinds or OF_A_STREAM:
        make: Callable[[Workplace, DeskFacts], Sequence[Figure]] = pkgutil.resolve_name(OF_A_STREAM[kind])
        yield from make(place, facts)
