"""Deliveries typed in, corrected, taken back and read from tables. The clock says 2 March 2026."""

from __future__ import annotations

import os
from datetime import date

import pytest

from tests.deliverers import BOOK, STREAM, Deliverer, table
from tests.fakes import Desk
from walkapp.actions.days import today
from walkapp.actions.deliveries import (
    newest_together,
    record_deliveries,
    standing_deliveries,
    take_back_together,
    take_out_deliveries,
)
from walkapp.actions.deliveries_tables import (
    MOST_FILES,
    load_deliveries,
    plan_import,
    plan_lines,
    tables_in,
)
from walkapp.errors import DeliveriesError, InputError
from walkapp.model.records import Deliveries, Withdrawal

FEBRUARY = date(2026, 2, 1)


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


@pytest.fixture
def deliverer(desk):
    return Deliverer(desk)


def plan(deliverer, path):
    return plan_import(deliverer.facts, path, today(deliverer.desk.place))


def numbers(deliverer):
    """What holds: month, part number, delivered and the customer's count."""
    kept = deliverer.facts.kept(Deliveries)
    return sorted((r.month[:7], r.part_number, r.delivered, r.customer_nok) for r in kept)


# Typing in


def test_a_month_is_recorded_in_the_desk_book_of_its_stream(desk, deliverer):
    record = deliverer.month("2026-02", 50_000, nok=3, part="  WFR   100 ")

    assert desk.records == [record]
    assert (record.concern, record.stream, record.walk) == (BOOK, STREAM, "")
    assert (record.month, record.part_number, record.source) == ("2026-02-01", "WFR 100", "")


def test_a_month_that_is_recorded_already_is_not_recorded_once_more(desk, deliverer):
    deliverer.month("2026-02", 50_000)

    with pytest.raises(InputError, match=r"2026-02 is recorded already \(50,000 delivered\); correct that"):
        deliverer.month("2026-02", 51_000)

    assert len(desk.records) == 1


@pytest.mark.parametrize("month", ["2026-04", "1969-12"])
def test_a_month_to_come_or_of_long_ago_is_refused(deliverer, month):
    with pytest.raises(InputError, match="Month: "):
        deliverer.month(month, 50_000)


def test_numbers_that_no_month_has_are_refused(desk, deliverer):
    with pytest.raises(InputError, match="Parts delivered: 1,000,000,001 must be from 0"):
        deliverer.month("2026-02", 1_000_000_001)
    with pytest.raises(InputError, match="NOK parts: 1,000,000,001 must be from 0"):
        deliverer.month("2026-02", 5, nok=1_000_000_001)

    assert desk.records == []


def correct(deliverer, entry, **said):
    said = {"month": FEBRUARY, "delivered": 51_000, "why": "typed wrong"} | said
    return record_deliveries(deliverer.desk.place, deliverer.facts, entry=entry.id, **said)


def test_a_correction_replaces_what_it_corrects_and_says_why(deliverer):
    earlier = deliverer.month("2026-02", 50_000)

    record = correct(deliverer, earlier)

    assert (record.replaces, record.why, record.delivered) == ((earlier.id,), "typed wrong", 51_000)
    assert standing_deliveries(deliverer.facts, FEBRUARY) == (record,)


def test_a_correction_may_move_the_month_but_not_onto_another_one(deliverer):
    earlier = deliverer.month("2026-02", 50_000)
    deliverer.month("2025-12", 40_000)

    with pytest.raises(InputError, match="2025-12 is recorded already"):
        correct(deliverer, earlier, month=date(2025, 12, 1))
    correct(deliverer, earlier, month=date(2026, 1, 1), delivered=50_000)

    assert [row[0] for row in numbers(deliverer)] == ["2025-12", "2026-01"]


def test_a_correction_needs_a_change_and_a_reason(desk, deliverer):
    earlier = deliverer.month("2026-02", 50_000)

    with pytest.raises(InputError, match="Nothing was changed"):
        correct(deliverer, earlier, delivered=50_000)
    with pytest.raises(InputError, match="Say why it is corrected"):
        correct(deliverer, earlier, why="  ")
    with pytest.raises(InputError, match="holds no longer"):
        correct(deliverer, desk.place.add(Deliveries, concern=desk.concern(), stream=STREAM,
                                          month="2026-02-01", delivered=1))  # fmt: skip

    assert numbers(deliverer) == [("2026-02", "", 50_000, None)]


def test_correcting_a_month_that_two_tablets_recorded_settles_it(deliverer):
    first, second = deliverer.once_more("2026-02", 50_000), deliverer.once_more("2026-02", 51_000)

    record = correct(deliverer, first, delivered=51_000)

    assert record.replaces == (first.id, second.id)
    assert deliverer.ppm().at_odds == ()


