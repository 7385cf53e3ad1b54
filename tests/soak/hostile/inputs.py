"""The spoilt inputs of every family, written to a folder; three numbers make each of them again."""

from __future__ import annotations

import contextlib
import random
import shutil
import zlib
from collections.abc import Callable
from pathlib import Path

from tests.soak.hostile.mutants import spoil_bytes, spoil_json, spoil_table, spoil_toml
from tests.soak.hostile.packing import spoil_members, spoil_zip, take_apart
from tests.soak.hostile.seeds import (
    CHECKLIST,
    COUNTS_CSV,
    DELIVERIES_CSV,
    LABELS,
    PICTURES,
    READINGS,
    STREAM,
    Seeds,
)

FAMILIES = {
    "raw": "bytes of the zip",
    "packed": "members, packed again",
    "checklist": "checklists folders",
    "counts": "counts of locate",
    "deliveries": "tables of deliveries",
    "store": "stores opened for reading",
    "label": "texts of labels",
    "reading": "texts of gauges",
    "pictures": "folders of pictures",
}
"""Names of the families, and what they are."""


class Inputs:
    """Writes spoilt inputs.

    Parameters
    ----------
    seeds
        The good ones.
    folder
        Where each spoilt one is written; emptied every time.
    """

    def __init__(self, seeds: Seeds, folder: Path) -> None:
        self.folder = folder
        self._store = seeds.store
        self._raw = seeds.bundle.read_bytes()
        self._members = take_apart(seeds.bundle)

    @property
    def bundle(self) -> Path:
        """Where the spoilt bundle is."""
        return self.folder / "walk.zip"

    @property
    def lists(self) -> Path:
        """Where the spoilt checklists are."""
        return self.folder / "lists"

    @property
    def counts(self) -> Path:
        """Where the spoilt table of counts is."""
        return self.folder / "counts.csv"

    @property
    def deliveries(self) -> Path:
        """Where the spoilt table of deliveries is."""
        return self.folder / "deliveries.csv"

    @property
    def store(self) -> Path:
        """Where the spoilt store is."""
        return self.folder / "store"

    @property
    def pictures(self) -> Path:
        """The folder in which the spoilt picture lies."""
        return self.folder / "pictures"

    def make(self, family: str, seed: int, index: int) -> tuple[random.Random, bool]:
        """Write the input that these three stand for.

        Returns
        -------
        random.Random
            The chance that goes on from there.
        bool
            Whether the input was given a lie that has to be noticed.
        """
        chance = random.Random(f"{seed} {family} {index}")
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir()
        return chance, bool(_MAKERS[family](self, chance))

    def _make_raw(self, chance: random.Random) -> None:
        self.bundle.write_bytes(spoil_zip(self._raw, chance))

    def _make_packed(self, chance: random.Random) -> bool:
        data, is_lie = spoil_members(self._members, chance)
        self.bundle.write_bytes(data)
        return is_lie

    def _make_checklist(self, chance: random.Random) -> None:
        files = dict(CHECKLIST)
        for _ in range(chance.choice((1, 1, 1, 2))):
            name = chance.choice(sorted(files))
            with contextlib.suppress(UnicodeDecodeError):
                files[name] = spoil_toml(files[name], chance)
        if chance.random() < 0.05:
            files[chance.choice(("notes.txt", "\x1b[2J.toml", "n\u202eote.toml", "check.toml"))] = b""
        folder = self.lists / chance.choice((STREAM,) * 19 + ("Small Line", "\x1b[31m", "a" * 41))
        folder.mkdir(parents=True)
        for name, data in files.items():
            (folder / name).write_bytes(data)

    def _make_counts(self, chance: random.Random) -> None:
        data = spoil_table(COUNTS_CSV.encode(), chance, others=("yes", "no", ".5", "0,5", "−3"))
        if chance.random() < 0.2:
            data = data.replace(b",", chance.choice((b";", b"\t", b",,")))
        self.counts.write_bytes(data)

    def _make_deliveries(self, chance: random.Random) -> None:
        others = ("2026-01", "01/02/2026", "1.234", "50,000", "=1+1", "−3", "9" * 5_000, "P-1; left")
        data = spoil_table(DELIVERIES_CSV.replace(";", ",").encode(), chance, others=others)
        if chance.random() < 0.3:
            data = data.replace(b",", chance.choice((b";", b"\t", b",,")))
        if chance.random() < 0.1:
            data = data.decode("utf-8", "replace").encode(
                chance.choice(("utf-16", "utf-16-le", "cp1252")), "replace"
            )
        self.deliveries.write_bytes(data)

    @property
    def label(self) -> Path:
        """Where the spoilt text of a label is."""
        return self.folder / "label.txt"

    def _make_label(self, chance: random.Random) -> None:
        text = chance.choice(LABELS)
        if chance.random() < 0.3:
            text = chance.choice(("]d2", "]C1", "]e0", "[)>", "station:")) + text
        data = spoil_bytes(text.encode(), chance) if chance.random() < 0.9 else text.encode()
        self.label.write_bytes(data)

    @property
    def reading(self) -> Path:
        """Where the spoilt text of a gauge is."""
        return self.folder / "reading.txt"

    def _make_reading(self, chance: random.Random) -> None:
        text = chance.choice(READINGS)
        if chance.random() < 0.2:
            text += chance.choice((";", ",", "\t", "\r\n")) + chance.choice(READINGS)
        if chance.random() < 0.02:
            text *= chance.choice((50, 100_000))
        data = spoil_bytes(text.encode(), chance) if chance.random() < 0.8 else text.encode()
        self.reading.write_bytes(data)

    def _make_store(self, chance: random.Random) -> None:
        shutil.copytree(self._store, self.store, ignore=shutil.ignore_patterns("ballast", "lock"))
        files = sorted(path for path in self.store.rglob("*") if path.is_file())
        for _ in range(chance.choice((1, 1, 2))):
            path = chance.choice(files)
            spoil = _spoil_journal if path.suffix == ".journal" else spoil_bytes
            path.write_bytes(spoil(path.read_bytes(), chance))

    def _make_pictures(self, chance: random.Random) -> None:
        self.pictures.mkdir()
        whole = chance.choice(PICTURES)
        data = spoil_bytes(whole, chance)
        if chance.random() < 0.2:
            # Metadata first, where readers differ most: all damage goes into the first part.
            data = spoil_bytes(whole[:200], chance) + whole[200:]
        if chance.random() < 0.05:
            data = whole + chance.choice((whole, b"\0" * 9_000, b"PK\x03\x04", whole[:90]))
        (self.pictures / chance.choice(("x.jpg", "x.PNG", "x.jpeg"))).write_bytes(data)
        if chance.random() < 0.1:
            (self.pictures / "y.jpg").symlink_to(self.pictures)


