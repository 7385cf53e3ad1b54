"""Small pictures held ready: some in memory, more on disk, both bounded, and neither a source of truth."""

from __future__ import annotations

import threading
from collections import OrderedDict
from contextlib import suppress
from dataclasses import replace

from walkapp.actions.copies import Copies, version_of
from walkapp.actions.pictures import SMALL_PX, Picture, shown_picture
from walkapp.actions.workplace import Workplace
from walkapp.errors import PhotoError
from walkapp.model.records import Photo
from walkapp.photos import Shelf, packed, small_picture


class Thumbnails:
    """Recorded pictures to show; every method may be called by any thread.

    Those that were asked for last are held in memory, since a limit sample is shown at every check. Those
    of at most ``SMALL_PX`` are also kept on disk, so that the large file is decoded once.

    Parameters
    ----------
    place
        Where the pictures are.
    most_bytes
        Bytes of pixels that are held in memory.
    """

    MOST_BYTES = 16_000_000
    HELD_PX = 640

    def __init__(self, place: Workplace, *, most_bytes: int = MOST_BYTES) -> None:
        self._place = place
        self._most_bytes = most_bytes
        self._shelf = Shelf(place.store.small_folder, place.store.disk)
        self._held: OrderedDict[tuple[str, int], Picture] = OrderedDict()
        self._lock = threading.Lock()
        self._held_bytes = 0

    @property
    def held_bytes(self) -> int:
        """Bytes of pixels in memory."""
        return self._held_bytes

    def give(self, photo: Photo, copies: Copies | None, longest_px: int) -> Picture:
        """Give a picture as :func:`walkapp.actions.pictures.shown_picture` does.

        A file that was changed, a place that was covered since: then it is made anew.
        """
        stamp = self._stamp(photo, copies)
        key = (f"{photo.sha256}\n{version_of(copies)}\n{stamp}", longest_px)
        if not stamp:
            return shown_picture(self._place, photo, copies, longest_px)
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
                return replace(self._held[key], caption=photo.caption)
        picture = self._from_shelf(photo, *key) if longest_px <= SMALL_PX else None
        if picture is None:
            picture = shown_picture(self._place, photo, copies, longest_px)
            if not picture.trouble and longest_px <= SMALL_PX and self._place.store.is_writable:
                self._shelf.write("\n".join(map(str, key)), packed(picture.size, picture.pixels))
        if not picture.trouble and longest_px <= self.HELD_PX:
            self._hold(key, picture)
        return picture

    def release(self) -> None:
        """Give the memory back; what is on disk stays there."""
        with self._lock:
            self._held.clear()
            self._held_bytes = 0

    def _stamp(self, photo: Photo, copies: Copies | None) -> str:
        """Say which files a picture is made of and when they were last changed; empty when none is here."""
        said = []
        for kept in (photo, *(copies.heads if copies is not None else ())):
            path = self._place.store.photo_path(kept.file_name)
            with suppress(OSError):
                if path is not None:
                    about = path.stat()
                    said.append(f"{kept.file_name} {about.st_size} {about.st_mtime_ns}")
        return "\n".join(said)

    def _from_shelf(self, photo: Photo, made_of: str, longest_px: int) -> Picture | None:
        data = self._shelf.read(f"{made_of}\n{longest_px}")
        if data is None:
            return None
        try:
            size, pixels = small_picture(data, longest_px)
        except PhotoError:
            return None
        return Picture(key=photo.sha256, caption=photo.caption, size=size, pixels=pixels)

    def _hold(self, key: tuple[str, int], picture: Picture) -> None:
        if len(picture.pixels) > self._most_bytes:
            return
        with self._lock:
            before = self._held.pop(key, None)
            self._held[key] = picture
            self._held_bytes += len(picture.pixels) - (len(before.pixels) if before else 0)
            while self._held_bytes > self._most_bytes:
                _, gone = self._held.popitem(last=False)
                self._held_bytes -= len(gone.pixels)
