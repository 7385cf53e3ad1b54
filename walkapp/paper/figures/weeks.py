"""Audits week by week: how many of the plan were done, and how often they found things as they should
be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from walkapp.language import msg, tr, trn
from walkapp.paper.drawing import letters_of
from walkapp.paper.figures.drawn import Plane
from walkapp.paper.figures.scales import label_places, write_key
from walkapp.paper.figures.style import BLUE, FAINT, INK, RED

OUTCOME_STYLES: Mapping[str, Mapping[str, Any]] = {
    msg("done in time"): {"facecolor": "#bcd9ee", "edgecolor": INK, "hatch": ""},
    msg("done late"): {"facecolor": "white", "edgecolor": INK, "hatch": "////"},
    msg("made up later"): {"facecolor": "white", "edgecolor": INK, "hatch": "...."},
    msg("missed"): {"facecolor": RED, "edgecolor": INK, "hatch": ""},
    msg("not finished"): {"facecolor": "white", "edgecolor": RED, "hatch": "xxxx"},
    msg("still open"): {"facecolor": "white", "edgecolor": FAINT, "hatch": ""},
}
"""How a piece of a bar looks, from the bottom: light, hatched, dotted, dark, crossed, empty."""


_ROW_NAME = 1.5
"""Height of the name of a row, in heights of the letters of the key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionRow:
    """One layer, or one shift.

    Parameters
    ----------
    name
        What it is called.
    weeks
        For each week how many of its audits have each outcome, in the order of ``OUTCOME_STYLES``.
    shares
        What stands above each bar, such as how many of those that are over were done in time.
    """

    name: str
    weeks: tuple[tuple[int, ...], ...]
    shares: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionFigure:
    """Audits of the plan by week: a row of bars for each layer.

    Parameters
    ----------
    title, notes, name
        See :class:`walkapp.paper.figures.drawn.Figure`.
    labels
        The weeks, one or two lines each.
    rows
        At least one.
    """

    title: str
    notes: tuple[str, ...]
    name: str
    labels: tuple[tuple[str, ...], ...]
    rows: tuple[CompletionRow, ...]

    def plot(self, plane: Plane) -> None:
        """Draw bars of which the pieces lie on each other."""
        rows = self.rows[: _rows_with_room(plane, 4.6)]
        axes = [row[0] for row in plane.axes(len(rows), share_x=True)]
        for ax, row in zip(axes, rows, strict=True):
            self._draw(plane, ax, row)
            _name_row(plane, ax, row.name)
            ax.tick_params(labelbottom=ax is axes[-1])
        shown = [
            (style, tr(words))
            for index, (words, style) in enumerate(OUTCOME_STYLES.items())
            if any(week[index] for row in rows for week in row.weeks)
        ]
        write_key(plane, axes[0], shown, over=_ROW_NAME)
        label_places(plane, axes[-1], self.labels, beside=5 * plane.size)
        words = _with_more(tr("week in which the audit was due (ISO 8601)"), len(self.rows) - len(rows))
        plane.name_axis(axes[-1].xaxis, words)

    def _draw(self, plane: Plane, ax: Any, row: CompletionRow) -> None:
        from matplotlib.ticker import MaxNLocator

        places = range(len(row.weeks))
        below = [0] * len(row.weeks)
        for index, style in enumerate(OUTCOME_STYLES.values()):
            counts = [week[index] for week in row.weeks]
            if any(counts):
                ax.bar(places, counts, bottom=below, width=0.7, linewidth=0.6, **style)
            below = [low + count for low, count in zip(below, counts, strict=True)]
        small = plane.size * 0.75
        room = (plane.area.width - 6 * plane.size) / max(len(row.weeks), 1)
        widest = max((letters_of(False).width(words, small) for words in row.shares), default=0.0)
        is_roomy = widest + small * 0.4 <= room
        if is_roomy:
            for place, high, words in zip(places, below, row.shares, strict=True):
                ax.text(place, high, words, fontsize=small, ha="center", va="bottom")
        ax.set_ylim(0, max(max(below, default=1), 1) * (1.45 if is_roomy else 1.1))
        ax.yaxis.set_major_locator(MaxNLocator(nbins=2, integer=True))
        plane.name_axis(ax.yaxis, tr("audits"))


