"""Text broken into lines and rows into pages: nothing is lost, nothing is wider or higher than its room.

No published values: the laws below follow from what the functions promise.
"""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from walkapp.paper.flow import (
    Block,
    Box,
    Row,
    Rule,
    Words,
    height_of,
    moved,
    paginate,
    placed,
    wrap,
    wrap_runs,
)

TEXTS = st.text(st.sampled_from("ab cdß-"), max_size=120)
HEIGHTS = st.floats(min_value=1, max_value=40)


def measure(text):
    """Let each letter have a width of its own."""
    return sum(1 + "ab cdß-".index(letter) / 10 for letter in text)


@given(TEXTS, st.floats(min_value=2, max_value=60))
def test_each_line_fits_and_no_letter_is_lost(text, width):
    lines = wrap(text, width, measure)

    assert all(0 < measure(line) <= width + 1e-9 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(TEXTS)
def test_a_text_with_room_enough_stays_one_line(text):
    assert wrap(text, 1000, measure) == ((" ".join(text.split()),) if text.split() else ())


@given(st.lists(st.lists(HEIGHTS, min_size=1, max_size=12), max_size=12), st.integers(0, 2))
def test_pages_hold_all_rows_in_order_and_none_is_higher_than_the_page(blocks, again):
    heading = tuple(Row(height=10, marks=(Words(x=0, y=0, text="again", size=9),)) for _ in range(again))
    numbered = [
        [Row(height=h, marks=(Words(x=0, y=0, text=f"{b}.{n}", size=9),)) for n, h in enumerate(heights)]
        for b, heights in enumerate(blocks)
    ]

    pages = paginate((Block(rows=tuple(rows), again=heading) for rows in numbered), 100)

    assert all(height_of(rows) <= 100 + 1e-9 for rows in pages)
    kept = [row for rows in pages for row in rows if row not in heading]
    assert kept == [row for rows in numbered for row in rows]
    assert all(tuple(rows[:again]) == heading for rows in pages[1:])


@given(st.lists(st.lists(HEIGHTS, min_size=1, max_size=4), min_size=1, max_size=8))
def test_a_block_that_one_page_can_hold_is_never_broken(blocks):
    numbered = [
        tuple(Row(height=h, marks=(Box(x=b, y=n, side=9),)) for n, h in enumerate(heights))
        for b, heights in enumerate(blocks)
    ]

    pages = paginate((Block(rows=rows) for rows in numbered), 160)

    for rows in numbered:
        assert sum(any(row is one for one in page for row in rows) for page in pages) == 1


def test_a_block_that_begins_with_its_heading_gets_none_on_a_new_page():
    heading, first = (Row(height=h, marks=(Box(x=0, y=0, side=9),)) for h in (10, 60))

    pages = paginate(
        [Block(rows=(first,)), Block(rows=(heading, first), again=(heading,), opens=True)], 100
    )

    assert pages == [[first], [heading, first]]


def test_a_heading_that_would_leave_no_room_is_left_out():
    tall = Row(height=95, marks=(Box(x=0, y=0, side=9),))

    pages = paginate([Block(rows=(tall, tall), again=(tall,))], 100)

    assert pages == [[tall], [tall]]


def test_empty_space_at_the_foot_of_a_page_drives_nothing_to_the_next_one():
    row, space = Row(height=50, marks=(Box(x=0, y=0, side=9),)), Row(height=7)

    pages = paginate([Block(rows=(row, space)), Block(rows=(row,))], 100)
    assert [len(page) for page in pages] == [2, 1]

    pages = paginate([Block(rows=(row,)), Block(rows=(row, space))], 100)
    assert pages == [[row, row]]


def test_rows_are_placed_one_below_the_other():
    rows = (
        Row(height=10, marks=(Rule(x=1, y=2, length=5),)),
        Row(height=5, marks=(Box(x=0, y=0, side=3),)),
    )

    assert placed(rows, left=100, top=200) == (Rule(x=101, y=202, length=5), Box(x=100, y=210, side=3))
    assert moved(Box(x=1, y=1, side=2), right=1) == Box(x=2, y=1, side=2)


@given(
    runs=st.lists(st.tuples(st.text("ab %<=p", max_size=30), st.booleans()), max_size=6),
    width=st.integers(1, 12),
    most=st.integers(0, 5),
)
def test_runs_of_both_cuts_lose_no_letter_and_stay_inside_their_width(runs, width, most):
    def measure(text, bold):
        return len(text)

    lines = wrap_runs(runs, width, measure)

    said = [(letter, bold) for text, bold in runs for letter in text if letter != " "]
    kept = [(letter, bold) for line in lines for text, bold in line for letter in text if letter != " "]
    assert kept == said
    assert all(len(" ".join(text for text, _ in line)) <= width for line in lines)
    first = wrap_runs(runs, width, measure, most)
    assert len(first) == (min(len(lines), most + 1) if most else len(lines))
    assert first[: most or None] == lines[: most or None]


def test_a_percent_stays_with_its_number_and_a_p_with_its_value():
    lines = wrap_runs([("at most 12 % (p = 0.014) were", False)], 14, lambda text, bold: len(text))

    assert [line[0][0] for line in lines] == ["at most 12 %", "(p = 0.014)", "were"]
    assert wrap("at most 12 %, p = 0.014", 10, len) == ("at most", "12 %,", "p = 0.014")
