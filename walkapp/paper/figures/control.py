"""A control chart: points in the order of time, their limits, and what the run rules find."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from walkapp.language import decimal_text, tr
from walkapp.paper.drawing import printable
from walkapp.paper.figures.drawn import Plane
from walkapp.paper.figures.scales import key_height, label_places, write_key
from walkapp.paper.figures.style import BLUE, FAINT, INK, RED

OUTSIDE = 1
"""The rule that is about one point alone, and has a shape of its own."""

_LABELS, _PANEL = 5.0, 5.5
"""Height of what stands below the charts, and the least height of a chart, in letters."""

_LIMIT = {"color": INK, "linestyle": (0, (5, 2.5)), "linewidth": 1.1}
_CENTRE = {"color": INK, "linestyle": "-", "linewidth": 0.7}
_TOLERANCE = {"color": RED, "linestyle": (0, (8, 2, 1.2, 2)), "linewidth": 2.0}
_MARK = {"color": FAINT, "linestyle": (0, (1, 1.5)), "linewidth": 1.6}
_POINT = {"marker": "o", "markerfacecolor": "white", "markeredgecolor": BLUE, "linestyle": "none"}
_OUTSIDE = {"marker": "X", "markerfacecolor": RED, "markeredgecolor": RED, "linestyle": "none"}
_PATTERN = {"marker": "D", "markerfacecolor": INK, "markeredgecolor": INK, "linestyle": "none"}


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlPoint:
    """One point.

    Parameters
    ----------
    value
        Finite.
    low, high
        Its control limits; none where there is none, or where it is not drawn since nothing lies below it.
    rules
        Numbers of the rules whose signal it belongs to.
    """

    value: float
    low: float | None = None
    high: float | None = None
    rules: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlPanel:
    """One chart of the figure.

    Parameters
    ----------
    axis, unit
        What it shows, and in which unit.
    points
        In the order of time; the last one stands below the last label.
    centre
        Centre line; none without limits.
    floor
        What no value lies below, such as 0 for a share; none where there is no such thing.
    tolerance
        Limits that the parts have to keep, in the unit of the axis.
    """

    axis: str
    unit: str
    points: tuple[ControlPoint, ...]
    centre: float | None = None
    floor: float | None = None
    tolerance: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRow:
    """What one rule found.

    Parameters
    ----------
    label
        Its number, and of which chart.
    rule
        The number.
    points
        Places of the points that make its signals, at least one.
    """

    label: str
    rule: int
    points: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlFigure:
    """A p chart, or a chart of individual values with that of their moving ranges.

    Parameters
    ----------
    title, notes, name
        See :class:`walkapp.paper.figures.drawn.Figure`.
    labels
        What each place is called, in one or two lines.
    x_axis
        What a place is.
    panels
        One chart or two, from the top.
    rules
        A row below the charts for each rule that found something.
    marks
        Places of vertical lines, between points, as where an action was done.
    mark_words
        What these lines mean.
    """

    title: str
    notes: tuple[str, ...]
    name: str
    labels: tuple[tuple[str, ...], ...]
    x_axis: str
    panels: tuple[ControlPanel, ...]
    rules: tuple[RuleRow, ...] = ()
    marks: tuple[float, ...] = ()
    mark_words: str = ""

    def plot(self, plane: Plane) -> None:
        """Draw the charts above each other, and below them which points each rule is about."""
        panels, rules = self._with_room(plane)
        strip = _strip_height(plane, len(rules))
        rest = max(plane.area.height - strip - self._beside(plane, len(panels)), plane.size)
        shares = (1.0,) if len(panels) == 1 else (0.55, 0.45)
        heights = [rest * share for share in shares] + ([strip] if rules else [])
        rows = [row[0] for row in plane.axes(len(heights), heights=heights, share_x=True)]
        for ax, panel, height in zip(rows, panels, heights, strict=False):
            self._draw(plane, ax, panel, height)
        if rules:
            self._strip(plane, rows[-1], rules)
        for ax in rows:
            for mark in self.marks:
                ax.axvline(mark, zorder=1, **_MARK)
            ax.tick_params(labelbottom=ax is rows[-1], bottom=ax is rows[-1] or not rules)
        write_key(plane, rows[0], self._key(panels))
        label_places(plane, rows[-1], self.labels, beside=7 * plane.size)
        is_cut = len(panels) < len(self.panels)
        words = tr("{axis}; the ranges need a larger picture", axis=self.x_axis) if is_cut else self.x_axis
        plane.name_axis(rows[-1].xaxis, words)

    def _with_room(self, plane: Plane) -> tuple[tuple[ControlPanel, ...], tuple[RuleRow, ...]]:
        """The panels and rows for which there is room: all; the rules in one row; the first panel."""
        points = sorted({place for row in self.rules for place in row.points})
        joined = (RuleRow(label=tr("signals"), rule=0, points=tuple(points)),) if points else ()
        for panels, rules in (
            (self.panels, self.rules), (self.panels, joined), (self.panels[:1], self.rules),
        ):  # fmt: skip
            needed = self._beside(plane, len(panels)) + _strip_height(plane, len(rules))
            needed += _PANEL * plane.size * len(panels)
            if needed <= plane.area.height:
                return panels, rules
        return self.panels[:1], joined

    def _beside(self, plane: Plane, panels: int) -> float:
        """Height of the key, the labels below and the gaps, in points."""
        key = key_height(plane, [words for _, words in self._key(self.panels)])
        return key + (_LABELS + panels) * plane.size

    def _draw(self, plane: Plane, ax: Any, panel: ControlPanel, height: float) -> None:
        first = len(self.labels) - len(panel.points)
        places = range(first, len(self.labels))
        values = [point.value for point in panel.points]
        big = _marker_size(plane, len(self.labels))
        ax.plot(places, values, color=FAINT, linewidth=0.8, zorder=2)
        for rules, style, size in (
            (0, _POINT, big), (2, _PATTERN, big * 0.95), (1, _OUTSIDE, big * 1.35),
        ):  # fmt: skip
            chosen = [i for i, point in enumerate(panel.points) if _kind(point.rules) == rules]
            if chosen:  # a line without points would count as one in the corner of the page
                ax.plot(
                    [places[i] for i in chosen], [values[i] for i in chosen], markersize=size, zorder=4,
                    clip_on=False, **style,
                )  # fmt: skip
        for limits in ([p.low for p in panel.points], [p.high for p in panel.points]):
            _steps(ax, limits, first)
        if panel.centre is not None:
            ax.axhline(panel.centre, zorder=1, **_CENTRE)
        for limit in panel.tolerance:
            ax.axhline(limit, zorder=1, **_TOLERANCE)
        ax.set_ylim(*_span(panel))
        ax.ticklabel_format(axis="y", style="plain", useOffset=False)
        numbers = int(height / (2.2 * plane.size))
        if numbers > 1:
            ax.locator_params(axis="y", nbins=min(6, numbers))
        else:  # two would lie over each other
            one = values[-1] if panel.centre is None else panel.centre
            ax.set_yticks([one], [decimal_text(f"{one:.4g}")])
        name, room = f"{panel.axis} ({panel.unit})", height + 1.5 * plane.size
        if plane.label(name, room, lines=1, size=plane.size) != printable(name):
            name = plane.label(panel.unit, room, lines=1, size=plane.size)  # the unit rather than a piece
        plane.name_axis(ax.yaxis, name)

    def _strip(self, plane: Plane, ax: Any, rules: Sequence[RuleRow]) -> None:
        small = plane.size * 0.85
        big = _marker_size(plane, len(self.labels))
        outside = {place for row in self.rules if row.rule == OUTSIDE for place in row.points}
        for y, row in enumerate(rules):
            ax.axhline(y, color=FAINT, linewidth=0.3, zorder=0)
            # In the one row of all signals a point outside keeps its shape.
            crossed = set(row.points) if row.rule == OUTSIDE else set() if row.rule else outside
            for style, is_crossed in ((_PATTERN, False), (_OUTSIDE, True)):
                chosen = [place for place in row.points if (place in crossed) == is_crossed]
                if chosen:
                    ax.plot(
                        chosen, [y] * len(chosen), markersize=big * 0.9, zorder=3, clip_on=False, **style
                    )
        ax.set_ylim(len(rules) - 0.3, -0.7)
        ax.set_yticks(range(len(rules)), [row.label for row in rules], fontsize=small)
        ax.tick_params(axis="y", length=0)
        ax.spines["left"].set_visible(False)

    def _key(self, panels: Sequence[ControlPanel]) -> list[tuple[dict[str, Any], str]]:
        has_limits = any(panel.centre is not None for panel in panels)
        found = {_kind(point.rules) for panel in panels for point in panel.points}
        entries: list[tuple[dict[str, Any], str, bool]] = [
            (_CENTRE, tr("centre line"), has_limits),
            (_LIMIT, tr("control limits"), has_limits),
            (_TOLERANCE, tr("tolerance"), any(panel.tolerance for panel in panels)),
            (_OUTSIDE, tr("outside the control limits"), 1 in found),
            (_PATTERN, tr("in a run or pattern"), 2 in found),
            (_MARK, self.mark_words, bool(self.marks)),
        ]
        return [(style, words) for style, words, is_shown in entries if is_shown]


def _strip_height(plane: Plane, rows: int) -> float:
    return (rows + 0.4) * plane.size * 1.3 if rows else 0.0


def _kind(rules: frozenset[int]) -> int:
    """0 for a point without signal, 1 for one outside the limits, 2 for one in another signal."""
    return 0 if not rules else 1 if OUTSIDE in rules else 2


def _marker_size(plane: Plane, many: int) -> float:
    room = (plane.area.width - 8 * plane.size) / max(many, 1)
    return max(2.2, min(plane.size * 0.62, room * 0.8))


def _steps(ax: Any, limits: Sequence[float | None], first: int) -> None:
    """Draw limits as steps, each as wide as its point; where there is none, nothing."""
    for is_there, run in groupby(enumerate(limits), key=lambda one: one[1] is not None):
        if is_there:
            places, values = zip(*run, strict=True)
            xs = [x for place in places for x in (first + place - 0.5, first + place + 0.5)]
            ax.plot(xs, [value for value in values for _ in (0, 1)], zorder=2, **_LIMIT)


def _span(panel: ControlPanel) -> tuple[float, float]:
    shown = [point.value for point in panel.points]
    shown += [limit for p in panel.points for limit in (p.low, p.high) if limit is not None]
    shown += [*panel.tolerance, *([panel.centre] if panel.centre is not None else [])]
    low, high = min(shown), max(shown)
    if panel.floor is not None:
        low = min(low, panel.floor)
    wide = (high - low) or max(abs(high) * 0.1, 1.0)
    # Nothing lies below the floor: there is room for half a marker only.
    below = 0.03 if panel.floor is not None and low >= panel.floor else 0.08
    return low - wide * below, high + wide * 0.08
