"""Keys that come faster than a hand types: what a gauge or a code reader sends as if it were a keyboard.

Such a device sends a whole text and then Enter or Tab. A key of it must not do what the same key does under
a finger: a space would tap, Enter would answer. So each key that writes something is held back for a moment
that nobody notices. Either the rest of a text follows, or it was a person and the key does what it does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from kivy.clock import Clock

GAP_S = 0.05
"""Keys that follow each other within this are no hand's: common practice of such devices is 0 to 20 ms,
and people who type fast take 100 ms and more; from memory, no source."""

GAP_FRAMES = 3
"""And as many frames: the keys that wait while the window is busy arrive after it, all at once."""

LEAST_KEYS = 2
"""A person may well press one key and Enter almost at once, but not two."""

MOST_KEYS = 4096
"""No gauge and no code sends more; what is longer is left out as a whole."""

LOST = "\N{REPLACEMENT CHARACTER}"
"""Stands for a key that wrote something of which is not known what."""

_KEYPAD = {
    **{256 + digit: str(digit) for digit in range(10)},
    266: ".",
    267: "/",
    268: "*",
    269: "-",
    270: "+",
}
_PLAIN, _SHIFTED = "`1234567890-=[]\\;',./", '~!@#$%^&*()_+{}|:"<>?'
_WITH_SHIFT = dict(zip(_PLAIN, _SHIFTED, strict=True))
"""Where the system tells keys and no letters (Android), it names them as on a keyboard of the
United States."""


@dataclass(frozen=True, slots=True)
class _Held:
    key: int
    written: str


class Burst:
    """Holds back the keys of a text until it is known who writes it.

    Parameters
    ----------
    play
        Does what the keys do that a person pressed; given their codes.
    """

    def __init__(self, play: Callable[[tuple[int, ...]], None]) -> None:
        self._play = play
        self._held: list[_Held] = []
        self._letters: list[str] = []
        self._last_s, self._last_frame = 0.0, 0
        self._look_later = Clock.create_trigger(self._look, 0, interval=True)

    def close(self) -> None:
        """Forget what is held."""
        self._look_later.cancel()
        self._held, self._letters = [], []

    @property
    def is_on(self) -> bool:
        """Whether keys are held that the next one may belong to."""
        return bool(self._held or self._letters) and not self._is_over()

    def hold(self, key: int, modifiers: set[str]) -> bool:
        """Hold back a key, if it is one that writes something; says so."""
        written = _written(key, modifiers)
        if not written or (modifiers & {"ctrl", "alt", "meta"} and not self.is_on):
            return False
        self._settle()
        self._held.append(_Held(key, written))
        self._wait()
        return True

    def write(self, letters: str) -> None:
        """Take in what the system says that the keys have written; it knows the layout of the keyboard."""
        if len(self._letters) < MOST_KEYS:
            self._letters.append(letters)
        self._wait()

    def end(self) -> str | None:
        """Take the text that Enter or Tab has ended; none when a person has pressed the keys.

        What a person has pressed is played first. A text that is too long is empty.
        """
        if not self.is_on or len(self._held or self._letters) < LEAST_KEYS:
            self.play()
            return None
        letters = "".join(self._letters) or "".join(held.written for held in self._held)
        self.close()
        return letters if len(letters) < MOST_KEYS else ""

    def play(self) -> None:
        """Let the held keys do what they do; a space in a text that nobody ended does nothing."""
        held, self._held, self._letters = self._held, [], []
        self._look_later.cancel()
        keys = tuple(one.key for one in held if len(held) == 1 or one.written != " ")
        if keys and len(held) < MOST_KEYS:
            self._play(keys)

    def _settle(self) -> None:
        """Play what is held when the next key comes too late to belong to it."""
        if self._held and self._is_over():
            self.play()
        if len(self._held) >= MOST_KEYS:
            self._held.pop()

    def _wait(self) -> None:
        self._last_s, self._last_frame = Clock.time(), Clock.frames
        self._look_later()

    def _look(self, _dt: float) -> None:
        if self._is_over():
            self.play()

    def _is_over(self) -> bool:
        return Clock.time() - self._last_s >= GAP_S and Clock.frames - self._last_frame >= GAP_FRAMES


def _written(key: int, modifiers: set[str]) -> str:
    """Say what a key writes; empty when it writes nothing."""
    if key in _KEYPAD:
        return _KEYPAD[key]
    if not (32 <= key < 127 or 160 <= key < 256):
        return ""
    letter = chr(key)
    if "ctrl" in modifiers:
        return chr(ord(letter.upper()) & 0x1F)  # as code readers send what separates the parts of a code
    if modifiers & {"alt", "meta"}:
        return LOST
    if letter.isalpha():
        is_upper = ("shift" in modifiers) != ("capslock" in modifiers)
        return letter.upper() if is_upper else letter
    return (
        _WITH_SHIFT.get(letter, LOST if ord(letter) > 127 else letter) if "shift" in modifiers else letter
    )
