"""Tables of counts: what is read, and what is said of each mistake."""

import csv
import io

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from walkapp.analysis.counts import parse_counts
from walkapp.errors import CountsError


def read(text, detection=0.9, false_alarm=0.005):
    return parse_counts(text, "counts.csv", detection=detection, false_alarm=false_alarm)


def rows(stations):
    return [(s.name, s.checked, s.nok) for s in stations]


def test_a_plain_table_gives_stations_in_its_order():
    stations = read("station,checked,nok\nMoulding,20,0\nDegating,0,0\nLeak test,20,9\n", 0.8, 0.01)

    assert rows(stations) == [("Moulding", 20, 0), ("Degating", 0, 0), ("Leak test", 20, 9)]
    assert [s.order for s in stations] == [1, 2, 3]
    assert stations[1].tallies == ()
    assert (stations[2].tallies[0].detection, stations[2].tallies[0].false_alarm) == (0.8, 0.01)
    assert (stations[1].next_detection, stations[1].next_false_alarm) == (0.8, 0.01)


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffstation,checked,nok\r\nMoulding,20,3\r\n",
        "station;checked;nok\nMoulding;20;3",
        " Station , CHECKED ,Nok\n Moulding ,\t20 , 3 \n",
        'nok,remark,checked,station\n3,"warm, still",20,Moulding\n',
        '"station","checked","nok"\r"Moulding","20","3"\r',
        "\n,,\nstation,checked,nok\n\n , , \nMoulding,020,3\n,,\n",
        'station,checked,nok\n"Moul\nding",20,3\n'.replace("Moul\nding", "Moulding"),
        "station;checked;nok;mean\nMoulding;20;3;1,5\n",
        "station,checked,nok,mean,mean\nMoulding,20,3,1,2\n",
    ],
)
def test_what_spreadsheets_do_to_a_table_does_no_harm(text):
    assert rows(read(text)) == [("Moulding", 20, 3)]


def test_blanks_and_line_breaks_inside_a_name_become_one_blank():
    assert rows(read('station,checked,nok\n"Hot-plate\n  welding",5,1\n')) == [("Hot-plate welding", 5, 1)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "counts.csv is empty; give it the columns station, checked and nok."),
        ("\n\n ,\n", "counts.csv is empty"),
        ("station,checked,nok\n", "counts.csv has a header but no station; add one row for each station."),
        ("station,checked\nA,1\n", "counts.csv, row 1: the column nok is missing"),
        ("A,1,0\nB,2,0\n", "counts.csv, row 1: the column station is missing"),
        ("\nstation,nok\nA,1\n", "counts.csv, row 2: the column checked is missing"),
        ("station,nok,checked,NOK\nA,1,2,3\n", "counts.csv, row 1: the column nok is there twice"),
        ("station,checked,nok\nA,1,0\nB,-2,0\n", "counts.csv, row 3, column checked: '-2' is negative"),
        ("station,checked,nok\nA,1,-0.5\n", "counts.csv, row 2, column nok: '-0.5' is negative"),
        ("station,checked,nok\nA,1,\u22121\n", "counts.csv, row 2, column nok: '\u22121' is negative"),
        ("station,checked,nok\nA,1,2\n", "counts.csv, row 2, column nok: 2 NOK of 1 checked cannot be"),
        (
            "station,checked,nok\nA,ten,2\n",
            "counts.csv, row 2, column checked: 'ten' is not a whole number",
        ),
        ("station,checked,nok\nA,20,2.5\n", "counts.csv, row 2, column nok: '2.5' is not a whole number"),
        ("station;checked;nok\nA;20;2,5\n", "counts.csv, row 2, column nok: '2,5' is not a whole number"),
        ("station,checked,nok\nA,2e1,0\n", "'2e1' is not a whole number"),
        ("station,checked,nok\nA,nan,0\n", "'nan' is not a whole number"),
        ("station,checked,nok\nA,٣,0\n", "is not a whole number"),
        (
            "station,checked,nok\nA,,0\n",
            "counts.csv, row 2, column checked: the number is missing; write 0",
        ),
        (
            "station,checked,nok\nA,1000001,0\n",
            "counts.csv, row 2, column checked: '1000001' is more than a mill",
        ),
        ("station,checked,nok\nA," + "9" * 9000 + ",0\n", "...' is more than a million parts"),
        ("station,checked,nok\nA,1,0\nB,1\n", "counts.csv, row 3: it has 2 cells, the header has 3"),
        ("station,checked,nok\nA,1,0,0\n", "counts.csv, row 2: it has 4 cells, the header has 3"),
        ("station,checked,nok\n  ,1,0\n", "counts.csv, row 2, column station: the name is missing"),
        (
            "station,checked,nok\nA,1,0\n\nB,1,0\n a ,1,0\n",
            "row 5, column station: 'a' stands in row 2 already",
        ),
        (
            'station,checked,nok\nA,1,0\n"B,1,0\n',
            "counts.csv, row 3: a quotation mark is opened and never closed",
        ),
        (
            'station,checked,nok\n"A" x,1,0\n',
            "counts.csv, row 2: there is text behind a closing quotation mark",
        ),
        ("station,checked,nok\nA,1,0\nB\0,1,0\n", "counts.csv, row 3: it holds a NUL character"),
        (
            "station,checked,nok\nA\x1b[31m,1,0\n",
            "counts.csv, row 2, column station: 'A\\x1b[31m' holds a char",
        ),
        ("station,checked,nok\n" + "A" * 200_000 + ",1,0\n", "counts.csv, row 2: a cell is far too long"),
        (
            "station,checked,nok\n" + "".join(f"S{i},1,0\n" for i in range(1001)),
            "counts.csv, row 1002: more than 1000 stations",
        ),
    ],
)
def test_each_mistake_is_said_in_one_sentence_with_its_place(text, words):
    with pytest.raises(CountsError) as caught:
        read(text)

    assert words in str(caught.value)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 250


