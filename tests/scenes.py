"""What a camera sees: a code on a ground like a photo, and a live view of the test's own that shows it."""

from __future__ import annotations

import io
import random
from collections.abc import Sequence

import segno
from PIL import Image, ImageDraw, ImageFilter

from walkapp.errors import DeviceError
from walkapp.presenters.devices import Frame

SIZE = (1280, 720)


def ground(size: tuple[int, int] = SIZE, seed: int = 1) -> Image.Image:
    """Draw a ground like that of a photo: patches of light and dark, soft, with the noise of a camera."""
    chance = random.Random(seed)
    small = Image.new("RGB", (64, 36))
    draw = ImageDraw.Draw(small)
    for _ in range(60):
        x, y = chance.randrange(64), chance.randrange(36)
        grey = chance.randrange(60, 200)
        box = (x, y, x + chance.randrange(2, 20), y + chance.randrange(2, 12))
        draw.rectangle(box, fill=(grey, min(grey + chance.randrange(30), 255), grey))
    soft = small.resize(size, Image.Resampling.BICUBIC)
    noise = Image.frombytes("L", size, chance.randbytes(size[0] * size[1])).convert("RGB")
    return Image.blend(soft, noise, 0.08)


def qr_picture(text: str, module_px: int = 6) -> Image.Image:
    """Draw a QR code with its quiet zone."""
    file = io.BytesIO()
    segno.make_qr(text, error="m").save(file, kind="png", scale=module_px, border=4)
    with Image.open(file) as opened:
        return opened.convert("RGB")


def scene(
    *codes: tuple[Image.Image, tuple[int, int]],
    size: tuple[int, int] = SIZE,
    angle: float = 0.0,
    blur_px: float = 0.0,
    seed: int = 1,
) -> Image.Image:
    """Put codes on a ground, each with its middle at a point, turned and blurred."""
    picture = ground(size, seed)
    for code, (x, y) in codes:
        turned = code.convert("RGBA").rotate(angle, expand=True, resample=Image.Resampling.BICUBIC)
        picture.paste(turned, (x - turned.width // 2, y - turned.height // 2), turned)
    return picture.filter(ImageFilter.GaussianBlur(blur_px)) if blur_px else picture


def frame_of(picture: Image.Image) -> Frame:
    """Make it a frame of a live view."""
    return Frame(size=picture.size, pixels=picture.convert("RGB").tobytes())


class StagedView:
    """A live view that shows frames one after the other, and stays at the last one.

    Parameters
    ----------
    frames
        What it shows; none for a camera that cannot be opened.
    """

    def __init__(self, frames: Sequence[Frame]) -> None:
        self.frames = list(frames)
        self.is_open = False
        self.given = 0

    def open(self) -> None:
        """Start."""
        if not self.frames:
            raise DeviceError("The camera does not answer; close other programs that use it.")
        self.is_open = True

    def frame(self) -> Frame | None:
        """Give the next frame."""
        assert self.is_open
        self.given += 1
        return self.frames[min(self.given, len(self.frames)) - 1]

    def close(self) -> None:
        """Let go."""
        self.is_open = False