def test_taking_one_of_two_back_leaves_the_other(deliverer):
    first, second = deliverer.once_more("2026-02", 50_000), deliverer.once_more("2026-02", 51_000)

    take_out_deliveries(deliverer.desk.place, deliverer.facts, second.id, "recorded twice")

    assert standing_deliveries(deliverer.facts, FEBRUARY) == (first,)
    with pytest.raises(InputError, match="holds no longer"):
        take_out_deliveries(deliverer.desk.place, deliverer.facts, second.id, "recorded twice")
    with pytest.raises(InputError, match="Say why"):
        take_out_deliveries(deliverer.desk.place, deliverer.facts, first.id, " ")


# Reading a table


def test_a_table_is_looked_at_first_and_changes_nothing(desk, deliverer, tmp_path):
    deliverer.month("2026-01", 40_000)
    deliverer.month("2026-02", 50_000)
    path = table(tmp_path / "in", "month,delivered", "2025-12,1", "2026-01,41000", "2026-02,50000")
    before = desk.records

    found = plan(deliverer, path)

    assert found.counted == "adds 1, corrects 1, leaves 1 as it is"
    assert list(plan_lines(found)) == [
        "2026-01: 41,000 delivered instead of 40,000 delivered",
        "2025-12: 1 delivered, new",
    ]
    assert desk.records == before


def test_a_table_is_recorded_with_its_name_and_corrections_say_that_it_was_read_again(deliverer, tmp_path):
    earlier = deliverer.month("2026-01", 40_000)
    path = table(tmp_path / "in", "month;delivered;nok", "2025-12;1;", "2026-01;41000;3")

    corrected, added = deliverer.read(path)

    assert (corrected.replaces, corrected.why) == ((earlier.id,), "read again from deliveries.csv")
    assert (added.replaces, added.why, added.source) == ((), "", "deliveries.csv")
    assert numbers(deliverer) == [("2025-12", "", 1, None), ("2026-01", "", 41_000, 3)]


def test_the_same_table_again_adds_nothing(desk, deliverer, tmp_path):
    path = table(tmp_path / "in", "month,delivered,nok", "2026-01,41000,3", "2026-02,50000,")
    deliverer.read(path)
    before = desk.records

    assert deliverer.read(path) == ()
    assert deliverer.read(path.rename(path.with_name("other name.csv"))) == ()

    assert desk.records == before


def test_what_a_table_does_not_say_of_nok_parts_stays(deliverer, tmp_path):
    deliverer.month("2026-01", 40_000, nok=3)
    deliverer.month("2026-02", 50_000, nok=4)

    deliverer.read(table(tmp_path / "in", "month,delivered,nok", "2026-01,41000,", "2026-02,50000,"))

    assert numbers(deliverer) == [("2026-01", "", 41_000, 3), ("2026-02", "", 50_000, 4)]


def test_a_table_settles_a_month_that_two_tablets_recorded(deliverer, tmp_path):
    first, second = deliverer.once_more("2026-02", 50_000), deliverer.once_more("2026-02", 51_000)

    (record,) = deliverer.read(table(tmp_path / "in", "month,delivered", "2026-02,51000"))

    assert record.replaces == (second.id, first.id)
    assert deliverer.ppm().at_odds == ()


def test_a_table_with_one_mistake_is_not_recorded_at_all(desk, deliverer, tmp_path):
    path = table(tmp_path / "in", "month,delivered", "2026-01,41000", "2026-02,50.000")

    with pytest.raises(DeliveriesError, match="line 3"):
        deliverer.read(path)

    assert desk.records == []


def test_part_numbers_keep_their_spelling_when_a_table_spells_them_otherwise(deliverer, tmp_path):
    deliverer.month("2026-02", 40_000, part="WFR 100")

    deliverer.read(table(tmp_path / "in", "month,part_number,delivered", "2026-02,wfr 100,41000"))

    assert numbers(deliverer) == [("2026-02", "WFR 100", 41_000, None)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_tables_of_spreadsheets_are_read_in_their_encodings(deliverer, tmp_path, encoding):
    path = tmp_path / "t.csv"
    path.write_bytes("month\tdelivered\tpart_number\r\n2026-02\t5\tÄ-1\r\n".encode(encoding))

    deliverer.read(path)

    assert numbers(deliverer) == [("2026-02", "Ä-1", 5, None)]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"month,delivered\n2026-02,5\n\xff", "is not UTF-8 text"),
        (b"x" * 1_000_001, "has more than 1000000 bytes"),
        (b"\xff\xfe\x00", "is not UTF-8 text"),
    ],
)
def test_what_is_no_text_or_too_large_is_refused(deliverer, tmp_path, data, said):
    path = tmp_path / "t.csv"
    path.write_bytes(data)

    with pytest.raises(InputError, match=said):
        plan(deliverer, path)


