"""The demo's picture with somebody in it, drawn, and the metadata that a phone writes into a picture.

The person is a drawing of nobody; place and serial numbers are invented.
"""

from __future__ import annotations

from PIL import ExifTags, Image

from walkapp.demo.brushes import INK, PAPER, STEEL, Colour, Sheet, rounded

SERIAL_NUMBER = "INVENTED-0815"
PLACE_DEGREES = (10.0, 20.0, 30.0)
"""Degrees, minutes and seconds, for north and east alike."""

_SKIN: tuple[Colour, ...] = ((226, 184, 152), (196, 148, 116))
_HAIR: tuple[Colour, ...] = ((84, 64, 50), (56, 42, 34))
_OVERALL: tuple[Colour, ...] = ((70, 104, 150), (42, 68, 110))
_CARTON: tuple[Colour, ...] = ((214, 176, 128), (186, 144, 96))
_PLASTIC: tuple[Colour, ...] = ((176, 198, 212), (140, 164, 182))


def packing_bench() -> bytes:
    """Draw the packing bench with a packer behind it: a face and a name plate to be covered."""
    sheet = Sheet("Packing bench: white ears put aside", ((232, 236, 240), (204, 212, 219)))
    for y in (260, 420):
        sheet.box((60, y, 560, y + 18), STEEL, width=3)
        for x in range(90, 520, 110):
            sheet.box((x, y - 84, x + 86, y), _CARTON, width=3)
    _packer(sheet, 930)
    sheet.box((0, 830, 1600, 900), STEEL)
    sheet.box((0, 900, 1600, 1200), ((150, 158, 166), (120, 128, 137)), outline=None)
    sheet.box((130, 640, 560, 834), _CARTON, radius=6)
    for x in range(165, 520, 90):
        sheet.shape(rounded([(x, 600), (x + 66, 600), (x + 66, 690), (x, 690)], 14), _PLASTIC, width=3)
    sheet.label("put aside, not counted", (360, 1000), (345, 740))
    return sheet.finish()


def _packer(sheet: Sheet, x: float) -> None:
    sheet.shape(
        rounded([(x - 250, 850), (x - 190, 590), (x + 190, 590), (x + 250, 850)], 60), _OVERALL, width=5
    )
    sheet.box((x - 50, 520, x + 50, 620), _SKIN, radius=20)
    sheet.oval((x - 118, 236, x + 118, 560), _SKIN, width=5)
    hair = [(x - 122, 380), (x - 116, 236), (x + 116, 236), (x + 122, 380), (x + 70, 300), (x - 70, 300)]
    sheet.shape(rounded(hair, 40), _HAIR, width=3)
    for side in (-1, 1):
        eye = x + side * 46
        sheet.oval((eye - 22, 382, eye + 22, 412), (PAPER, PAPER), width=3)
        sheet.oval((eye - 9, 386, eye + 9, 408), (INK, INK), outline=None)
        sheet.line([(eye - 26, 366), (eye + 26, 362)], _HAIR[1], 7)
    sheet.line([(x, 410), (x - 14, 462), (x + 8, 466)], _SKIN[1], 6)
    sheet.line([(x - 42, 506), (x, 520), (x + 42, 506)], (150, 70, 64), 8)
    sheet.box((x + 30, 668, x + 186, 738), (PAPER, PAPER), radius=8)
    sheet.text("N. NOBODY", (x + 108, 703), 28)


def as_a_phone_takes_it(jpeg: bytes) -> bytes:
    """Give a drawn JPEG the metadata of a phone: place, serial numbers, owner; all invented."""
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Invented"
    exif[ExifTags.Base.DateTime] = "2026:03:03 06:41:00"
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.BodySerialNumber] = SERIAL_NUMBER
    details[ExifTags.Base.CameraOwnerName] = "N. Nobody (invented)"
    place = exif.get_ifd(ExifTags.IFD.GPSInfo)
    for name, value in (("Latitude", "N"), ("Longitude", "E")):
        place[ExifTags.GPS[f"GPS{name}Ref"]] = value
        place[ExifTags.GPS[f"GPS{name}"]] = PLACE_DEGREES
    content = exif.tobytes()
    # Behind the start marker, without packing the pixels anew.
    return jpeg[:2] + b"\xff\xe1" + (len(content) + 2).to_bytes(2, "big") + content + jpeg[2:]
