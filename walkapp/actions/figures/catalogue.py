"""Every figure there is, and what it is made from."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from walkapp.actions.desk import DeskFacts
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.errors import InputError
from walkapp.language import msg, tr, trn
from walkapp.model.checklist import Stream
from walkapp.paper.figures.drawn import Figure

OF_A_CONCERN: Mapping[str, str] = {
    "share-by-station": "walkapp.actions.figures.shares:of_concern",
    "measured-by-station": "walkapp.actions.figures.measured:of_concern",
    "defects-over-time": "walkapp.actions.figures.onset:of_concern",
    "pareto-by-station": "walkapp.actions.figures.pareto:stations_of_concern",
    "pareto-by-unit": "walkapp.actions.figures.pareto:units_of_concern",
    "action-ageing": "walkapp.actions.figures.ageing:of_concern",
    "p-chart": "walkapp.actions.figures.control:p_charts",
    "value-chart": "walkapp.actions.figures.control:value_charts",
}
"""Name of each kind of figure of a concern, and the function that makes its figures of the workplace and
the :class:`ConcernFacts`: none where the records tell nothing of it, several where there are several
characteristics. They are named, not imported, so that nobody waits for the code of all of them."""

OF_A_STREAM: Mapping[str, str] = {
    "pareto-by-station": "walkapp.actions.figures.pareto:stations_of_stream",
    "pareto-by-defect": "walkapp.actions.figures.pareto:defects_of_stream",
    "action-ageing": "walkapp.actions.figures.ageing:of_stream",
    "audit-completion": "walkapp.actions.figures.audits:completion",
    "audit-conformity": "walkapp.actions.figures.audits:conformity",
    "audit-p-chart": "walkapp.actions.figures.audits:p_chart",
    "indicators": "walkapp.actions.figures.indicators:of_stream",
    "ppm-by-month": "walkapp.actions.figures.ppm:of_stream",
}
"""The same of a value stream, of the workplace and its :class:`DeskFacts`."""

_KIND_WORDS: Mapping[str, str] = {
    "share-by-station": msg("Share by station"),
    "measured-by-station": msg("Measured by station"),
    "defects-over-time": msg("Defects over time"),
    "pareto-by-station": msg("NOK parts by station"),
    "pareto-by-defect": msg("NOK parts by defect"),
    "pareto-by-unit": msg("NOK parts by parallel unit"),
    "action-ageing": msg("Age of the actions"),
    "p-chart": msg("Share over time"),
    "value-chart": msg("Values over time"),
    "audit-completion": msg("Audits done"),
    "audit-conformity": msg("Conformity of audits"),
    "audit-p-chart": msg("NOK answers of audits over time"),
    "indicators": msg("Indicators"),
    "ppm-by-month": msg("PPM by month"),
}

NOTHING_YET: Mapping[str, str] = {
    "measured-by-station": msg("no characteristic was measured yet"),
    "defects-over-time": msg("no part of a known production day was counted yet"),
    "pareto-by-station": msg("no part was found NOK yet"),
    "pareto-by-defect": msg("no part was found NOK yet"),
    "pareto-by-unit": msg("of no NOK part it was recorded from which cavity, fixture or machine it came"),
    "action-ageing": msg("no action is recorded yet"),
    "p-chart": msg("no lot or day of production was counted yet"),
    "value-chart": msg("no characteristic was measured yet"),
    "audit-completion": msg("no audit was due in the last half year"),
    "audit-conformity": msg("no question of an audit was answered in the last half year"),
    "audit-p-chart": msg("no question of an audit was answered in the last half year"),
    "indicators": msg("no success factor is stated yet, or nothing is known of its indicator"),
    "ppm-by-month": msg("no deliveries are recorded yet"),
}
"""Why a kind has no figure where the records tell nothing of it; others have common words."""

_NOTHING_TOLD = msg("the records tell nothing of it yet")

NOT_ESCALATED = msg(
    "Safety or regulatory class, and nobody has recorded who was told: follow the site's "
    "escalation rules and the customer's requirements now."
)
"""Stands on every figure of such a concern, as on every page that goes out."""


INVENTED = msg("Invented data; no real plant, part or customer is meant.")
"""Stands on every figure of a stream whose checklist says so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KindOfFigure:
    """One kind of figure, made or not.

    Parameters
    ----------
    kind
        Its name in the catalogue.
    figures
        What was made of it; empty where nothing can be drawn.
    why_not
        Why there is none; empty when there is one.
    """

    kind: str
    figures: tuple[Figure, ...]
    why_not: str = ""


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
        If a figure cannot be made, as where the checklist of the stream is not here; or there is no such
        kind.
    """
    for kind in kinds or OF_A_CONCERN:
        yield from _made(OF_A_CONCERN, kind, place, facts, _minded(facts))


def stream_figures(place: Workplace, facts: DeskFacts, *kinds: str) -> Iterator[Figure]:
    """Make the figures of a value stream; parameters and errors as for :func:`concern_figures`."""
    for kind in kinds or OF_A_STREAM:
        yield from _made(OF_A_STREAM, kind, place, facts, _minded_of_stream(facts))


def kinds_of_figures(
    place: Workplace, facts: ConcernFacts | DeskFacts, *kinds: str
) -> tuple[KindOfFigure, ...]:
    """Make all figures that can be made, and say of the others why not.

    Parameters
    ----------
    place, facts
        As for :func:`concern_figures` and :func:`stream_figures`.
    kinds
        Kinds of figure; all when none is named.

    Raises
    ------
    InputError
        If there is no such kind.
    """
    catalogue = OF_A_STREAM if isinstance(facts, DeskFacts) else OF_A_CONCERN
    make: Callable[..., Iterator[Figure]] = (
        stream_figures if isinstance(facts, DeskFacts) else concern_figures
    )
    found = []
    for kind in kinds or catalogue:
        _refuse_unknown(catalogue, kind)
        try:
            figures = tuple(make(place, facts, kind))
        except InputError as error:
            found.append(KindOfFigure(kind=kind, figures=(), why_not=str(error)))
            continue
        why = "" if figures else tr(NOTHING_YET.get(kind, _NOTHING_TOLD))
        found.append(KindOfFigure(kind=kind, figures=figures, why_not=why))
    return tuple(found)


def kind_words(kind: str) -> str:
    """Name a kind for people.

    Examples
    --------
    >>> kind_words("share-by-station")
    'Share by station'
    """
    return tr(_KIND_WORDS[kind])


def _made(
    catalogue: Mapping[str, str], kind: str, place: Workplace, facts: Any, minded: Sequence[str]
) -> Iterator[Figure]:
    _refuse_unknown(catalogue, kind)
    make: Callable[[Workplace, Any], Sequence[Figure]] = pkgutil.resolve_name(catalogue[kind])
    for figure in make(place, facts):
        yield _with_notes(figure, minded)


def _with_notes(figure: Figure, notes: Sequence[str]) -> Figure:
    """Give the same figure with notes above its own."""
    whole: Any = figure  # every figure is a dataclass, which its protocol cannot say
    said: Figure = replace(whole, notes=(*notes, *figure.notes))
    return said


def _refuse_unknown(catalogue: Mapping[str, str], kind: str) -> None:
    if kind not in catalogue:
        raise InputError(
            tr(
                "There is no figure {kind}; name one of: {catalogue}.",
                kind=repr(kind),
                catalogue=", ".join(catalogue),
            )
        )


def _minded(facts: ConcernFacts) -> tuple[str, ...]:
    """Say what stands on every figure of a concern that goes out."""
    return (
        *((tr(NOT_ESCALATED),) if facts.needs_escalation else ()),
        *_invented(facts.stream),
        *_disputed(len(facts.conflicts)),
    )


def _minded_of_stream(facts: DeskFacts) -> tuple[str, ...]:
    open_ones = [concern for concern in facts.concerns if concern.needs_escalation]
    many = len(open_ones)
    said = trn(
        "{count} concern of safety or regulatory class, and nobody has recorded who was told: follow the "
        "site's escalation rules and the customer's requirements now.",
        "{count} concerns of safety or regulatory class, and nobody has recorded who was told: follow the "
        "site's escalation rules and the customer's requirements now.",
        many,
    )
    return (
        *((said,) if many else ()),
        *_invented(facts.known),
        *_disputed(sum(len(concern.conflicts) for concern in facts.concerns)),
    )


def _invented(stream: Stream | None) -> tuple[str, ...]:
    return (tr(INVENTED),) if stream is not None and stream.invented else ()


def _disputed(many: int) -> tuple[str, ...]:
    if not many:
        return ()
    return (
        trn(
            "{count} entry was corrected differently on two tablets; one of each is counted until a person "
            "settles it.",
            "{count} entries were corrected differently on two tablets; one of each is counted until a "
            "person settles it.",
            many,
        ),
    )
