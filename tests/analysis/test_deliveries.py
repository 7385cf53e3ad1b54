"""Tables of deliveries: what is understood, and that what could be read in two ways is refused."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.deliveries import MOST_MISTAKES, MOST_PARTS, parse_deliveries, read_month
from walkapp.errors import DeliveriesError

TODAY = date(2026, 3, 15)
DAYS = st.dates(date(1970, 1, 1), TODAY)


def read(text):
    return parse_deliveries(text, "d.csv", TODAY)


def rows(text):
    return [(r.month.isoformat()[:7], r.part_number, r.delivered, r.nok) for r in read(text).rows]


def mistakes(text):
    with pytest.raises(DeliveriesError) as caught:
        read(text)
    return str(caught.value).splitlines()


def cell(**said):
    """Read a table of one row in which one cell is as given; tell its mistakes, none when it is taken."""
    full = {"month": "2026-02", "part_number": "", "delivered": "10", "nok": "", **said}
    text = "\n".join("\t".join(line) for line in (full.keys(), full.values()))
    try:
        read(text)
    except DeliveriesError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_separators_line_ends_and_a_byte_order_mark_make_no_difference(separator, end, mark):
    lines = ["month", "part_number", "delivered", "nok"], ["2026-02", '"WFR 100"', "50000", "35"]
    text = mark + end.join(separator.join(line) for line in lines) + end

    assert rows(text) == [("2026-02", "WFR 100", 50000, 35)]


def test_columns_stand_in_any_order_with_any_capitals_and_others_are_named():
    table = read(" Delivered ;Remark;MONTH;Part Number;Plant\n7;=1+1;2026-01;A-1;x\n")

    assert [(r.delivered, r.part_number, r.nok) for r in table.rows] == [(7, "A-1", None)]
    assert table.unread == ("Remark", "Plant")


@pytest.mark.parametrize(
    ("typed", "month"),
    [
        ("2026-02", "2026-02"),
        ("2026-2", "2026-02"),
        ("2026/02", "2026-02"),
        ("2026-02-28", "2026-02"),
        ("2026-02-01 00:00:00", "2026-02"),
        ("2026-02-01T00:00", "2026-02"),
        ("02/2026", "2026-02"),
        ("2.2026", "2026-02"),
        (" 02-2026 ", "2026-02"),
    ],
)
def test_months_are_understood_where_they_can_be_read_in_one_way(typed, month):
    assert rows(f"month,delivered\n{typed},1\n")[0][0] == month


@pytest.mark.parametrize("typed", ["03/04/2026", "31.03.2026", "1-2-26"])
def test_days_that_can_be_read_as_two_dates_are_refused(typed):
    assert "can be read as two dates; write the month as 2026-03" in cell(month=typed)


@pytest.mark.parametrize(
    "typed", ["Feb 26", "202602", "46054", "2026", "2026-13", "2026-02-30", "0/2026", "x"]
)
def test_what_is_no_month_is_refused(typed):
    assert "is no month; write it as 2026-03" in cell(month=typed)


def test_months_to_come_and_of_long_ago_are_refused():
    assert "'2026-04' is still to come" in cell(month="2026-04")
    assert "'1969-12' is before 1970" in cell(month="1969-12")
    assert cell(month="2026-03") == cell(month="1970-01") == ""


@pytest.mark.parametrize(
    "typed", ["1.234", "50,000", "50.000", "50 000", "50\u00a0000", "50\u202f000", "5'000", "50000.0", "1,"]
)
@pytest.mark.parametrize("column", ["delivered", "nok"])
def test_numbers_that_can_be_read_in_two_ways_are_refused(column, typed):
    assert f"{column}: {typed!r} can be read in two ways" in cell(**{column: typed})


@pytest.mark.parametrize("typed", ["=SUM(A1:A3)", "+5", "@x", "-=1"])
def test_a_formula_is_plain_text_and_no_number(typed):
    assert "is a formula or a sign, not a number" in cell(delivered=typed)


@pytest.mark.parametrize("typed", ["five", "5e4", "٥٠", "0x10", "1_000", "5 pcs"])
def test_what_is_no_whole_number_is_refused(typed):
    assert "is not a whole number; give a count such as 50000" in cell(delivered=typed)


def test_negative_and_huge_numbers_are_refused():
    assert "'-5' is negative" in cell(delivered="-5")
    assert "'−5' is negative" in cell(nok="−5")
    assert "more than a thousand million parts" in cell(delivered=str(MOST_PARTS + 1))
    assert "more than a thousand million parts" in cell(delivered="9" * 5_000)
    assert cell(delivered=str(MOST_PARTS)) == cell(delivered="0" * 5_000 + "7") == ""


def test_missing_cells_are_refused_but_for_nok_and_part_number():
    assert "the month is missing" in cell(month="")
    assert "write 0 where nothing was delivered" in cell(delivered="")
    assert cell(nok="", part_number="") == ""


def test_part_numbers_have_bounds():
    assert "more than 60 characters" in cell(part_number="x" * 61)
    assert "cannot be shown" in cell(part_number="A\u202e1")


def test_all_mistakes_are_told_at_once_with_their_lines():
    text = "month;delivered\n2026-01;-5\n\n2026-02;7\n03/04/2026;x\n2026-02;8\n2026-02\n"

    assert mistakes(text) == [
        "d.csv, line 2: delivered: '-5' is negative; give a count of 0 or more.",
        "d.csv, line 5: '03/04/2026' can be read as two dates; write the month as 2026-03.",
        "d.csv, line 5: delivered: 'x' is not a whole number; give a count such as 50000.",
        "d.csv, line 6: the month 2026-02 stands in line 4 already; add the two rows up, or take one out.",
        "d.csv, line 7: it has 1 cell, the header has 2; give each row one cell for each column.",
    ]


def test_the_line_of_a_mistake_counts_line_ends_inside_cells():
    text = 'month;delivered;remark\n2026-01;5;"two\nlines"\n2026-02;x;\n'

    assert mistakes(text)[0].startswith("d.csv, line 4: ")


def test_one_month_may_stand_there_once_for_each_part_number():
    text = "month,part_number,delivered\n2026-01,A-1,5\n2026-01,B-2,6\n2026-01,,20\n"
    assert len(rows(text)) == 3

    (said,) = mistakes(text + "2026-01, a-1 ,7\n")
    assert "the month 2026-01 of part number 'a-1' stands in line 2 already" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ": it is empty; give it the columns month and delivered."),
        ("\n , \n", ": it is empty; give it the columns month and delivered."),
        ("month,delivered\n", ": it has a header but no month; add one row for each month."),
        ("month\n", ", line 1: the column delivered is missing; the first row must name "),
        ("month,month,delivered\n", ", line 1: the column month is there twice; take one of the two out."),
        (
            'month,delivered\n"2026-01,5\n',
            ", line 2: a quotation mark is opened and never closed; close it",
        ),
        (
            "month,delivered\n2026-01,\x005\n",
            ", line 2: it holds a NUL character, so this is not a CSV text",
        ),
        (
            f"month,delivered\n2026-01,{'5' * 10_001}\n",
            ", line 2: a cell is far too long; look for a missing",
        ),
    ],
)
def test_what_is_no_table_is_refused_in_one_sentence(text, said):
    (told,) = mistakes(text)
    assert told.startswith(f"d.csv{said}")


def test_a_table_of_mistakes_ends_after_some():
    said = mistakes("month,delivered\n" + "x,y\n" * 4_000)

    assert len(said) <= MOST_MISTAKES + 3
    assert "there may be more mistakes behind this line" in said[-1]


def test_a_table_of_too_many_rows_is_refused():
    text = "month,part_number,delivered\n" + "".join(f"2026-01,{n},1\n" for n in range(5_002))

    assert "more than 5,000 rows" in mistakes(text)[-1]


@given(st.text(max_size=200))
def test_any_text_is_a_table_or_refused(text):
    try:
        table = read(text)
    except DeliveriesError as error:
        assert all(line.startswith("d.csv") for line in str(error).splitlines())
    else:
        assert table.rows


@given(
    st.lists(
        st.tuples(DAYS, st.integers(0, MOST_PARTS), st.none() | st.integers(0, 99)),
        min_size=1,
        max_size=20,
        unique_by=lambda row: (row[0].year, row[0].month),
    )
)  # fmt: skip
def test_what_was_written_is_read_back(said):
    text = "month,delivered,nok\n" + "".join(
        f"{day:%Y-%m},{delivered},{'' if nok is None else nok}\n" for day, delivered, nok in said
    )

    assert rows(text) == [(f"{day:%Y-%m}", "", delivered, nok) for day, delivered, nok in said]


@given(st.text(max_size=12))
def test_any_text_is_a_first_of_a_month_or_none(text):
    month = read_month(text)
    assert month is None or month.day == 1
