"""Outside witnesses: the frictionless library (Data Package v2) and pandas read what we write."""

import io
import json
import zipfile

import pandas as pd
import pytest
from frictionless import Package, system
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.bundle.samples import sample_records, write_sample
from tests.strategies import carried_records, first_bad_rows, records, twin_of
from walkapp.bundle import write_bundle
from walkapp.bundle.cells import neutralise, neutralise_unless_number
from walkapp.model.records import KINDS, CarriedRecord, columns_of_kind, kind_of

SLOW_LIBRARY = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def scratch(tmp_path_factory):
    return tmp_path_factory.mktemp("standard")


def faults(path):
    return Package(str(path)).validate().flatten(["name", "type", "note"])


def test_frictionless_finds_nothing_wrong_with_a_bundle(tmp_path):
    write_sample(tmp_path / "walk.zip")

    assert faults(tmp_path / "walk.zip") == []


def test_frictionless_finds_nothing_wrong_with_an_empty_bundle(tmp_path):
    write_sample(tmp_path / "walk.zip", records=[], rows=[], photos={}, checklists={})

    assert faults(tmp_path / "walk.zip") == []


@SLOW_LIBRARY
@given(st.lists(records() | carried_records(), max_size=8), st.lists(first_bad_rows(), max_size=3))
def test_frictionless_finds_nothing_wrong_with_any_bundle(scratch, held, rows):
    write_bundle(scratch / "walk.zip", records=held, rows=rows, photos={}, checklists={})

    assert faults(scratch / "walk.zip") == []


def test_frictionless_checks_what_the_descriptor_promises(tmp_path):
    # The control of the tests above: a witness that never objects would prove nothing.
    write_sample(tmp_path / "walk.zip")
    folder = tmp_path / "unpacked"
    zipfile.ZipFile(tmp_path / "walk.zip").extractall(folder)
    answers = folder / "answer.csv"
    answers.write_bytes(answers.read_bytes().replace(b"not_ok", b"unsure"))

    with system.use_context(trusted=True):
        found = {row[0] for row in Package(str(folder / "datapackage.json")).validate().flatten(["type"])}

    assert found == {"constraint-error", "hash-count"}


def test_a_conflict_of_two_records_with_one_id_is_no_broken_key(tmp_path):
    held = sample_records()
    write_sample(tmp_path / "walk.zip", records=[*held, twin_of(held[2])])

    descriptor = json.loads(zipfile.ZipFile(tmp_path / "walk.zip").read("datapackage.json"))
    schemas = {r["name"]: r["schema"] for r in descriptor["resources"] if "schema" in r}

    assert "primaryKey" not in schemas["answer"]
    assert schemas["note"]["primaryKey"] == ["id"]
    assert faults(tmp_path / "walk.zip") == []


def test_a_bundle_of_some_days_claims_no_key_that_it_cannot_keep(tmp_path):
    held = [record for record in sample_records() if kind_of(record) not in ("concern", "walk_start")]
    write_sample(tmp_path / "walk.zip", records=held)

    assert b"foreignKeys" not in zipfile.ZipFile(tmp_path / "walk.zip").read("datapackage.json")
    assert faults(tmp_path / "walk.zip") == []


@SLOW_LIBRARY
@given(st.lists(records() | carried_records(), min_size=1, max_size=8))
def test_pandas_reads_every_cell_back(scratch, held):
    write_bundle(scratch / "walk.zip", records=held, rows=[], photos={}, checklists={})
    found = set()
    with zipfile.ZipFile(scratch / "walk.zip") as bundle:
        for name in bundle.namelist():
            if name.endswith(".csv") and name != "first_bad_station.csv":
                frame = pd.read_csv(
                    io.BytesIO(bundle.read(name)), dtype=str, keep_default_na=False, encoding="utf-8"
                )
                kind = name.removesuffix(".csv").split("-")[0]
                found |= {(kind, tuple(row.items())) for row in frame.to_dict("records")}

    assert {expected_row(record) for record in held} == found


def expected_row(record):
    columns = columns_of_kind(record.kind) if record.kind in KINDS else columns_of_kind("note")
    if isinstance(record, CarriedRecord):
        columns = {name: columns[name] for name in list(columns)[:9]}
    cells = []
    for name, column in columns.items():
        cell = column.to_cell(getattr(record, name))
        cells.append((name, neutralise(cell) if column.is_free_text else cell))
    if isinstance(record, CarriedRecord):
        cells += [(name, neutralise_unless_number(cell)) for name, cell in record.cells]
    return kind_of(record), tuple(cells)
