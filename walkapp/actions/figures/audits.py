"""The figures of the audits of a stream: by layer and shift, never by person."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from walkapp.actions.audit_weeks import AuditWeeks, audit_weeks
from walkapp.actions.control_telling import shares_in_short
from walkapp.actions.desk import DeskFacts
from walkapp.actions.figures.control import LONGEST_NAME, MOST_TOLD, rule_rows, share_panel, signals_note
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.completion import CENSUS, Completion
from walkapp.analysis.audits.conformity import INTERVAL_NOTE, Conformity
from walkapp.analysis.control.words import proportion_notes, signal_sentences
from walkapp.language import msg, msgn, tr, trn, whole_text
from walkapp.paper.figures.control import ControlFigure
from walkapp.paper.figures.weeks import CompletionFigure, CompletionRow, ConformityFigure, ConformityPoint
from walkapp.visible import in_short

MOST_ROWS = 5
"""Layers or shifts that one figure shows."""


def completion(place: Workplace, facts: DeskFacts) -> tuple[CompletionFigure, ...]:
    """Give the audits of the plan by week: by layer, and by shift where there are layers that audit
    shifts."""
    told = audit_weeks(place, facts)
    return () if told is None else completion_figures(told)


def completion_figures(told: AuditWeeks) -> tuple[CompletionFigure, ...]:
    """Give the same of audits that were gathered."""
    figures = []
    if told.layers:
        figures.append(_completion(told, told.layers, _BY_LAYER, "audit-completion"))
    if told.shifts:
        figures.append(_completion(told, told.shifts, _BY_SHIFT, "audit-completion-by-shift"))
    return tuple(figures)


_BY_LAYER = (
    msg("{stream}: audits by layer, {in_time} of {over} done in time"),
    msgn("{count} more layer counted and not drawn.", "{count} more layers counted and not drawn."),
)
_BY_SHIFT = (
    msg("{stream}: audits by shift, {in_time} of {over} done in time"),
    msgn("{count} more shift counted and not drawn.", "{count} more shifts counted and not drawn."),
)
"""What is said above the bars, and of those that are not drawn."""


def _completion(
    told: AuditWeeks,
    parts: Sequence[tuple[str, Mapping[str, Completion]]],
    words: tuple[str, tuple[str, str]],
    name: str,
) -> CompletionFigure:
    every = [one for _, weeks in parts for one in weeks.values()]
    over, in_time = sum(one.over for one in every), sum(one.over_in_time for one in every)
    due = sum(one.due for one in every)
    return CompletionFigure(
        title=tr(
            words[0],
            stream=in_short(told.stream.name, LONGEST_NAME),
            in_time=whole_text(in_time),
            over=whole_text(over),
        ),
        notes=(
            _with_left_out(
                trn(
                    "n = {count} audit due, {first} to {last}; {over} of them are over.",
                    "n = {count} audits due, {first} to {last}; {over} of them are over.",
                    due,
                    first=told.span.first,
                    last=told.span.last,
                    over=whole_text(over),
                ),
                len(parts),
                words[1],
            ),
            tr("Above a bar: done in time, of those that are over. {census}", census=tr(CENSUS)),
            tr(
                "Done means signed. An audit of a week or month counts in the week in which "
                "it ends, or in this one while it runs."
            ),
        ),
        name=name,
        labels=week_labels(told.weeks),
        rows=tuple(
            CompletionRow(
                name=in_short(title, LONGEST_NAME),
                weeks=tuple(_outcomes(weeks.get(week)) for week in told.weeks),
                shares=tuple(_share(weeks.get(week)) for week in told.weeks),
            )
            for title, weeks in parts[:MOST_ROWS]
        ),
    )


def _outcomes(found: Completion | None) -> tuple[int, ...]:
    if found is None:
        return (0,) * 6
    return (found.in_time, found.late, found.made_up, found.missed, found.not_finished, found.open)


def _share(found: Completion | None) -> str:
    return f"{found.over_in_time}/{found.over}" if found is not None and found.over else ""


def _with_left_out(told: str, many: int, words: tuple[str, str]) -> str:
    """Add how many rows are left out; nothing for none."""
    more = many - MOST_ROWS
    return " ".join((told, trn(*words, more))) if more > 0 else told


def conformity(place: Workplace, facts: DeskFacts) -> tuple[ConformityFigure, ...]:
    """Give the share OK by week: of all audits, and of each layer where there are several."""
    told = audit_weeks(place, facts)
    if told is None or not any(week.judged for week in told.answers.values()):
        return ()
    ok, judged, beside = (
        sum(getattr(week, name) for week in told.answers.values())
        for name in ("ok", "judged", "not_applicable")
    )
    layers = told.answers_by_layer if len(told.answers_by_layer) > 1 else ()
    rows = ((tr("All audits"), told.answers), *layers)
    return (
        ConformityFigure(
            title=tr(
                "{stream}: conformity by week, {ok} of {judged} answers OK",
                stream=in_short(told.stream.name, LONGEST_NAME),
                ok=whole_text(ok),
                judged=whole_text(judged),
            ),
            notes=(
                _with_left_out(
                    tr(
                        "n = {judged} answers OK and NOK, {beside} N/A beside them, {first} to "
                        "{last}. Weeks without an answer are empty.",
                        judged=whole_text(judged),
                        beside=whole_text(beside),
                        first=told.span.first,
                        last=told.span.last,
                    ),
                    len(rows),
                    _BY_LAYER[1],
                ),
                tr(INTERVAL_NOTE),
            ),
            name="audit-conformity",
            labels=week_labels(told.weeks),
            rows=tuple(
                (in_short(title, LONGEST_NAME), tuple(_point(weeks.get(week)) for week in told.weeks))
                for title, weeks in rows[:MOST_ROWS]
            ),
        ),
    )


def _point(found: Conformity | None) -> ConformityPoint:
    if found is None or found.interval is None:
        return ConformityPoint(share=None, low=None, high=None, answers=0)
    return ConformityPoint(
        share=found.share, low=found.interval.low, high=found.interval.high, answers=found.judged
    )


def p_chart(place: Workplace, facts: DeskFacts) -> tuple[ControlFigure, ...]:
    """Give the p chart of the share NOK of the answers OK and NOK, week by week."""
    told = audit_weeks(place, facts)
    if told is None:
        return ()
    weeks, chart = told.chart()
    if not weeks:
        return ()
    nok = sum(point.nok for point in chart.points)
    judged = sum(point.checked for point in chart.points)
    has_limits, found = chart.false_chance is not None, shares_in_short(chart, "week")
    return (
        ControlFigure(
            title=tr(
                "{stream}: NOK answers of audits by week, {found}",
                stream=in_short(told.stream.name, LONGEST_NAME),
                found=found,
            ),
            notes=tuple(
                filter(
                    None,
                    (
                        tr(
                            "n = {judged} answers OK and NOK, {nok} of them NOK, in {weeks}.",
                            judged=whole_text(judged),
                            nok=whole_text(nok),
                            weeks=_weeks(len(weeks)),
                        ),
                        signals_note(signal_sentences(chart.signals, weeks, MOST_TOLD), has_limits),
                        *proportion_notes(chart, "answers"),
                    ),
                )
            ),
            name="audit-p-chart",
            labels=week_labels(weeks),
            x_axis=tr("week of the audit (ISO 8601), weeks without an answer left out"),
            panels=(share_panel(chart),),
            rules=rule_rows(chart.signals),
        ),
    )


def _weeks(many: int) -> str:
    return trn("{count} week with answers", "{count} weeks with answers", many)


def week_labels(weeks: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Write weeks for an axis: the week, and below it the year.

    Examples
    --------
    >>> week_labels(["2026-W09"])
    (('W09', '2026'),)
    """
    return tuple((week[5:], week[:4]) for week in weeks)
