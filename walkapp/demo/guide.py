"""``python -m walkapp.demo.guide``: make the pictures of "The walk in pictures" in the README anew.

The demo is walked by touch, and those places of its tour that are named here are photographed.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

from walkapp.presenters.session import Route

REPOSITORY = Path(__file__).resolve().parents[2]
FOLDER = Path("demo", "guide")  # no text: where they are in the repository
WIDTH_PX = 800
COLOURS = 128
"""Enough for plain plates and letters; a picture of a part is small on them."""


@dataclass(frozen=True, slots=True)
class GuidePicture:
    """One picture of the guide.

    Parameters
    ----------
    place
        A place of the tour; the file is named after it.
    sentence
        What it shows, in one sentence.
    """

    place: str
    sentence: str

    @property
    def path(self) -> Path:
        """Where it is in the repository."""
        return FOLDER / f"{self.place}.png"


GUIDE = (
    GuidePicture("home", "The first page lists the concerns, each with what is known of where it starts."),
    GuidePicture("concern", "A concern says how far it is, and a walk along its stations starts here."),
    GuidePicture(
        "cautions", "At each station its cautions are read first; only then are its checks shown."
    ),
    GuidePicture("station", "The strip shows the stream, the rows what is to be checked at this station."),
    GuidePicture("judge", "One tap records a part as OK, NOK or N/A, beside pictures of both sides."),
    GuidePicture(
        "first-bad-station", "The answer: each station's counts, limits, probability and verdict."
    ),
    GuidePicture("onset", "When it started, and which recorded changes could be the cause."),
    GuidePicture("sheet", "All of it on one page for a wall, with what is still missing beside it."),
)
"""The pictures, in the order of a walk: the one home of what the README shows and says."""


def guide_text() -> str:
    """Give the guide as it stands in the README."""
    steps = (
        f"{number}. {one.sentence}\n\n   ![{one.sentence}]({one.path.as_posix()})\n"
        for number, one in enumerate(GUIDE, 1)
    )
    return "\n".join(steps)


def photograph_guide(hand: Any, routes: Mapping[str, Route], folder: Path) -> list[Path]:
    """Take the pictures of the guide, small.

    Parameters
    ----------
    hand
        The hand in a window on a tablet of the demo; it puts pictures into its folder.
    routes
        The places of the tour.
    folder
        Where the small ones go; a picture there that the guide does not have is removed.

    Returns
    -------
    list of Path
        The pictures, in the order of the guide.
    """
    from walkapp.demo.album import take_pictures

    folder.mkdir(parents=True, exist_ok=True)
    taken = take_pictures(hand, {one.place: routes[one.place] for one in GUIDE})
    made = []
    for path in taken:
        with Image.open(path) as picture:
            height = round(picture.height * WIDTH_PX / picture.width)
            small = picture.convert("RGB").resize((WIDTH_PX, height), Image.Resampling.LANCZOS)
        made.append(folder / path.name)
        # Without dithering, which gives plain plates a grain that takes ten times the bytes.
        flat = small.quantize(COLOURS, dither=Image.Dither.NONE)
        flat.save(made[-1], optimize=True)
    for other in {*folder.glob("*.png")} - {*made}:
        other.unlink()
    return made


def main() -> None:
    """Walk the demo and make the guide of this checkout anew."""
    from walkapp.demo.showing import toured

    with tempfile.TemporaryDirectory() as temporary:
        out = Path(temporary)
        with toured(out, REPOSITORY / "checklists", print) as tour:
            from walkapp.app import window_app
            from walkapp.demo.desk_routes import desk_routes
            from walkapp.demo.hand import Hand
            from walkapp.demo.walk_routes import tour_routes

            place = tour.tablet.place
            hand = Hand(window_app(place, out / "camera", bundles=out / "bundles"), folder=out)
            try:
                routes = tour_routes(tour.walked) | desk_routes(place, tour.walked.concern)
                made = photograph_guide(hand, routes, REPOSITORY / FOLDER)
            finally:
                hand.close()
    print(f"{len(made)} pictures, {sum(path.stat().st_size for path in made):,} bytes: {FOLDER}")


if __name__ == "__main__":
    main()
