"""Bundles of two other tablets that arrive at a desk: one concern, and one entry that they disagree on."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.keys import make_key
from walkapp.actions.merging import merge_bundles
from walkapp.model.records import Answer


class Arrivals:
    """Tablets `ann` and `ben` with the same concern; both corrected the same answer at the leak test.

    Parameters
    ----------
    folder
        Where the tablets have their stores.
    inbox
        The folder that their bundles are put into.
    secret
        The private key, 32 bytes, with which `ann` signs; empty for no key.
    """

    def __init__(self, folder: Path, inbox: Path, *, secret: bytes = b"") -> None:
        self.inbox = inbox
        inbox.mkdir(parents=True, exist_ok=True)
        with ExitStack() as open_stores:
            ann, ben = (
                Desk(folder / name, seed=seed, by=by)
                for name, seed, by in (("ann", 4, "QE-RT"), ("ben", 5, "SL-KB"))
            )
            for tablet in (ann, ben):
                open_stores.enter_context(tablet.store)
            if secret:
                make_key(ann.place, secret)
            floor = Floor(ann)
            floor.walk()
            self.concern = floor.route.concern
            self.ann, self.ben = ann.store.device, ben.store.device
            bundle_concerns(ann.place, folder / "first.zip")
            merge_bundles(ben.place, (folder / "first.zip",))
            first = next(r for r in ann.records if isinstance(r, Answer) and r.station == "leak-test")
            for tablet, answer in ((ann, "ok"), (ben, "not_ok")):
                tablet.place.add(
                    Answer, concern=self.concern, walk=first.walk, station=first.station,
                    check=first.check, answer=answer, replaces=(first.id,), why="looked again",
                )  # fmt: skip
            self.of_ann, self.of_ben = inbox / "ann.zip", inbox / "ben.zip"
            bundle_concerns(ann.place, self.of_ann)
            bundle_concerns(ben.place, self.of_ben)

    def spoil(self, path: Path) -> Path:
        """Put a bundle with one wrong byte beside; give its path."""
        data = bytearray(path.read_bytes())
        data[len(data) // 2] ^= 1
        spoilt = path.with_name(f"spoilt-{path.name}")
        spoilt.write_bytes(bytes(data))
        return spoilt
