"""Where everything of a time line is drawn: pure geometry, no toolkit.

All lengths are in pixels; x grows to the right, y grows **downwards** from the top. Only the text widths
come from outside, so that the whole drawing can be checked without a window.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from walkapp.actions.time_line import ChangeOnLine, TimeLine
from walkapp.language import day_said, msg, tr, tr_choices
from walkapp.model.day_axis import day_choices, stack, tick_text
from walkapp.presenters.change_words import CHANGE_WORDS

MOST_DRAWN = 100
"""Most changes that are drawn: the most suspect ones."""

UNIT = msg("Date (year-month-day)")

BAD_LANE, GOOD_LANE = msg("NOK found"), msg("No NOK found")


@dataclass(frozen=True, slots=True)
class Measures:
    """How large what is drawn has to be.

    Parameters
    ----------
    text_px
        Width of a text on one line.
    line_px
        Height of a line of text.
    mark_px
        Side of a mark.
    gap_px
        Least distance between two texts beside or above each other.
    """

    text_px: Callable[[str], float]
    line_px: float
    mark_px: float
    gap_px: float


@dataclass(frozen=True, slots=True)
class TextBox:
    """A text and the rectangle that it fills; `x` and `y` are its left and its top."""

    text: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class DayMark:
    """A counted day: centre of its mark, and whether NOK was found."""

    day: str
    x: float
    y: float
    is_bad: bool


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """A change: the point on the lane's line that is its day, and its number above or beside it."""

    change: ChangeOnLine
    x: float
    y: float
    box: TextBox


@dataclass(frozen=True, slots=True)
class Lane:
    """A lane: its name, and the height of the line on which its days lie."""

    name: TextBox
    y: float


