"""Pictures as the graphics chip holds them: those that were shown last, within a bound in bytes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection

from kivy.graphics.texture import Texture

from walkapp.presenters.picture_feed import Wish

BYTES_A_PIXEL = 4
"""Graphics chips keep three colours in four bytes."""


class Textures:
    """Textures by what was wished for.

    Parameters
    ----------
    most_bytes
        What they may take together; those that were asked for longest ago go first.
    """

    def __init__(self, most_bytes: int) -> None:
        self._most_bytes = most_bytes
        self._held: OrderedDict[Wish, Texture] = OrderedDict()
        self.held_bytes = 0

    def __contains__(self, wish: Wish) -> bool:
        return wish in self._held

    def give(self, wish: Wish) -> Texture | None:
        """Give a texture, which is then the one asked for last; none when it is not held."""
        if wish not in self._held:
            return None
        self._held.move_to_end(wish)
        return self._held[wish]

    def hold(self, wish: Wish, texture: Texture) -> None:
        """Hold one more."""
        self._drop(wish)
        self._held[wish] = texture
        self.held_bytes += _size_bytes(texture)
        while self.held_bytes > self._most_bytes and len(self._held) > 1:
            self._drop(next(iter(self._held)))

    def keep_only(self, wishes: Collection[Wish]) -> None:
        """Let go of all others."""
        for wish in [held for held in self._held if held not in wishes]:
            self._drop(wish)

    def _drop(self, wish: Wish) -> None:
        if (texture := self._held.pop(wish, None)) is not None:
            self.held_bytes -= _size_bytes(texture)


def _size_bytes(texture: Texture) -> int:
    return int(texture.width * texture.height * BYTES_A_PIXEL)
