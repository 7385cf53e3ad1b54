"""The value stream on a sheet: a box for each station, the first bad one in a thick frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from walkapp.language import tr
from walkapp.paper.flow import Band, Line, Mark, Row, Shape, height_of, placed
from walkapp.paper.sheet_content import SheetContent, SheetStation
from walkapp.paper.sheet_text import FLOOR, text_block

MOST_STATIONS = 24
"""Stations that are drawn; of a longer stream those around the first bad one."""

IN_A_ROW = 10
"""Stations in one row, where one row is enough."""

WIDEST = 220.0
"""Width of a box where there are few."""


def stream_rows(content: SheetContent, width: float) -> tuple[Row, ...]:
    """Make the stations of a sheet in boxes in the order of the stream, the first bad one marked.

    Parameters
    ----------
    content
        What the sheet says.
    width
        Of the page between its margins.
    """
    note = text_block(content.stations_note, width=width, size=9.0, most=2)
    drawn = around_first_bad(content.stations, MOST_STATIONS)
    shown = content.stations[drawn]
    if not shown:
        return (*note, Row(height=4.0))
    if len(shown) < len(content.stations):
        left_out = tr(
            "Stations that are not drawn here: {before} before these, {after} after them "
            "(they are in the store).",
            before=drawn.start,
            after=len(content.stations) - drawn.stop,
        )
        note = (*note, *text_block(left_out, width=width, size=9.0, bold=True))
    rows = ceil(len(shown) / IN_A_ROW) if len(shown) <= 2 * IN_A_ROW else 2
    across = ceil(len(shown) / rows)
    gap = 9.0
    wide = min((width - gap * (across - 1)) / across, WIDEST)
    size = 11.0 if wide > 100 else 9.5 if wide > 90 else FLOOR
    boxes = [_Box.of(one, wide - 8, size) for one in shown]
    head = max(height_of(box.strip) for box in boxes)
    height = head + max(box.height for box in boxes)
    made: list[Row] = []
    for start in range(0, len(boxes), across):
        marks: list[Mark] = []
        for place, box in enumerate(boxes[start : start + across]):
            x = place * (wide + gap)
            marks += box.marks(x, wide, height, head)
            if start + place + 1 < len(boxes) and place + 1 < across:
                middle = height / 2
                marks.append(Line(x=x + wide + 1.5, y=middle, right=gap - 3, down=0.0, thick=1.2))
                for down in (-3.0, 3.0):
                    marks.append(Line(x=x + wide + gap - 1.5, y=middle, right=-3.0, down=down, thick=1.2))
        made.append(Row(height=height + 5, marks=tuple(marks)))
    return (*made, *note, Row(height=2.0))


def around_first_bad(stations: Sequence[SheetStation], most: int) -> slice:
    """Say which stations are drawn where there is no room for all: those around the first bad one."""
    if len(stations) <= most:
        return slice(0, len(stations))
    named = next((place for place, one in enumerate(stations) if one.mark), len(stations) // 2)
    first = min(max(0, named - most // 2), len(stations) - most)
    return slice(first, first + most)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Box:
    """A station as it is drawn.

    Parameters
    ----------
    station
        What it says.
    size
        Size of its letters.
    strip, name, verdict, counted
        Its lines.
    """

    station: SheetStation
    size: float
    strip: tuple[Row, ...]
    name: tuple[Row, ...]
    verdict: tuple[Row, ...]
    counted: tuple[Row, ...]

    @classmethod
    def of(cls, station: SheetStation, width: float, size: float) -> _Box:
        """Break what a station says into lines."""
        told = f"{station.order} {station.mark}"
        is_white = bool(station.mark)
        strip = text_block(told, width=width, size=size, bold=True, is_white=is_white)
        if len(strip) > 1:
            strip = text_block(told, width=width, size=FLOOR, bold=True, most=2, is_white=is_white)
        return cls(
            station=station,
            size=size,
            strip=strip,
            name=text_block(station.name, width=width, size=size, bold=True, most=2),
            verdict=text_block(station.verdict, width=width - size * 1.3, size=size, most=2),
            counted=text_block(station.counted, width=width, size=size + 1, bold=True, most=3),
        )

    @property
    def height(self) -> float:
        """How high it has to be below its strip."""
        return 6 + sum(map(height_of, (self.name, self.verdict, self.counted)))

    def marks(self, x: float, width: float, height: float, head: float) -> list[Mark]:
        """Draw it: in a thick frame and under a black strip where it is named."""
        is_named = bool(self.station.mark)
        left, size = x + 4, self.size
        y = head + 2
        below = y + height_of(self.name)
        return [
            Band(x=x, y=0.0, width=width, height=head, grey=0.0 if is_named else 0.88),
            Band(x=x, y=0.0, width=width, height=height, thick=3.0 if is_named else 0.8),
            *placed(self.strip, left=left, top=0.0),
            *placed(self.name, left=left, top=y),
            Shape(x=left + size * 0.45, y=below + size * 0.68, side=size * 0.72, state=self.station.state),
            *placed(self.verdict, left=left + size * 1.3, top=below),
            *placed(self.counted, left=left, top=below + height_of(self.verdict)),
        ]
