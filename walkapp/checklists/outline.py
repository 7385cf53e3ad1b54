"""Where each key of a TOML document stands: the standard parser does not say.

Only the outline is read here (headers, keys, and how far each value reaches); what the values are is
the business of :mod:`tomllib`, which has accepted the document before.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping

Path = tuple[str | int, ...]

_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_STRING = re.compile(
    r'''"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?'{3,5}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*\'''', re.DOTALL
)


class Outline:
    """The lines of a TOML document, by the path of each table and key.

    Parameters
    ----------
    text
        A document that :mod:`tomllib` accepts.

    Examples
    --------
    >>> outline = Outline("[[station]]\\nid = 'a'\\n[[station]]\\nid = 'b'\\n")
    >>> outline.line_of(("station", 1, "id"))
    4
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        self._position = 0
        self._read()

    def line_of(self, path: Path) -> int:
        """Give the line of a key, or of the nearest thing around it; 1 when there is none.

        Parameters
        ----------
        path
            Keys, and for an entry of an array of tables its place from 0.
        """
        while path and path not in self._lines:
            path = path[:-1]
        return self._lines.get(path, 1)

    @property
    def lines(self) -> Mapping[Path, int]:
        """Every path that has a line of its own."""
        return self._lines

    def _read(self) -> None:
        table: Path = ()
        line, counted = 1, 0
        while True:
            self._skip(_BLANK)
            if self._position >= len(self._text):
                return
            line += self._text.count("\n", counted, self._position)
            counted = self._position
            if self._text.startswith("[[", self._position):
                table = self._next_entry(self._header(2))
            elif self._text.startswith("[", self._position):
                table = self._resolve(self._header(1))
            else:
                here = table
                for name in self._dotted_key():
                    here = (*here, name)
                    self._lines.setdefault(here, line)
                self._position += 1  # the equals sign
                self._skip_value()
                continue
            for length in range(1, len(table) + 1):  # a header also makes the tables around it
                self._lines.setdefault(table[:length], line)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self._text, self._position)
        if found is not None:
            self._position = found.end()

    def _header(self, brackets: int) -> list[str]:
        self._position += brackets
        names = self._dotted_key()
        self._position += brackets
        return names

    def _dotted_key(self) -> list[str]:
        names = []
        while True:
            self._skip(_SPACE)
            found = _KEY.match(self._text, self._position)
            if found is None:
                raise ValueError(f"no key at position {self._position}")
            self._position = found.end()
            names.append(_unquoted(found[0]))
            self._skip(_SPACE)
            if not self._text.startswith(".", self._position):
                return names
            self._position += 1

    def _skip_value(self) -> None:
        depth = 0
        while self._position < len(self._text):
            letter = self._text[self._position]
            if letter in "\"'":
                self._skip(_STRING)
                continue
            if letter == "#":
                end = self._text.find("\n", self._position)
                self._position = len(self._text) if end < 0 else end
                continue
            if letter == "\n" and depth == 0:
                return
            depth += (letter in "[{") - (letter in "]}")
            self._position += 1

    def _resolve(self, names: list[str]) -> Path:
        """A header names an array of tables without a place: it means the newest entry."""
        path: Path = ()
        for name in names:
            path = (*path, name)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return path

    def _next_entry(self, names: list[str]) -> Path:
        array = (*self._resolve(names[:-1]), names[-1])
        self._counts[array] = self._counts.get(array, 0) + 1
        return (*array, self._counts[array] - 1)


def _unquoted(key: str) -> str:
    return next(iter(tomllib.loads(f"{key} = 0"))) if key[0] in "\"'" else key