def test_a_file_name_of_any_letters_is_kept_in_a_form_that_a_record_holds(deliverer, tmp_path):
    name = "a\u202eb\nc" + "x" * 130 + ".csv"

    (record,) = deliverer.read(table(tmp_path / "in", "month,delivered", "2026-02,5", name=name))

    assert record.source == f"{'x' * 116}.csv"
    (record,) = deliverer.read(table(tmp_path / "in", "month,delivered", "2026-02,6", name="a\u202eb.csv"))
    assert (record.source, record.why) == ("a?b.csv", "read again from a?b.csv")


# Taking back


def test_undo_takes_back_a_whole_table_in_one_go(desk, deliverer, tmp_path):
    deliverer.month("2025-11", 7)
    deliverer.month("2026-01", 40_000)
    before = numbers(deliverer)
    deliverer.read(table(tmp_path / "in", "month,delivered", "2025-12,1", "2026-01,41000", "2026-02,2"))

    taken = take_back_together(desk.place, BOOK)

    assert len(taken) == 3
    assert numbers(deliverer) == before
    take_back_together(desk.place, BOOK)
    assert numbers(deliverer) == [("2025-11", "", 7, None)]


def test_two_readings_are_taken_back_one_after_the_other(desk, deliverer, tmp_path):
    lines = ["month,delivered", "2025-12,1", "2026-01,2"]
    deliverer.read(table(tmp_path / "in", *lines))
    once = numbers(deliverer)
    deliverer.read(table(tmp_path / "in", *lines[:1], "2025-12,5", "2026-01,2", "2026-02,3"))

    take_back_together(desk.place, BOOK)

    assert numbers(deliverer) == once
    take_back_together(desk.place, BOOK)
    assert numbers(deliverer) == []
    with pytest.raises(InputError, match="nothing on this page"):
        take_back_together(desk.place, BOOK)


def test_what_was_typed_after_a_table_is_taken_back_alone(desk, deliverer, tmp_path):
    deliverer.read(table(tmp_path / "in", "month,delivered", "2025-12,1", "2026-01,2"))
    typed = deliverer.month("2026-02", 3)

    assert newest_together(desk.place, BOOK) == [typed]
    take_back_together(desk.place, BOOK)
    assert len(newest_together(desk.place, BOOK)) == 2


def test_taking_back_can_be_taken_back(desk, deliverer):
    record = deliverer.month("2026-02", 3)
    take_out_deliveries(desk.place, deliverer.facts, record.id, "typed wrong")

    take_back_together(desk.place, BOOK)

    assert numbers(deliverer) == [("2026-02", "", 3, None)]


def test_a_plan_of_nothing_writes_nothing(desk, deliverer, tmp_path):
    deliverer.month("2026-02", 5)
    found = plan(deliverer, table(tmp_path / "in", "month,delivered", "2026-02,5"))

    assert not found.does_something
    assert load_deliveries(desk.place, deliverer.facts, found) == ()
    assert [r for r in desk.records if isinstance(r, Withdrawal)] == []


# Finding tables


def test_tables_are_found_newest_first_in_all_folders(tmp_path):
    for place, (folder, name) in enumerate([("a", "1.csv"), ("b", "2.TSV"), ("a", "3.txt")]):
        os.utime(table(tmp_path / folder, "x", name=name), (place, place))
    table(tmp_path / "a", "x", name="4.xlsx")
    table(tmp_path / "a", "x", name=".hidden.csv")
    table(tmp_path / "a", name="empty.csv")
    table(tmp_path / "a", "x" * 1_000_001, name="large.csv")
    (tmp_path / "a" / "folder.csv").mkdir()
    (tmp_path / "a" / "link.csv").symlink_to(tmp_path / "b" / "2.TSV")

    found = tables_in([tmp_path / "a", tmp_path / "b", tmp_path / "not there"])

    assert [one.path.name for one in found] == ["3.txt", "2.TSV", "1.csv"]


def test_of_many_tables_the_newest_are_offered(tmp_path):
    for place in range(MOST_FILES + 5):
        os.utime(table(tmp_path / "a", "x", name=f"{place}.csv"), (place, place))

    found = tables_in([tmp_path / "a"])

    assert len(found) == MOST_FILES
    assert found[0].path.name == f"{MOST_FILES + 4}.csv"