FURTHER = "station,checked,nok,detection,false_alarm,minutes,sorts,weight\n"


def test_further_columns_say_more_of_a_station_and_may_be_empty():
    first, second = read(FURTHER + 'A,10,1,0.8,0.01,2.5,yes,3\nB,5,0,,"",,,\n', 0.9, 0.005)

    (tally,) = first.tallies
    assert (tally.detection, tally.false_alarm) == (0.8, 0.01)
    assert (first.next_detection, first.next_false_alarm) == (0.8, 0.01)
    assert (first.minutes, first.sorts, first.weight) == (2.5, True, 3.0)
    assert (second.next_detection, second.next_false_alarm) == (0.9, 0.005)
    assert (second.minutes, second.sorts, second.weight) == (1.0, False, 1.0)


def test_a_decimal_comma_is_read_where_semicolons_separate():
    (station,) = read("station;checked;nok;detection;minutes\nA;10;1;0,85;1,5\n")

    assert (station.next_detection, station.minutes) == (0.85, 1.5)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("A,10,1,1.2,,,,", "row 2, column detection: '1.2' must be a number from 0 to 1."),
        ("A,10,1,high,,,,", "row 2, column detection: 'high' must be a number from 0 to 1."),
        ("A,10,1,nan,,,,", "column detection: 'nan'"),
        ("A,10,1,1e-1,,,,", "column detection: '1e-1'"),
        ("A,10,1,,-0.1,,,", "column false_alarm: '-0.1' must be a number from 0 to 1."),
        ("A,10,1,0.2,0.2,,,", "row 2: the detection (0.2) must be above the false alarm (0.2)"),
        ("A,10,1,,,1441,,", "column minutes: '1441' must be a number from 0 to 1440."),
        ("A,10,1,,,,maybe,", "column sorts: 'maybe' must be yes or no."),
        ("A,10,1,,,,,1001", "column weight: '1001' must be a number from 0 to 1000."),
        ("A,10,1,,,,,0", "column weight: every station has 0"),
    ],
)
def test_a_mistake_in_a_further_column_is_said_with_row_and_column(row, words):
    with pytest.raises(CountsError) as caught:
        read(f"{FURTHER}{row}\n")

    assert words in str(caught.value)
    assert str(caught.value).endswith(".")


def test_a_further_column_that_is_there_twice_is_refused():
    with pytest.raises(CountsError, match="the column minutes is there twice"):
        read("station,checked,nok,minutes,minutes\nA,1,0,1,1\n")


def test_of_several_mistakes_the_first_is_said():
    with pytest.raises(CountsError, match="row 2, column checked: 'x'"):
        read("station,checked,nok\nA,x,y\nB,1\n")


@pytest.mark.parametrize("pair", [(0.5, 0.5), (1.1, 0.0), (0.9, -0.1), (float("nan"), 0.0)])
def test_impossible_rates_are_said_in_words(pair):
    with pytest.raises(CountsError, match="must be above the false alarm"):
        read("station,checked,nok\nA,1,0\n", *pair)


def test_a_million_parts_are_allowed():
    assert read("station,checked,nok\nA,1000000,1000000\n")[0].nok == 1_000_000


names = st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=12)
tables = st.lists(
    st.tuples(names, st.integers(0, 1_000_000), st.integers(0, 1_000_000)),
    min_size=1,
    max_size=8,
    unique_by=lambda row: row[0].casefold(),
)


@settings(max_examples=150)
@given(table=tables, separator=st.sampled_from(",;"), order=st.permutations(["station", "checked", "nok"]))
def test_what_the_csv_module_writes_is_read_back(table, separator, order):
    facts = [{"station": n, "checked": max(a, b), "nok": min(a, b)} for n, a, b in table]
    out = io.StringIO()
    writer = csv.DictWriter(out, order, delimiter=separator)
    writer.writeheader()
    writer.writerows(facts)

    stations = read(out.getvalue())

    assert rows(stations) == [(f["station"], f["checked"], f["nok"]) for f in facts]


@settings(max_examples=300)
@given(
    text=st.one_of(
        st.text(max_size=200),
        st.text(alphabet='station,checked;nok\n\r"0123456789-. \0\ufeff', max_size=200).map(
            lambda tail: "station,checked,nok\n" + tail
        ),
    )
)
@example('station,checked,nok\nA,1,0\n"')
def test_any_text_is_read_or_refused_in_words(text):
    try:
        stations = read(text)
    except CountsError as error:
        assert str(error).endswith(".")
    else:
        assert stations
        assert all(0 <= s.nok <= s.checked <= 1_000_000 and s.name for s in stations)
