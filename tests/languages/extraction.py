"""Every text of the program that people read, found in its source."""

from __future__ import annotations

import ast
import re
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from walkapp.rollup.questions import questions

PROGRAM = Path(__file__).parents[2] / "walkapp"

_CALLS = {"tr", "trc", "trn", "msg", "msgn"}
_COLUMNS = {
    "text", "key", "choice", "whole", "decimal", "flag", "day", "moment", "record_id", "record_ids",
    "digest",
}  # fmt: skip
"""What makes a column of a record; its title is told to people where entries are compared."""

_IN_KV = re.compile(r"\btr\((?P<quote>['\"])(?P<text>(?:\\.|(?!(?P=quote)).)*)(?P=quote)")


@dataclass
class Message:
    """One text, and where it stands."""

    context: str
    one: str
    many: str
    places: list[str] = field(default_factory=list)

    @property
    def key(self) -> tuple[str, str]:
        return self.context, self.one

    @property
    def id(self):
        """As Babel wants it: a pair where there is a plural."""
        return (self.one, self.many) if self.many else self.one


class UnreadableError(Exception):
    """A call whose text cannot be read off the source."""


@cache
def messages() -> dict[tuple[str, str], Message]:
    """Give every text by context and English text, in the order of files and lines."""
    found: dict[tuple[str, str], Message] = {}
    for path in sorted(path for path in PROGRAM.rglob("*.*") if path.suffix in (".py", ".kv", ".sql")):
        place = path.relative_to(PROGRAM.parent).as_posix()
        for message in _in_file(path, place):
            known = found.setdefault(message.key, message)
            known.many = known.many or message.many
            if place not in known.places:
                known.places.append(place)
    return found


def _in_file(path: Path, place: str):
    match path.suffix:
        case ".py":
            return in_python(path.read_text(), place)
        case ".kv":
            return in_kv(path.read_text())
        case _:
            return in_question(path.stem)


def in_question(name: str):
    """Give the texts of a question of the roll-up; what several of them stand on says nothing to people."""
    if (question := questions().get(name)) is not None:
        said = (question.what, *(what for _, what in question.columns), question.mind)
        yield from (Message("", text, "") for text in said if text)


def in_kv(source: str):
    """Give the texts of a kv file."""
    for match in _IN_KV.finditer(source):
        yield Message("", ast.literal_eval(f"{match['quote']}{match['text']}{match['quote']}"), "")


def in_python(source: str, place: str):
    """Give the texts of a Python file."""
    # What every record has, in `base`, is told nowhere.
    columns = _COLUMNS if "/records/" in place and not place.endswith("base.py") else set()
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        if node.func.id in columns:
            yield Message("", *_texts(node, 1, place), "")
        if node.func.id not in _CALLS:
            continue
        if node.func.id == "msg" or node.func.id == "tr":
            yield from _one(node, place)
        elif node.func.id == "trc":
            context, one = _texts(node, 2, place)
            yield Message(context, one, "")
        elif not isinstance(node.args[0], ast.Starred):
            one, many = _texts(node, 2, place)
            yield Message("", one, many)


def _one(node: ast.Call, place: str):
    # `tr(TABLE[word])` says a text that stands elsewhere, inside `msg`.
    if node.func.id == "msg" or _is_text(node.args[0]) or isinstance(node.args[0], ast.JoinedStr):
        yield Message("", *_texts(node, 1, place), "")


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def _texts(node: ast.Call, count: int, place: str) -> list[str]:
    given = node.args[:count]
    if len(given) < count or not all(_is_text(one) for one in given):
        raise UnreadableError(
            f"{place}:{node.lineno}: the text has to stand there as it is, without f or +"
        )
    return [one.value for one in given]
