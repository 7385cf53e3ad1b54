"""Pictures as a camera writes them, made by Pillow: the outside witness of these tests."""

from __future__ import annotations

import io
import zlib

from PIL import ExifTags, Image, ImageDraw, IptcImagePlugin

SERIAL = "SN-INVENTED-0815"
LENS_SERIAL = "LENS-INVENTED-0042"
OWNER = "Owner Invented"
UNIQUE_ID = "0123456789abcdef-invented"
XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><GPSLatitude>48,7.5N</GPSLatitude>XMP-SECRET</x:xmpmeta>'
IPTC = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x10\x1c\x02\x5a\0\x0bIPTC-SECRET"
"""City (record 2, data set 90) as IPTC, in the frame that picture programs put around it; from memory."""
FILM = b"\0\0\0\x18ftypmp42MOTION-SECRET"
SECRETS = (
    SERIAL.encode(), LENS_SERIAL.encode(), OWNER.encode(), UNIQUE_ID.encode(), b"Invented Optics",
    b"INVENTED\0", b"XMP-SECRET", b"IPTC-SECRET", b"MOTION-SECRET", b"MAKER-SECRET", b"COMMENT-SECRET",
    b"GPS", b"Exif",
)  # fmt: skip
"""What the files of :func:`phone_jpeg` and :func:`phone_png` hold and no copy may."""
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
    details[ExifTags.Base.LensSerialNumber] = LENS_SERIAL
    details[ExifTags.Base.CameraOwnerName] = OWNER
    details[ExifTags.Base.ImageUniqueID] = UNIQUE_ID
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


def phone_jpeg(image: Image.Image | None = None, orientation: int = 1) -> bytes:
    """Everything that a phone or a picture program writes into a JPEG, each with a secret in it."""
    inner = as_jpeg(scene((16, 12)), comment=b"COMMENT-SECRET")
    exif = camera_exif(orientation)
    data = as_jpeg(image, exif=exif.tobytes() + inner, xmp=XMP, comment=b"COMMENT-SECRET GPS")
    makers = jpeg_segment(0xE2, b"PREVIEW\0MAKER-SECRET") + jpeg_segment(0xE4, b"MAKER-SECRET")
    small = jpeg_segment(0xE0, b"JFXX\0\x10" + inner)
    return data[:2] + small + makers + jpeg_segment(0xED, IPTC) + data[2:] + inner + FILM


def phone_png(image: Image.Image | None = None, orientation: int = 1) -> bytes:
    """The same for PNG."""
    data = as_png(image, exif=camera_exif(orientation))
    chunks = (
        png_chunk(b"tEXt", b"Comment\0COMMENT-SECRET GPS")
        + png_chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + XMP)
        + png_chunk(b"zTXt", b"Raw profile type iptc\0\0" + zlib.compress(IPTC))
        + png_chunk(b"maKr", b"MAKER-SECRET IPTC-SECRET")
        + png_chunk(b"tIME", bytes(7))
    )
    return data[:33] + chunks + data[33:] + FILM + b"Exif"


def metadata_of(data: bytes) -> dict[str, object]:
    """What Pillow finds in a file beyond the picture: nothing but how to show it when all is well."""
    image = decoded(data)
    exif = image.getexif()
    tables = {ifd.name: dict(exif.get_ifd(ifd)) for ifd in ExifTags.IFD if exif.get_ifd(ifd)}
    harmless = ("jfif", "jfif_version", "jfif_unit", "jfif_density", "icc_profile", "dpi", "progressive",
                "progression", "exif", "gamma", "srgb", "transparency", "adobe",
                "adobe_transform")  # fmt: skip
    info = {name: value for name, value in image.info.items() if name not in harmless}
    iptc = IptcImagePlugin.getiptcinfo(image) if image.format == "JPEG" else None
    return {
        **{ExifTags.TAGS.get(tag, str(tag)): value for tag, value in exif.items()},
        **tables,
        **info,
        **({"iptc": iptc} if iptc else {}),
    }


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