@dataclass(frozen=True, slots=True, kw_only=True)
class ConformityPoint:
    """Answers of one week.

    Parameters
    ----------
    share, low, high
        Share OK of the answers OK and NOK, with its exact limits, 0 to 1; none without such an answer.
    answers
        Answers OK and NOK.
    """

    share: float | None
    low: float | None
    high: float | None
    answers: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ConformityFigure:
    """Share OK by week with exact limits: a row for all audits and one for each layer.

    Parameters
    ----------
    title, notes, name, labels
        As for :class:`CompletionFigure`.
    rows
        Name and weeks of each row, at least one.
    """

    title: str
    notes: tuple[str, ...]
    name: str
    labels: tuple[tuple[str, ...], ...]
    rows: tuple[tuple[str, tuple[ConformityPoint, ...]], ...]

    def plot(self, plane: Plane) -> None:
        """Draw a point and a line for its limits in each week that has an answer."""
        rows = self.rows[: _rows_with_room(plane, 5.5)]
        axes = [row[0] for row in plane.axes(len(rows), share_x=True)]
        lowest = min((week.low for _, weeks in rows for week in weeks if week.low is not None), default=0.0)
        bottom = 25 * int(4 * lowest)
        for ax, (name, weeks) in zip(axes, rows, strict=True):
            self._draw(plane, ax, weeks)
            ax.set_ylim(bottom - 2, 106)
            ax.set_yticks((bottom, (bottom + 100) / 2, 100), [f"{bottom}", "", "100"])
            _name_row(plane, ax, name)
            ax.tick_params(labelbottom=ax is axes[-1])
            plane.name_axis(ax.yaxis, tr("OK (%)"))
        label_places(plane, axes[-1], self.labels, beside=5 * plane.size)
        words = _with_more(tr("week of the audit (ISO 8601)"), len(self.rows) - len(rows))
        plane.name_axis(axes[-1].xaxis, words)

    def _draw(self, plane: Plane, ax: Any, weeks: Sequence[ConformityPoint]) -> None:
        found = [
            (place, 100 * week.share, 100 * week.low, 100 * week.high)
            for place, week in enumerate(weeks)
            if week.share is not None and week.low is not None and week.high is not None
        ]
        if not found:
            return
        places, shares, lows, highs = zip(*found, strict=True)
        ax.vlines(places, lows, highs, color=INK, linewidth=1.2)
        ends = {"color": INK, "marker": "_", "linestyle": "none", "markersize": plane.size * 0.6}
        ax.plot((*places, *places), (*lows, *highs), clip_on=False, **ends)
        ax.plot(
            places, shares, marker="o", markerfacecolor="white", markeredgecolor=BLUE, linestyle="none",
            markeredgewidth=1.4, markersize=plane.size * 0.6, zorder=3, clip_on=False,
        )  # fmt: skip


def _rows_with_room(plane: Plane, high: float) -> int:
    """How many rows of at least that height, in letters, there is room for beside key and labels."""
    return max(1, int((plane.area.height - 6 * plane.size) / (high * plane.size)))


def _with_more(axis: str, rows: int) -> str:
    """Say beside what an axis is how many rows a larger picture would have."""
    if rows <= 0:
        return axis
    return trn(
        "{axis}; drawn larger it has {count} more row",
        "{axis}; drawn larger it has {count} more rows",
        rows,
        axis=axis,
    )


def _name_row(plane: Plane, ax: Any, name: str) -> None:
    ax.set_title(
        plane.label(name, plane.area.width * 0.8, lines=1), loc="left", fontsize=plane.size * 0.85, pad=2.5
    )
