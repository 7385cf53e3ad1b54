"""``python -m walkapp.demo.guide``: make the pictures of "The walk in pictures" in the README anew.

The demo is played, and those places of its tour that are named here are photographed.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

from walkapp.actions.merging import merge_bundles
from walkapp.app import window_app
from walkapp.demo.desk_routes import desk_routes
from walkapp.demo.hand import Hand, prepare_environment
from walkapp.demo.scenario import play
from walkapp.demo.tablets import Tablet, open_tablet, read_scenario
from walkapp.demo.tour import walked_by
from walkapp.demo.walk_routes import tour_routes
from walkapp.presenters.route import Route

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
    """Play the demo and make the guide of this checkout anew."""
    with tempfile.TemporaryDirectory() as temporary:
        out = Path(temporary)
        prepare_environment(out / "kivy")
        with opened(out / "demo") as (tablet, routes):
            app = window_app(tablet.place, out / "camera", bundles=out / "bundles")
            hand = Hand(app, folder=out)
            try:
                made = photograph_guide(hand, routes, REPOSITORY / FOLDER)
            finally:
                hand.close()
    print(f"{FOLDER}: {len(made)} pictures, {sum(path.stat().st_size for path in made):,} bytes")


@contextmanager
def opened(folder: Path) -> Iterator[tuple[Tablet, dict[str, Route]]]:
    """Play the demo; give its first tablet with the records of all others, and the places of the tour."""
    checklists = REPOSITORY / "checklists"
    bundle = play(folder, checklists).path
    facts = {**read_scenario()["tablet"][0], "starts": read_scenario("-fix")["until"]}
    tablet = open_tablet(facts, folder / "tablet-1", checklists)
    with tablet.place.store:
        merge_bundles(tablet.place, [bundle])
        walked = walked_by(tablet, bundle)
        yield tablet, tour_routes(walked) | desk_routes(tablet.place, walked.concern)


if __name__ == "__main__":
    main()
