"""Reading codes from pixels: QR, Data Matrix, Code 128, Code 39, EAN and UPC."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from PIL import Image

from walkapp.errors import DeviceError
from walkapp.language import msg, tr

MOST_PIXELS = 16_000_000
"""Pixels that are looked at; a larger picture is shrunk before."""

MOST_CODES = 12
"""Codes of one picture that are told, the largest first."""

LINEAR = ("]A", "]C", "]E", "]X")
"""Beginnings of the symbology identifiers of bar codes, which have less to tell a misreading by."""

_NOT_THERE = msg(
    "Reading codes needs the extra 'walkapp[scan]', which is not installed here; type what "
    "stands on the part, or use a hand scanner that works as a keyboard."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """A code in a picture.

    Parameters
    ----------
    text
        What it holds; may be anything.
    name
        What it is, such as ``Data Matrix``.
    kind
        Its symbology identifier (ISO/IEC 15424), such as ``]d2``; empty where it is not known.
    place
        Left, top, right and bottom of the upright rectangle around it, in pixels of the picture.
    """

    text: str
    name: str
    kind: str
    place: tuple[int, int, int, int]

    @property
    def is_linear(self) -> bool:
        """Whether it is a bar code."""
        return self.kind[:2] in LINEAR

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of its place."""
        left, top, right, bottom = self.place
        return (left + right) / 2, (top + bottom) / 2


def read_codes(size: tuple[int, int], pixels: bytes, *, thorough: bool = True) -> tuple[Code, ...]:
    """Find the codes in a picture.

    Parameters
    ----------
    size
        Width and height in pixels, each at least 1.
    pixels
        Width x height x 3 bytes: red, green, blue, rows from top to bottom.
    thorough
        Whether light codes on dark ground are looked for as well, as they are marked on some parts; that
        takes longer.

    Returns
    -------
    tuple of Code
        At most ``MOST_CODES``, from the top left to the bottom right; the same text and kind once.

    Raises
    ------
    DeviceError
        If the library that reads codes is not there.
    ValueError
        If the number of bytes does not fit the size.

    Notes
    -----
    What a picture costs is bounded by its pixels before the library sees it. Errors in a code are found by
    its own check sums: QR and Data Matrix mend some and refuse the rest, Code 128 and EAN have a check
    digit, Code 39 usually has none.
    """
    width, height = size
    if width < 1 or height < 1 or len(pixels) != width * height * 3:
        raise ValueError(f"{len(pixels)} bytes are no picture of {width} x {height} pixels")
    reader = _reader()
    grey = Image.frombytes("RGB", size, pixels).convert("L")
    shrink = 1
    while (width // shrink) * (height // shrink) > MOST_PIXELS:
        shrink += 1
    if shrink > 1:
        grey = grey.reduce(shrink)
    wanted = reader.BarcodeFormat
    found = reader.read_barcodes(
        memoryview(grey.tobytes()).cast("B", (grey.height, grey.width)),
        formats=[
            wanted.QRCode, wanted.DataMatrix, wanted.Code128, wanted.Code39, wanted.EAN13, wanted.EAN8,
            wanted.UPCA, wanted.UPCE,
        ],
        try_invert=thorough,
        text_mode=reader.TextMode.Plain,
    )  # fmt: skip
    codes: dict[tuple[str, str], Code] = {}
    for one in found:
        code = Code(
            text=one.text,
            name=str(one.format),
            kind=one.symbology_identifier,
            place=_place(one.position, shrink, size),
        )
        codes.setdefault((code.text, code.kind), code)
    largest = sorted(codes.values(), key=_area, reverse=True)[:MOST_CODES]
    return tuple(sorted(largest, key=lambda code: (code.place[1], code.place[0], code.text)))


def _reader() -> Any:
    try:
        import zxingcpp
    except ImportError as error:
        raise DeviceError(tr(_NOT_THERE)) from error
    return zxingcpp


def _place(position: Any, scale: int, size: tuple[int, int]) -> tuple[int, int, int, int]:
    corners = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    xs, ys = [point.x * scale for point in corners], [point.y * scale for point in corners]
    width, height = size
    return max(min(xs), 0), max(min(ys), 0), min(max(xs), width), min(max(ys), height)


def _area(code: Code) -> int:
    left, top, right, bottom = code.place
    return (right - left) * (bottom - top)
