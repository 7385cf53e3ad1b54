"""The questions: one SQL text for each, in a file, that runs unchanged on every engine.

``sql/questions`` holds the questions and ``sql/shared`` the queries that several of them stand on. A file
begins with what it answers, its columns, what it is asked with and what to mind, in comment lines; all of
that is shown to people, so that the text and what is said of it cannot part.

What a question is asked with stands in the text as a name behind a colon. It is put in here and by nobody
else, as a whole number or a day that Python has made: no text from outside ever becomes a piece of SQL.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import resources
from typing import Any

from walkapp.rollup.engine import Engine
from walkapp.rollup.tables import ANSWER, READ

__all__ = [
    "PARAMETERS",
    "SHARED",
    "Found",
    "Limits",
    "Question",
    "Value",
    "ask",
    "kinds_for",
    "prepare",
    "questions",
]

Value = date | int
"""What a question can be asked with."""

PARAMETERS: Mapping[str, type] = {"on": date, "within": int}
"""Every name that a question may be asked with, and its type."""

SHARED = (
    "parts", "concerns", "answers", "actions_now", "audits", "audit_answers", "deliveries_now",
)  # fmt: skip
"""The shared queries in the order in which they stand on each other; each is worked out once."""

_NAME = re.compile(r":([a-z]+)\b")
_LIMITS = re.compile(r"([a-z_]+) of ([a-z_]+)(?: in (ppm))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Of what the exact limits are added to the result of a question.

    Parameters
    ----------
    count, of
        Names of two columns: how many of how many.
    scale
        1 for a share, 1,000,000 for ppm.
    """

    count: str
    of: str
    scale: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question.

    Parameters
    ----------
    name
        Its name on the command line.
    what
        What it answers, in one sentence.
    columns
        What the columns mean: name or names, and words.
    parameters
        What it is asked with: names of :data:`PARAMETERS`.
    mind
        What to mind, in words.
    limits
        What exact limits are added.
    sql
        The text, comments and all.
    """

    name: str
    what: str
    columns: tuple[tuple[str, str], ...]
    parameters: tuple[str, ...]
    mind: str
    limits: Limits | None
    sql: str

    @property
    def column_names(self) -> tuple[str, ...]:
        """Names of the columns in the order of the result."""
        return tuple(name for names, _ in self.columns for name in names.split(", "))

    def text(self, values: Mapping[str, Value]) -> str:
        """Give the text to run.

        Parameters
        ----------
        values
            A value for each of `parameters`; others do no harm.

        Raises
        ------
        TypeError
            If a value is missing or of another type: that is a mistake of the program.
        """
        # Names in the comments are no parameters.
        body = "\n".join(_body(self.sql))
        return _NAME.sub(lambda found: _literal(found[1], values.get(found[1])), body)


def _literal(name: str, value: Value | None) -> str:
    kind = PARAMETERS[name]
    if type(value) is not kind:
        raise TypeError(f"{name} must be a {kind.__name__}")
    return f"DATE '{value.isoformat()}'" if isinstance(value, date) else str(value)  # no text: SQL


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a question found.

    Parameters
    ----------
    question
        The question.
    rows
        One dict a row, from the name of a column to text, number, day or none.
    """

    question: Question
    rows: tuple[dict[str, Any], ...]


@cache
def questions() -> Mapping[str, Question]:
    """Read all questions, by name, in the order of their names."""
    folder = resources.files("walkapp.rollup") / "sql" / "questions"
    found = sorted(
        (file.name.removesuffix(".sql"), file.read_text(encoding="utf-8"))
        for file in folder.iterdir()
        if file.name.endswith(".sql")
    )
    return {name: _question(name, text) for name, text in found}


def _question(name: str, text: str) -> Question:
    lines = [line.removeprefix("--").rstrip() for line in text.splitlines() if line.startswith("--")]
    parts: dict[str, list[str]] = {"What": []}
    # no text: headings in the files of the questions
    here = "What"
    for line in lines:
        if found := re.match(" (Columns|Limits|Asked with|Mind):(.*)", line):
            here = found[1]
            parts[here] = [found[2].strip()] if found[2].strip() else []
        elif here == "Columns" and line.startswith("   ") and not line.startswith("    "):
            parts[here].append(line.strip())
        elif line.strip():
            parts[here] = (
                [*parts[here][:-1], f"{parts[here][-1]} {line.strip()}"] if parts[here] else [line.strip()]
            )
    columns = tuple((one.partition(": ")[0], one.partition(": ")[2]) for one in parts["Columns"])
    asked = tuple(one for one in ", ".join(parts.get("Asked with", [])).split(", ") if one)
    limits = _LIMITS.fullmatch("".join(parts.get("Limits", [])))
    return Question(
        name=name,
        what=" ".join(parts["What"]),
        columns=columns,
        parameters=asked,
        mind=" ".join(parts.get("Mind", [])),
        limits=Limits(count=limits[1], of=limits[2], scale=1_000_000 if limits[3] else 1)
        if limits
        else None,
        sql=text,
    )


def prepare(engine: Engine, asked: Iterable[Question]) -> None:
    """Work out the shared queries that questions stand on.

    Parameters
    ----------
    engine
        A database whose records are settled (:mod:`walkapp.rollup.settling`).
    asked
        The questions.
    """
    wanted = _texts_under(asked)
    for name in SHARED:
        if name in wanted:
            engine.keep(name, wanted[name])


def kinds_for(asked: Iterable[Question]) -> tuple[str, ...]:
    """Give the kinds of record whose tables questions need, ``first_bad_station`` among them."""
    asked = tuple(asked)
    texts = (*_texts_under(asked).values(), *(question.sql for question in asked))
    named = {word for text in texts for word in _words(text)}
    return tuple(
        kind
        for kind in (*READ, ANSWER)
        if named.intersection((f"held_{kind}", f"raw_{kind}", f"rows_{kind}"))
    )


def _texts_under(asked: Iterable[Question]) -> dict[str, str]:
    """Give the shared queries that questions stand on, directly or through others, by name."""
    folder = resources.files("walkapp.rollup") / "sql" / "shared"
    texts = {name: (folder / f"{name}.sql").read_text(encoding="utf-8") for name in SHARED}
    named = {name for question in asked for name in _words(question.sql)}
    for name in reversed(SHARED):
        if name in named:
            named |= _words(texts[name])
    return {name: text for name, text in texts.items() if name in named}


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z_]+", "\n".join(_body(text))))


def _body(text: str) -> list[str]:
    """Give the lines of a text without its comments."""
    return [line for line in text.splitlines() if not line.startswith("--")]


def ask(engine: Engine, question: Question, values: Mapping[str, Value]) -> Found:
    """Put a question to a database that is prepared.

    Parameters
    ----------
    engine
        The database.
    question
        The question.
    values
        What it is asked with.
    """
    names = question.column_names
    rows = engine.rows(question.text(values))
    return Found(question=question, rows=tuple(dict(zip(names, row, strict=True)) for row in rows))
