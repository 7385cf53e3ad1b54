"""Reading codes from frames of 1280 x 720 pixels: how many, how fast, and how small, blurred or tilted.

``python -m tests.benchmarks.codes``. Ours is what the live view calls. Beside it the library alone: with
its defaults (every kind of code that it knows), and asked for the same kinds as ours, on a grey picture
that is ready. All see the same frames, one after the other. The grounds are drawn, no camera was at hand:
a real one adds glare, its own sharpening and rolling shutter.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable, Iterator

import numpy as np
import zxingcpp
from PIL import Image, ImageFilter

from tests.scenes import SIZE, ground, qr_picture
from walkapp.codes import read_codes

FRAMES = 60
TEXTS = {
    "QR Code": "station:washer-reservoir/leak-test:ZTSG",
    "Data Matrix": "EAR-0042",
    "Code 128": "EAR-0042",
}
EACH = 12


def drawn(name: str, text: str, module_px: int) -> Image.Image:
    """Draw a code with its quiet zone."""
    if name == "QR Code":
        return qr_picture(text, module_px)
    form = {"Data Matrix": zxingcpp.BarcodeFormat.DataMatrix, "Code 128": zxingcpp.BarcodeFormat.Code128}[
        name
    ]
    made = zxingcpp.create_barcode(text, form).to_image(scale=1)
    bare = Image.frombytes("L", (made.shape[1], made.shape[0]), memoryview(made).tobytes())
    if name == "Code 128":
        bare = bare.crop((0, 0, bare.width, 1)).resize((bare.width, bare.width // 4))
    quiet = 10 if name == "Code 128" else 4
    framed = Image.new("L", (bare.width + 2 * quiet, bare.height + 2 * quiet), 255)
    framed.paste(bare, (quiet, quiet))
    return framed.resize(
        (framed.width * module_px, framed.height * module_px), Image.Resampling.NEAREST
    ).convert("RGB")


def put(
    code: Image.Image, seed: int, *, angle: float = 0.0, blur_px: float = 0.0, tilt: float = 0.0
) -> Image.Image:
    """Put a code somewhere on a ground: smaller by `tilt` along its width, turned, blurred."""
    chance = random.Random(seed)
    if tilt:
        code = code.resize(
            (max(1, round(code.width * np.cos(np.radians(tilt)))), code.height), Image.Resampling.BICUBIC
        )
    turned = code.convert("RGBA").rotate(angle, expand=True, resample=Image.Resampling.BICUBIC)
    picture = ground(SIZE, seed)
    room = SIZE[0] - turned.width, SIZE[1] - turned.height
    picture.paste(turned, (chance.randrange(max(1, room[0])), chance.randrange(max(1, room[1]))), turned)
    return picture.filter(ImageFilter.GaussianBlur(blur_px)) if blur_px else picture


def ours(frame: Image.Image) -> set[str]:
    """Read a frame as the live view does."""
    return {code.text for code in read_codes(frame.size, frame.tobytes(), thorough=False)}


def bare(frame: Image.Image) -> set[str]:
    """Read it with the library alone."""
    return {code.text for code in zxingcpp.read_barcodes(np.asarray(frame))}


def same_kinds(frame: Image.Image) -> set[str]:
    """Read it with the library alone, asked for the same kinds; the grey picture is made before."""
    kinds = zxingcpp.BarcodeFormat
    wanted = [kinds.QRCode, kinds.DataMatrix, kinds.Code128, kinds.Code39, kinds.EAN13, kinds.EAN8,
              kinds.UPCA, kinds.UPCE]  # fmt: skip
    found = zxingcpp.read_barcodes(np.asarray(frame), formats=wanted, try_invert=False)
    return {code.text for code in found}


def timed(
    read: Callable[[Image.Image], set[str]], frames: list[Image.Image]
) -> tuple[float, list[set[str]]]:
    """Give the median milliseconds a frame, and what was read."""
    taken, found = [], []
    for frame in frames:
        begins = time.perf_counter()
        found.append(read(frame))
        taken.append((time.perf_counter() - begins) * 1000)
    return statistics.median(taken), found


def rate(name: str, module_px: int, **how: float) -> float:
    """Give the share of frames in which a code is read."""
    text = TEXTS[name]
    return sum(text in ours(put(drawn(name, text, module_px), seed, **how)) for seed in range(EACH)) / EACH


def limit(name: str, values: Iterator[float], read: Callable[[float], float]) -> str:
    """Give the last value up to which every frame is read."""
    last = "none"
    for value in values:
        if read(value) < 1.0:
            break
        last = f"{value:g}"
    return last


def main() -> None:
    """Print it."""
    for name, text in TEXTS.items():
        frames = [
            put(drawn(name, text, 4), seed, angle=random.Random(seed).choice((0, 10, 90, 200)))
            for seed in range(FRAMES)
        ]
        empty = [ground(SIZE, 1000 + seed) for seed in range(FRAMES // 2)]
        our_ms, found = timed(ours, frames)
        bare_ms, bare_found = timed(bare, frames)
        same_ms, _ = timed(same_kinds, [frame.convert("L") for frame in frames])
        our_empty, _ = timed(ours, empty)
        print(
            f"{name:12} read {sum(text in one for one in found)} of {FRAMES} "
            f"(library alone {sum(text in one for one in bare_found)}); {our_ms:.1f} ms a frame, "
            f"{our_ms / bare_ms:.2f} x the library alone, {our_ms / same_ms:.2f} x asked for the same "
            f"kinds; without a code {our_empty:.1f} ms"
        )
        wrong = [one - {text} for one in found if one - {text}]
        print(f"{'':12} texts that were not there: {len(wrong)}")
        sizes = limit(name, iter((6, 5, 4, 3, 2, 1)), lambda px, name=name: rate(name, int(px)))
        blur = limit(
            name, (half / 2 for half in range(1, 13)), lambda px, name=name: rate(name, 4, blur_px=px)
        )
        tilt = limit(name, iter(range(10, 81, 5)), lambda by, name=name: rate(name, 6, tilt=by))
        turn = min(rate(name, 4, angle=angle) for angle in range(0, 360, 15))
        print(
            f"{'':12} every frame down to {sizes} px a square; at 4 px blurred up to {blur} px (Gauss); at "
            f"6 px tilted up to {tilt} degrees; turned by any 15 degrees at least {turn:.0%}"
        )


if __name__ == "__main__":
    main()
