"""The texts of the questions: what they say of themselves, and what they are asked with."""

from __future__ import annotations

import re
import tempfile
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.languages.catalogues import CODES
from tests.strategies import records_of_kind
from walkapp.actions.rollup import Answered, RolledUp
from walkapp.actions.rollup_telling import question_lines, rollup_lines
from walkapp.bundle.cells import neutralise
from walkapp.bundle.csv_text import write_csv
from walkapp.bundle.layout import FORMAT
from walkapp.bundle.places import Place
from walkapp.bundle.tables import read_records
from walkapp.errors import BundleError
from walkapp.language import ENGLISH, use
from walkapp.languages import load
from walkapp.model.records import columns_of_kind
from walkapp.rollup import DuckDB, kinds_for, prepare, questions, settle
from walkapp.rollup.questions import PARAMETERS, SHARED
from walkapp.rollup.shapes import suspicion
from walkapp.rollup.tables import ANSWER_COLUMNS, READ

VALUES = {"on": date(2026, 4, 15), "within": 30}
NOT_PORTABLE = re.compile(
    r"//|%|\"|`|::|\\|QUALIFY|\bVARCHAR\b|regexp|datediff|date_diff|GROUP BY ALL|\bunnest\b|\bexplode\b",
    re.I,
)


def bodies():
    """Every SQL text that is shipped, without comments."""
    folder = resources.files("walkapp.rollup") / "sql"
    for part in ("questions", "shared"):
        for file in (folder / part).iterdir():
            lines = file.read_text(encoding="utf-8").splitlines()
            yield file.name, "\n".join(line for line in lines if not line.startswith("--"))


def test_the_texts_keep_to_what_both_engines_read_alike():
    assert {name: found[0] for name, text in bodies() if (found := NOT_PORTABLE.search(text))} == {}


@pytest.fixture(scope="module")
def database():
    """A database with nothing in it."""
    with tempfile.TemporaryDirectory() as room, DuckDB(Path(room)) as made:
        made.put("bundles", {"bundle": int, "plant": str, "name": str, "digest": str}, [])
        settle(made)
        prepare(made, questions().values())
        yield made


@pytest.mark.parametrize("name", questions())
def test_a_question_says_what_it_answers_and_names_its_columns_as_they_are(database, name):
    question = questions()[name]

    described = database.rows(f"DESCRIBE {question.text(VALUES)}")

    assert [row[0] for row in described] == list(question.column_names)
    assert question.what.endswith(".")
    assert question.mind.endswith(".")
    assert all(what for _, what in question.columns)
    assert "\nORDER BY " in question.sql
    text = "\n".join(line for line in question.sql.splitlines() if not line.startswith("--"))
    assert set(question.parameters) == set(re.findall(r":([a-z]+)\b", text))


def test_what_a_question_is_asked_with_is_a_day_or_a_number_and_never_a_text():
    question = questions()["open_actions"]

    for wrong in ("2026-04-15", "x' OR 1=1 --", None, 5, True):
        with pytest.raises(TypeError):
            question.text({"on": wrong})
    assert "DATE '2026-04-15'" in question.text(VALUES)
    assert set(PARAMETERS) == {"on", "within"}


def test_only_the_tables_that_a_question_needs_are_asked_for():
    assert kinds_for([questions()["counts"]]) == ("concern", "answer", "count")
    assert set(kinds_for(questions().values())) == {*READ, "first_bad_station"}
    assert {f"{name}.sql" for name in (*questions(), *SHARED)} == {name for name, _ in bodies()}


def test_the_columns_of_the_computed_answer_are_those_of_a_bundle():
    from walkapp.bundle.rows import row_columns

    assert tuple(column.name for column in row_columns()) == ANSWER_COLUMNS


@cache
def _base():
    return duckdb.connect()


AWKWARD = st.sampled_from(
    ("", "'", "x", "-1", "+1", " 1", "1 ", "1e3", "0", "1.5", "٣", "99999999999999999", "true", "ok",
     "2026-02-30", "2026-02-28", "0000-01-01", "2026-1-1", "2026-03-02T06:10:00", "2026-03-02T06:10:00Z",
     "2026-03-02T24:00:00Z", "2026-03-02T06:10:00+24:00", "2026-03-02T06:60:00Z", "a" * 64, "a" * 5000,
     "A-b", "019c936e-3801-7000-8000-000000000001", "019c936e-3801-4000-8000-000000000001", "a\r\nb",
     "019c936e-3801-7000-8000-000000000001 019c936e-3801-7000-8000-000000000002", "0.5", "1", "-0.1",
     "2026-03-15", "not_ok", "not_applicable")
)  # fmt: skip


@settings(max_examples=100)
@given(st.data())
def test_whatever_a_record_may_not_hold_raises_a_suspicion(data):
    kind = data.draw(st.sampled_from(READ))
    columns = columns_of_kind(kind)
    record = data.draw(records_of_kind(kind))
    cells = {name: column.to_cell(getattr(record, name)) for name, column in columns.items()}
    cells = {name: neutralise(cell) if columns[name].is_free_text else cell for name, cell in cells.items()}
    for name in data.draw(st.lists(st.sampled_from(tuple(columns)), min_size=1, max_size=3)):
        cells[name] = data.draw(AWKWARD)
    table = write_csv([list(cells), list(cells.values())])

    try:
        list(read_records(table, Place(bundle="b", member=f"{kind}.csv"), FORMAT))
    except BundleError:
        names = ", ".join(f"? AS cell_{name}" for name in cells)
        text = suspicion(kind, [f"cell_{name}" for name in cells], whole=True)
        found = _base().execute(f"SELECT {text} FROM (SELECT {names})", list(cells.values())).fetchone()
        assert found == (True,)


@pytest.mark.parametrize("code", CODES)
def test_what_a_question_answers_and_what_its_columns_mean_is_said_in_the_language(code):
    found = questions().values()
    english = {said for one in found for said in (one.what, one.mind, *(what for _, what in one.columns))}

    try:
        use(load(code))
        told = list(question_lines(found))
    finally:
        use(ENGLISH)

    assert not {line.strip().partition(": ")[2] for line in told} & english - {"", "answers"}
    # Names are those of the tables, whichever language is spoken.
    names = {f"    {name}: " for one in found for name, _ in one.columns}
    assert {name for name in names if any(line.startswith(name) for line in told)} == names


def test_a_number_of_an_answer_has_the_decimal_sign_of_the_language():
    question = questions()["counts"]
    row = dict.fromkeys(question.column_names, "") | {"checked": 40, "nok": 3, "share": 0.075}
    found = RolledUp(
        folder=Path(), bundles=1, plants=("Invented",), rows=1, hashes_checked=True, cautions=(),
        left_out=(), values={},
        answers=(Answered(question=question, columns=question.columns, rows=(row,), note=""),),
    )  # fmt: skip

    try:
        use(load("de"))
        told = "\n".join(rollup_lines(found))
    finally:
        use(ENGLISH)

    assert "0,075" in told and "0.075" not in told
