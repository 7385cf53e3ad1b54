"""Pictures as a camera writes them, made by Pillow: the outside witness of these tests."""

from __future__ import annotations

import io
import zlib

from PIL import ExifTags, Image, ImageDraw

SERIAL = "SN-INVENTED-0815"
PLACE = (48.0, 7.0, 30.25)


def scene(size: tuple[int, int] = (80, 48), mode: str = "RGB") -> Image.Image:
    """A picture without any symmetry: every turn and flip of it differs from every other."""
    image = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(image)
    wide, high = size
    draw.rectangle((0, 0, wide // 2, high // 3), fill=(200, 30, 30))
    draw.rectangle((wide // 2, high // 2, wide * 3 // 4, high - 1), fill=(20, 60, 190))
    draw.line((0, high - 1, wide - 1, 0), fill=(10, 120, 40), width=3)
    return image.convert(mode)


def camera_exif(orientation: int | None = 1, *, place: bool = True) -> Image.Exif:
    """Camera-like metadata, invented: maker, time, exposure, serial number, maker notes, position."""
    exif = Image.Exif()
    if orientation is not None:
        exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Make] = "Invented Optics"
    exif[ExifTags.Base.Software] = "1.0 invented"
    exif[ExifTags.Base.DateTime] = "2026:03:02 06:41:00"
    exif[ExifTags.Base.XResolution] = 72.0
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.ExposureTime] = 1 / 125
    details[ExifTags.Base.FNumber] = 1.8
    details[ExifTags.Base.BodySerialNumber] = SERIAL
    details[ExifTags.Base.MakerNote] = b"INVENTED\0" + bytes(range(200))
    if place:
        gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
        gps[ExifTags.GPS.GPSVersionID] = b"\x02\x03\0\0"
        gps[ExifTags.GPS.GPSLatitudeRef] = "N"
        gps[ExifTags.GPS.GPSLatitude] = PLACE
        gps[ExifTags.GPS.GPSLongitudeRef] = "E"
        gps[ExifTags.GPS.GPSLongitude] = PLACE
    return exif


def as_jpeg(image: Image.Image | None = None, **options: object) -> bytes:
    target = io.BytesIO()
    (image or scene()).save(target, "JPEG", quality=90, **options)
    return target.getvalue()


def as_png(image: Image.Image | None = None, **options: object) -> bytes:
    target = io.BytesIO()
    (image or scene()).save(target, "PNG", **options)
    return target.getvalue()


def decoded(data: bytes) -> Image.Image:
    """What Pillow makes of a file, not turned."""
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def png_chunk(letters: bytes, content: bytes) -> bytes:
    body = letters + content
    return len(content).to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")


def jpeg_segment(code: int, content: bytes) -> bytes:
    return bytes((0xFF, code)) + (len(content) + 2).to_bytes(2, "big") + content
