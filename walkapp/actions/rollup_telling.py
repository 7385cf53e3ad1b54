"""Answers over the bundles of many plants: in words for a terminal, as JSON, as CSV, and in a file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from walkapp.actions.rollup import Answered, RolledUp
from walkapp.bundle.cells import neutralise
from walkapp.bundle.csv_text import write_csv
from walkapp.bundle.places import describe_refusal
from walkapp.errors import InputError
from walkapp.files import write_atomically
from walkapp.language import decimal_text, tr, trn, whole_text
from walkapp.rollup import Question
from walkapp.visible import in_short

_MOST_ROWS = 40
_WIDEST = 36


def rollup_lines(found: RolledUp) -> Iterator[str]:
    """Tell the answers in words and tables."""
    yield tr(
        "{bundles} of {plants}, {rows} records as they stand in the bundles; one that is in "
        "several of them "
        "counts once.",
        bundles=trn("{count} bundle", "{count} bundles", found.bundles),
        plants=trn("{count} plant", "{count} plants", len(found.plants)),
        rows=whole_text(found.rows),
    )
    if not found.hashes_checked:
        yield tr("The SHA-256 of the tables were not checked, as asked: damage may have gone unseen.")
    for caution in found.cautions:
        yield tr("Caution: {caution}", caution=caution)
    yield from left_out_lines(found)
    for one in found.answers:
        yield ""
        yield from _answer_lines(one, found)


def left_out_lines(found: RolledUp) -> Iterator[str]:
    """Name the bundles that do not count."""
    if found.left_out:
        yield trn(
            "Left out: {count} bundle. The figures are without what is in there.",
            "Left out: {count} bundles. The figures are without what is in there.",
            len(found.left_out),
        )
        for one in found.left_out:
            yield f"  {one.path}: {one.why}"


def _answer_lines(one: Answered, found: RolledUp) -> Iterator[str]:
    question = one.question
    with_what = ", ".join(f"{name} {found.values[name]}" for name in question.parameters)
    yield f"{question.name}: {tr(question.what)}{f' ({with_what})' if with_what else ''}"
    names = [name for names, _ in one.columns for name in names.split(", ")]
    if not one.rows:
        yield tr("  Nothing of that is recorded.")
    else:
        shown = one.rows[:_MOST_ROWS]
        cells = [[_cell_text(name, row[name]) for name in names] for row in shown]
        for line in _table([names, *cells], [_are_numbers(row[name] for row in shown) for name in names]):
            yield f"  {line}"
        if (more := len(one.rows) - _MOST_ROWS) > 0:
            yield tr("  and {more} more rows; --json or --csv gives all.", more=more)
    if one.note and one.rows:
        yield f"  {one.note}"
    if question.mind:
        yield tr("  Mind: {mind}", mind=tr(question.mind))


def _cell_text(name: str, value: Any) -> str:
    if value is None:
        return "-"
    if isinstance(value, bool):
        return tr("yes") if value else tr("no")
    if isinstance(value, float):
        return decimal_text(f"{value:.1f}" if "ppm" in name else f"{value:.4g}")
    return in_short(str(value).replace("\n", " "), _WIDEST)


def _are_numbers(values: Iterable[Any]) -> bool:
    return all(
        value is None or (isinstance(value, (int, float, Decimal)) and not isinstance(value, bool))
        for value in values
    )


def _table(rows: Sequence[Sequence[str]], to_the_right: Sequence[bool]) -> Iterator[str]:
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    for row in rows:
        yield "  ".join(
            cell.rjust(width) if right else cell.ljust(width)
            for cell, width, right in zip(row, widths, to_the_right, strict=True)
        ).rstrip()


def rollup_to_json(found: RolledUp) -> dict[str, Any]:
    """Turn the answers into JSON values; the names are always the same."""
    return {
        "bundles": found.bundles,
        "plants": list(found.plants),
        "rows": found.rows,
        "hashes_checked": found.hashes_checked,
        "cautions": list(found.cautions),
        "left_out": [{"path": one.path, "why": one.why} for one in found.left_out],
        "asked_with": {name: _plain(value) for name, value in found.values.items()},
        "answers": [
            {
                "question": one.question.name,
                "what": one.question.what,
                "columns": [{"name": names, "what": what} for names, what in one.columns],
                "mind": one.question.mind,
                "limits": one.note,
                "rows": [{name: _plain(value) for name, value in row.items()} for row in one.rows],
            }
            for one in found.answers
        ],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return float(value) if isinstance(value, Decimal) else value


def answer_to_csv(one: Answered) -> bytes:
    """Write one answer as CSV, texts made harmless for spreadsheets as in a bundle."""
    names = [name for names, _ in one.columns for name in names.split(", ")]
    return write_csv([names, *([_cell(row[name]) for name in names] for row in one.rows)])


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return neutralise(value) if isinstance(value, str) else str(_plain(value))


def question_lines(questions: Iterable[Question]) -> Iterator[str]:
    """List the questions and what they are asked with."""
    for question in questions:
        with_what = "".join(f" [--{name}]" for name in question.parameters)
        yield f"{question.name}{with_what}: {tr(question.what)}"
        for names, what in question.columns:
            yield f"    {names}: {tr(what)}"
        if question.mind:
            yield tr("    Mind: {mind}", mind=tr(question.mind))


def questions_to_json(questions: Iterable[Question]) -> list[dict[str, Any]]:
    """Turn the list of questions into JSON values, with the SQL of each."""
    return [
        {
            "question": question.name,
            "what": question.what,
            "columns": [{"name": names, "what": what} for names, what in question.columns],
            "asked_with": list(question.parameters),
            "mind": question.mind,
            "sql": question.sql,
        }
        for question in questions
    ]


def write_result(out: Path, data: bytes) -> None:
    """Write a result into a file, in one step.

    Raises
    ------
    InputError
        If something that is no text is there already, such as a bundle, or the file cannot be written.
    """
    try:
        if out.exists():
            with out.open("rb") as file:
                if out.suffix.lower() == ".zip" or b"\0" in file.read(4096):
                    raise InputError(
                        tr("{out}: is there already and is no text; choose another name.", out=out)
                    )
        write_atomically(out, data)
    except OSError as error:
        what, mend = describe_refusal(error)
        raise InputError(
            tr("{out}: cannot be written: {what}; {mend}.", out=out, what=what, mend=mend)
        ) from error