@dataclass(frozen=True, slots=True)
class Tick:
    """A day of the axis with its label."""

    x: float
    label: TextBox


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A whole time line.

    Parameters
    ----------
    width, height
        Of everything.
    left, right
        Ends of the axis.
    lanes
        From top to bottom: counted days with and without NOK, then the kinds of change that there are.
    days, changes, ticks
        What lies in the lanes and on the axis.
    axis_y
        Height of the axis.
    band
        Left and right end of the interval of the onset; none when no onset is known.
    is_open
        Whether the onset may lie before the band as well.
    first_bad
        The line of the most probable first bad day and its label at the top; none when none is named.
    unit
        Unit of the axis.
    left_out
        How many changes are not drawn because there are too many.
    """

    width: float
    height: float
    left: float
    right: float
    lanes: tuple[Lane, ...]
    days: tuple[DayMark, ...]
    changes: tuple[ChangeMark, ...]
    ticks: tuple[Tick, ...]
    axis_y: float
    band: tuple[float, float] | None
    is_open: bool
    first_bad: Tick | None
    unit: TextBox
    left_out: int

    @property
    def texts(self) -> tuple[TextBox, ...]:
        """Every text that is drawn."""
        return (
            *(lane.name for lane in self.lanes),
            *(mark.box for mark in self.changes),
            *(tick.label for tick in self.ticks),
            *((self.first_bad.label,) if self.first_bad else ()),
            self.unit,
        )


def draw(line: TimeLine, width: float, measures: Measures) -> Drawing | None:
    """Lay a time line out.

    Parameters
    ----------
    line
        What happened when.
    width
        The room there is.
    measures
        How large what is drawn has to be.

    Returns
    -------
    Drawing or None
        None when there is no day at all, or no room for an axis with two labels.
    """
    dated = [change for change in line.changes if change.day]
    shown = dated[:MOST_DRAWN]
    ends = (line.last_good_day, line.bad_from_day, line.first_bad_day)
    known = [*(d.day for d in line.days), *(c.day for c in shown), *(day for day in ends if day)]
    if not known:
        return None
    names = [tr(BAD_LANE), tr(GOOD_LANE)] if line.days else []
    names += [
        word for kind, word in tr_choices(CHANGE_WORDS) if any(change.kind == kind for change in shown)
    ]
    left = max(map(measures.text_px, names)) + 2 * measures.gap_px if names else measures.gap_px
    label_px = measures.text_px("2026-02-24")
    if width - left < 3 * label_px + 2 * measures.gap_px:
        return None
    scale = _Scale.over(known, left, width, label_px)
    first_bad, top = _first_bad(line, scale, measures)
    lanes: list[Lane] = []
    marks: list[DayMark] = []
    for name, is_bad in ((tr(BAD_LANE), True), (tr(GOOD_LANE), False)) if line.days else ():
        height = max(measures.mark_px, measures.line_px)
        middle = top + height / 2
        lanes.append(Lane(_lane_name(name, middle, measures), middle))
        marks += _day_marks(line, is_bad, middle, scale)
        top += height + measures.gap_px
    changes: list[ChangeMark] = []
    for kind, name in tr_choices(CHANGE_WORDS):
        own = [change for change in shown if change.kind == kind]
        if own:
            boxes, height = _numbers(own, top, scale, measures)
            base = top + height
            lanes.append(Lane(_lane_name(name, base - measures.line_px / 2, measures), base))
            changes += (
                ChangeMark(change, scale.x(change.day), base, box)
                for change, box in zip(own, boxes, strict=True)
            )
            top = base + measures.gap_px
    axis_y = top + measures.gap_px
    label_y = axis_y + measures.gap_px
    unit_px = measures.text_px(tr(UNIT))
    unit_y = label_y + measures.line_px + measures.gap_px
    return Drawing(
        width=width,
        height=unit_y + measures.line_px,
        left=left,
        right=width,
        lanes=tuple(lanes),
        days=tuple(marks),
        changes=tuple(changes),
        ticks=tuple(_ticks(scale, label_y, measures)),
        axis_y=axis_y,
        band=_band(line, scale, measures),
        is_open=line.bad_from_day is not None and line.last_good_day is None,
        first_bad=first_bad,
        unit=TextBox(tr(UNIT), max(0.0, width - unit_px), unit_y, unit_px, measures.line_px),
        left_out=len(dated) - len(shown),
    )


@dataclass(frozen=True, slots=True)
class _Scale:
    """Days to pixels: the first and last day lie half a label inside the ends."""

    first: int
    last: int
    left: float
    right: float
    inset: float

    @classmethod
    def over(cls, days: Iterable[str], left: float, right: float, label_px: float) -> _Scale:
        ordinals = [date.fromisoformat(day).toordinal() for day in days]
        first, last = min(ordinals), max(ordinals)
        if first == last:
            first, last = first - 1, last + 1
        return cls(first, last, left, right, label_px / 2)

    def at(self, ordinal: int) -> float:
        room = self.right - self.left - 2 * self.inset
        return self.left + self.inset + room * (ordinal - self.first) / (self.last - self.first)

    def x(self, day: str) -> float:
        return self.at(date.fromisoformat(day).toordinal())


def _first_bad(line: TimeLine, scale: _Scale, measures: Measures) -> tuple[Tick | None, float]:
    """Place the label of the first bad day at the top; give the height below it as well."""
    if line.first_bad_day is None:
        return None, 0.0
    text = tr("first bad {first_bad_day}", first_bad_day=day_said(line.first_bad_day))
    text_px = measures.text_px(text)
    x = scale.x(line.first_bad_day)
    # Beside its line, on the side with more room, so that the flag on the line stays free.
    beside = x + measures.mark_px if x < (scale.left + scale.right) / 2 else x - measures.mark_px - text_px
    inside = max(0.0, min(beside, scale.right - text_px))
    label = TextBox(text, inside, 0.0, text_px, measures.line_px)
    return Tick(x, label), max(measures.line_px, measures.mark_px) + measures.gap_px


def _lane_name(name: str, middle: float, measures: Measures) -> TextBox:
    return TextBox(name, 0.0, middle - measures.line_px / 2, measures.text_px(name), measures.line_px)


def _day_marks(line: TimeLine, is_bad: bool, y: float, scale: _Scale) -> Iterator[DayMark]:
    """Give one mark for each pixel on which counted days lie, so that no number of days is too many."""
    drawn = set()
    for day in line.days:
        x = scale.x(day.day)
        if (day.nok > 0) == is_bad and round(x) not in drawn:
            drawn.add(round(x))
            yield DayMark(day.day, x, y, is_bad)


def _band(line: TimeLine, scale: _Scale, measures: Measures) -> tuple[float, float] | None:
    if line.bad_from_day is None:
        return None
    right = scale.x(line.bad_from_day)
    left = scale.left if line.last_good_day is None else scale.x(line.last_good_day)
    # An interval of one day must be seen as well.
    lacking = max(0.0, measures.mark_px / 2 - (right - left)) / 2
    return left - lacking, right + lacking


def _numbers(
    changes: Sequence[ChangeOnLine], top: float, scale: _Scale, measures: Measures
) -> tuple[list[TextBox], float]:
    """Place the numbers of one lane: no two over each other, each as near to its day as it can be.

    Returns
    -------
    list of TextBox, float
        In the order of `changes`; and the height that they and the line below them need.
    """
    texts = [str(change.number) for change in changes]
    box_px = max(map(measures.text_px, texts)) + 2 * measures.gap_px
    row_px = measures.line_px + measures.gap_px
    order = sorted(range(len(changes)), key=lambda i: (changes[i].day, changes[i].number))
    places = stack(
        [scale.x(changes[i].day) for i in order], box_px, measures.gap_px, scale.left, scale.right
    )
    levels = 1 + max(level for level, _ in places)
    boxes = [TextBox("", 0.0, 0.0, 0.0, 0.0)] * len(changes)
    for i, (level, x) in zip(order, places, strict=True):
        y = top + (levels - 1 - level) * row_px
        boxes[i] = TextBox(texts[i], x - box_px / 2, y, box_px, measures.line_px)
    return boxes, levels * row_px + measures.gap_px


def _ticks(scale: _Scale, label_y: float, measures: Measures) -> Iterator[Tick]:
    """Give the ticks of the finest step whose labels do not touch, or those of the two ends."""
    most = (scale.right - scale.left) / measures.text_px("2026") + 2
    for ordinals, label in day_choices(scale.first, scale.last, most):
        found = [_tick(scale, ordinal, label, label_y, measures) for ordinal in ordinals]
        apart = all(a.label.x + a.label.width + measures.gap_px <= b.label.x for a, b in pairwise(found))
        if len(found) >= 2 and apart:
            yield from found
            return
    for ordinal in (scale.first, scale.last):
        yield _tick(scale, ordinal, 10, label_y, measures)


def _tick(scale: _Scale, ordinal: int, length: int, label_y: float, measures: Measures) -> Tick:
    text = tick_text(ordinal, length)
    x, text_px = scale.at(ordinal), measures.text_px(text)
    return Tick(x, TextBox(text, x - text_px / 2, label_y, text_px, measures.line_px))