_MAKERS: dict[str, Callable[[Inputs, random.Random], bool | None]] = {
    "raw": Inputs._make_raw,
    "packed": Inputs._make_packed,
    "checklist": Inputs._make_checklist,
    "counts": Inputs._make_counts,
    "deliveries": Inputs._make_deliveries,
    "store": Inputs._make_store,
    "label": Inputs._make_label,
    "reading": Inputs._make_reading,
    "pictures": Inputs._make_pictures,
}


def _spoil_journal(data: bytes, chance: random.Random) -> bytes:
    """Spoil a journal: mostly one line, and then mostly with a checksum that is right again."""
    if chance.random() < 0.3:
        return spoil_bytes(data, chance)
    lines = data.split(b"\n")
    place = chance.randrange(max(1, len(lines) - 1))
    body = spoil_json(lines[place][9:], chance) if chance.random() < 0.8 else chance.choice(_BODIES)
    body = body.replace(b"\n", b" ")
    lines[place] = b"%08x %s" % (zlib.crc32(body) if chance.random() < 0.9 else 0, body)
    if chance.random() < 0.2:
        chance.shuffle(lines)
    return b"\n".join(lines)


_BODIES = (
    b"[]", b"null", b"1", b'"x"', b"{}", b'{"format": 2}', b'{"format": "1"}', b'{"format": 1}',
    b"[" * 9_000,
    b'{"kind": "note"}', b'{"kind": "x", "cells": [["a", "b"]]}', b'{"number": 1e999}', b'{"number": true}',
    b'{"kind": null}', b'{"format": 1e999}', b'{"format": 99999999999999999999}',
)  # fmt: skip
