"""Past one machine: a folder with the bundles of many plants, asked as a whole and never merged.

The tables go from each zip into a database of their own that is gone afterwards (:mod:`walkapp.rollup`).
SQL counts; what needs exact statistics is added here, by the same functions as on the tablet.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Any

from walkapp.analysis.effect import PartsJudged, judge_effect
from walkapp.analysis.proportions import proportion_interval
from walkapp.bundle import open_bundle
from walkapp.bundle.plain_tables import END_OF_ROW, PlainTables, with_cells_around
from walkapp.errors import BundleError, InputError
from walkapp.language import msg, tr
from walkapp.rollup import (
    DuckDB,
    Engine,
    Found,
    Question,
    Value,
    ask,
    kinds_for,
    prepare,
    questions,
    settle,
)
from walkapp.visible import visible

NOT_SAID = msg("not said")
"""The plant of a bundle that lies in the folder itself."""

SAFETY = "safety"
"""The question that is always asked, so that a missing escalation is said on everything that goes out."""

_UNREAD = msg(
    "its tables are not written as those of bundles are, so that they cannot be taken in; "
    "ask for the bundle again"
)

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A bundle that does not count.

    Parameters
    ----------
    path
        Where it is, from the folder on.
    why
        Why, in one sentence.
    """

    path: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What a question found, with the exact limits.

    Parameters
    ----------
    question
        The question.
    columns
        Names of all columns and what they mean, in order.
    rows
        One dict a row.
    note
        How limits were made; empty where there are none.
    """

    question: Question
    columns: tuple[tuple[str, str], ...]
    rows: tuple[dict[str, Any], ...]
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RolledUp:
    """The answers of a folder.

    Parameters
    ----------
    folder
        The folder.
    bundles
        How many bundles count.
    plants
        The plants, sorted.
    rows
        Rows of the tables of records, as they stand in the bundles: the same record may be in several.
    left_out
        The bundles that do not count.
    cautions
        What has to be said wherever something of this goes.
    values
        What was asked with.
    hashes_checked
        Whether the SHA-256 of every table was compared.
    answers
        The answers, in the order asked.
    """

    folder: Path
    bundles: int
    plants: tuple[str, ...]
    rows: int
    left_out: tuple[LeftOut, ...]
    cautions: tuple[str, ...]
    values: dict[str, Value]
    hashes_checked: bool
    answers: tuple[Answered, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Source:
    path: Path
    name: str
    plant: str
    size_bytes: int


def _say_nothing(done: int, total: int) -> None:
    """The progress that nobody watches."""


def roll_up(
    folder: Path,
    names: Sequence[str] = (),
    *,
    values: dict[str, Value],
    check_hashes: bool = True,
    progress: Progress = _say_nothing,
) -> RolledUp:
    """Put questions to all bundles below a folder.

    Parameters
    ----------
    folder
        Its folders are the plants; what lies deeper is of the same plant, and what lies in the folder
        itself of a plant that is not said.
    names
        Names of questions; all when empty.
    values
        What is asked with: ``on``, a day, and ``within``, a number of days.
    check_hashes
        Whether to compare the SHA-256 of every table with the one that its bundle lists.
    progress
        Called with how much is done, and how much there is.

    Returns
    -------
    RolledUp
        A bundle that is damaged, or is not what it says it is, is left out and named, and the rest counts.
        Pictures are not looked at.

    Raises
    ------
    InputError
        If there is no such folder or question, no bundle that can be read, no room for temporary files, or
        the library is not installed.
    """
    asked = _questions(names)
    needed = (*asked, questions()[SAFETY])
    kinds = kinds_for(needed)
    sources = _sources_in(folder)
    with (
        _told(),
        tempfile.TemporaryDirectory(prefix="walkapp-rollup-", ignore_cleanup_errors=True) as room,
        DuckDB(Path(room), end_of_row=END_OF_ROW, kinds=kinds) as database,
    ):
        reading = _Reading(database, sources, progress, len(asked))
        left_out = reading.read(check_hashes=check_hashes)
        settle(database, kinds)
        prepare(database, needed)
        reading.step()
        answers = []
        for question in asked:
            answers.append(_with_limits(ask(database, question, values)))
            reading.step()
        cautions = tuple(_cautions(database))
        rows = database.row_count
    used = {name: value for q in asked for name, value in values.items() if name in q.parameters}
    named = {one.path for one in left_out}
    counted = [source for source in sources if source.name not in named]
    return RolledUp(
        folder=folder,
        bundles=len(counted),
        plants=tuple(sorted({source.plant or NOT_SAID for source in counted})),
        rows=rows,
        left_out=left_out,
        cautions=cautions,
        values=used,
        hashes_checked=check_hashes,
        answers=tuple(answers),
    )


@contextmanager
def _told() -> Iterator[None]:
    """Say in a sentence what the system refuses of the temporary files."""
    try:
        yield
    except OSError as error:
        what = error.strerror or str(error)
        raise InputError(
            tr(
                "The roll-up cannot keep its temporary files ({what}); free some space, or set "
                "TMPDIR to a folder with more.",
                what=what,
            )
        ) from error


def _questions(names: Sequence[str]) -> list[Question]:
    known = questions()
    for name in names:
        if name not in known:
            raise InputError(
                tr("There is no question {name}; 'walkapp rollup --questions' lists all.", name=repr(name))
            )
    return [known[name] for name in names or known]


def _sources_in(folder: Path) -> list[_Source]:
    """Find the bundles, by name; folders that are links are not followed."""
    if not folder.is_dir():
        raise InputError(
            tr(
                "{folder}: there is no such folder; name the one that holds the bundles of the plants.",
                folder=folder,
            )
        )
    found = []
    try:
        for here, folders, files in os.walk(folder, onerror=_refuse):
            folders.sort()
            for file in files:
                path = Path(here, file)
                if path.suffix.lower() == ".zip":
                    within = path.relative_to(folder)
                    plant = within.parts[0] if len(within.parts) > 1 else ""
                    size_bytes = path.stat().st_size if path.is_file() else 0
                    found.append(
                        _Source(path=path, name=_shown(within), plant=visible(plant), size_bytes=size_bytes)
                    )
    except OSError as error:
        raise InputError(
            tr(
                "{filename}: cannot be read ({strerror}); check the folder.",
                filename=error.filename,
                strerror=error.strerror,
            )
        ) from error
    if not found:
        raise InputError(
            tr(
                "{folder}: holds no bundle (*.zip); name the folder that holds those of the plants.",
                folder=folder,
            )
        )
    return sorted(found, key=lambda source: source.name)


def _refuse(error: OSError) -> None:
    raise error


def _shown(path: PurePath) -> str:
    return visible(path.as_posix())


class _Reading:
    """The bundles on their way into the database."""

    def __init__(
        self, database: DuckDB, sources: Sequence[_Source], progress: Progress, questions: int
    ) -> None:
        self._database = database
        self._sources = sources
        self._progress = progress
        self._done = 0
        size_bytes = sum(source.size_bytes for source in sources)
        # To ask takes about as long as to read.
        self._step = size_bytes // (questions + 1)
        self._total = size_bytes + self._step * (questions + 1)

    def step(self) -> None:
        """Tell that a step after the reading is done."""
        self._done += self._step
        self._progress(self._done, self._total)

    def read(self, *, check_hashes: bool) -> tuple[LeftOut, ...]:
        """Take all bundles in that can be."""
        faults: dict[int, str] = {}
        digests: dict[int, str] = {}
        for number, source in enumerate(self._sources):
            try:
                digests[number] = self._take(number, source.path, check_hashes=check_hashes)
            except BundleError as error:
                faults[number] = str(error)
            self._done += source.size_bytes
            self._progress(self._done, self._total)
        self._database.flush()
        suspects = self._database.suspects | self._database.unread
        for number in sorted(suspects - set(faults)):
            source = self._sources[number]
            fault = _fault_of(source.path)
            if fault or number in self._database.unread:
                faults[number] = fault or f"{source.path.name}: {tr(_UNREAD)}."
        if len(faults) == len(self._sources):
            first = next(iter(faults.values()))
            raise InputError(
                tr(
                    "None of the {faults} bundles can be read; the first: {first}",
                    faults=len(faults),
                    first=first,
                )
            )
        self._database.forget(faults)
        self._database.put(
            "bundles",
            {"bundle": int, "plant": str, "name": str, "digest": str},
            (
                (number, source.plant or NOT_SAID, source.name, digests[number])
                for number, source in enumerate(self._sources)
                if number not in faults
            ),
        )
        return tuple(
            LeftOut(path=self._sources[number].name, why=why) for number, why in sorted(faults.items())
        )

    def _take(self, number: int, path: Path, *, check_hashes: bool) -> str:
        with PlainTables(path, check_hashes=check_hashes) as bundle:
            for table in bundle.tables():
                rows, count = with_cells_around(table, (number, bundle.format))
                self._database.add(number, table.kind, table.columns, rows, count)
            return bundle.digest


def _fault_of(path: Path) -> str:
    """Let the reader of bundles, which looks at every cell, say what is wrong; empty when nothing is."""
    try:
        open_bundle(path).close()
    except BundleError as error:
        return str(error)
    return ""


def _cautions(engine: Engine) -> Iterator[str]:
    found = ask(engine, questions()[SAFETY], {}).rows
    if found:
        first = found[0]
        others = tr(" and {found} more", found=len(found) - 1) if len(found) > 1 else ""
        yield (
            tr(
                "Nobody has recorded who was told of a safety-class concern: {first} of "
                "{first2}{others} (question '{safety}'); follow the rules of site and customer.",
                first=first["concern"],
                first2=first["plant"],
                others=others,
                safety=SAFETY,
            )
        )


def _with_limits(found: Found) -> Answered:
    question = found.question
    if question.name == "effect_checks":
        return _with_verdicts(found)
    if question.limits is None:
        return Answered(question=question, columns=question.columns, rows=found.rows, note="")
    count, of, scale = question.limits.count, question.limits.of, question.limits.scale
    front = [("ppm", tr("{count} of a million {of}", count=count, of=of))] if scale > 1 else []
    low, high = ("ppm_low95", "ppm_high95") if scale > 1 else ("low95", "high95")
    added = (
        *front,
        (f"{low}, {high}", tr("exact 95 % interval of {count} of {of}", count=count, of=of)),
    )
    rows = []
    for row in found.rows:
        k, n = row[count], row[of]
        can_be = bool(n) and k is not None and k <= n
        interval = proportion_interval(k, n) if can_be else None
        # Where a quantity is not known, there are at least so many: no upper end can be given.
        is_least = bool(row.get("without_quantity"))
        more: dict[str, Any] = {"ppm": scale * k / n if can_be else None} if scale > 1 else {}
        more[low] = scale * interval.low if interval else None
        more[high] = scale * interval.high if interval and not is_least else None
        rows.append({**row, **more})
    return Answered(
        question=question,
        columns=(*question.columns, *added),
        rows=tuple(rows),
        note=tr(
            "{low} and {high} are the ends of the exact two-sided 95 % interval (Clopper-Pearson).",
            low=low,
            high=high,
        ),
    )


def _with_verdicts(found: Found) -> Answered:
    rows = []
    for row in found.rows:
        answer = judge_effect(
            PartsJudged(checked=row["before_checked"], nok=row["before_nok"]),
            PartsJudged(checked=row["after_checked"], nok=row["after_nok"]),
            None if row["at_most"] is None else float(row["at_most"]),
        )
        rows.append({**row, "verdict": answer.verdict, "says": answer.sentence})
    return Answered(
        question=found.question,
        columns=(
            *found.question.columns,
            # no text: names of columns
            ("verdict, says", tr("whether it worked, in a word and in a sentence")),
        ),
        rows=tuple(rows),
        note=tr("The verdict is that of Fisher's exact test, one-sided, and of the criterion at 95 %."),
    )
