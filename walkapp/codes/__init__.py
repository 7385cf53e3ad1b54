"""Two-dimensional and bar codes: what is written in them, reading them and drawing them.

A code is something from outside: its text is bounded and checked before anything is made of it. The library
that reads codes is imported where the first one is read, and everything else works without it.
"""

from walkapp.codes.drawing import Squares, qr_squares
from walkapp.codes.label import Label, read_label
from walkapp.codes.reading import MOST_PIXELS, Code, read_codes
from walkapp.codes.station import StationLabel, read_station, station_text

__all__ = [
    "MOST_PIXELS",
    "Code",
    "Label",
    "Squares",
    "StationLabel",
    "qr_squares",
    "read_codes",
    "read_label",
    "read_station",
    "station_text",
]
