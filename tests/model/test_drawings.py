"""What is drawn over a picture: what a record may hold, and how drawings look, move and change size."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.builders import make, record_id
from tests.strategies import drawings, shares
from walkapp.errors import RecordError
from walkapp.model.drawings import (
    LETTERS,
    MOST_POINTS,
    Drawing,
    Point,
    bounds,
    points_from_text,
    points_to_text,
)
from walkapp.model.records import Note, PictureMark, Withdrawal
from walkapp.model.standing import standing_of
from walkapp.model.strokes import (
    DARK_INK,
    LIGHT_INK,
    arrow_at,
    distance,
    line_along,
    plate,
    ring_around,
    ring_at,
    strokes,
    thickness,
    words_at,
)

ARROW = {"shape": "arrow", "points": "0.1 0.2; 0.4 0.4"}
WORDS = {"shape": "words", "points": "0.1 0.2", "words": "crack", "letters": 50}
anywhere = st.tuples(st.floats(-1, 2), st.floats(-1, 2))
sizes = st.tuples(st.integers(1, 6000), st.integers(1, 6000))


def mark(number=10, **fields):
    return make(PictureMark, number, **{"walk": "", "photo": "a" * 64, **ARROW, **fields})


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ({"points": "0.1 0.2; 1.1 0.4"}, "points must be shares from 0 to 1"),
        ({"points": "0.1 0.2; -0.1 0.4"}, "points must be shares from 0 to 1"),
        ({"points": "0.1 0.2; nan 0.4"}, "points must be shares from 0 to 1"),
        ({"points": "0.1 0.2; 1e-3 0.4"}, "points must be shares from 0 to 1"),
        ({"points": "0.1 0.2; ٠.1 0.4"}, "points must be shares from 0 to 1"),
        ({"points": "0.1 0.2;0.4 0.4"}, "points must be shares from 0 to 1"),
        ({"points": "0.12345 0.2; 0.4 0.4"}, "points must be shares from 0 to 1"),
        ({"shape": "line", "points": "; ".join(["0.1 0.2"] * 201)}, "points must be shares from 0 to 1"),
        ({"points": "0.1 0.2"}, "points must be 2 for arrow, not 1"),
        ({"shape": "line", "points": "0.1 0.2"}, "points must be 2 to 200 for line, not 1"),
        ({"points": "0.1 0.2; 0.1 0.2"}, "points must differ"),
        ({"shape": "ring", "points": "0.4 0.2; 0.1 0.4"}, "points must be the upper left"),
        ({"shape": "ring", "points": "0.1 0.2; 0.4 0.2"}, "points must be the upper left"),
        ({**WORDS, "words": ""}, "words must be there"),
        ({"words": "crack"}, "words must be there"),
        ({**WORDS, "letters": None}, "letters must be there"),
        ({"letters": 50}, "letters must be there"),
        ({**WORDS, "words": "x" * 41}, "words has 41 characters"),
        ({**WORDS, "letters": 900}, "letters must be from 20 to 200"),
        ({"shape": "star"}, "shape must be one of"),
        ({"walk": record_id(3)}, "walk must be empty"),
    ],
)  # fmt: skip
def test_what_no_mark_can_be_is_refused_by_the_record(fields, problem):
    with pytest.raises(RecordError, match=f"^{problem}"):
        mark(**fields)


@given(drawing=drawings())
def test_what_is_drawn_comes_back_from_its_record(drawing):
    kept = mark(
        shape=drawing.shape,
        points=points_to_text(drawing.points),
        words=drawing.words,
        letters=drawing.letters or None,
    )

    assert kept.drawing == drawing


def test_the_longest_line_fits_into_a_text_column():
    line = points_to_text([Point(0.1234, 0.5678)] * MOST_POINTS)

    assert len(line) < 4000
    assert len(points_from_text(line)) == MOST_POINTS


@given(
    drawing=drawings(),
    across=st.floats(-2, 2),
    down=st.floats(-2, 2),
    factor=st.floats(0.1, 10),
    size=sizes,
)
def test_a_drawing_that_is_moved_or_made_larger_stays_on_the_picture_and_can_be_kept(
    drawing, across, down, factor, size
):
    for changed in (drawing.moved(across, down), drawing.resized(factor, *size)):
        assert changed.problem() == ""
        assert points_from_text(points_to_text(changed.points)) == changed.points
        left, top, right, bottom = bounds(changed.points)
        assert left >= 0 and top >= 0 and right <= 1 and bottom <= 1


@given(drawing=drawings(), across=st.floats(-2, 2), down=st.floats(-2, 2))
def test_moving_changes_no_size(drawing, across, down):
    before, after = bounds(drawing.points), bounds(drawing.moved(across, down).points)

    assert after[2] - after[0] == pytest.approx(before[2] - before[0], abs=2e-4)
    assert after[3] - after[1] == pytest.approx(before[3] - before[1], abs=2e-4)


@given(tip=st.builds(Point, shares(), shares()), factor=st.floats(0.2, 5), size=sizes)
def test_an_arrow_changes_its_size_about_its_tip(tip, factor, size):
    arrow = arrow_at(tip, *size)

    assert arrow.points[1] == tip
    assert arrow.resized(factor, *size).points[1] == tip


@given(at=st.builds(Point, shares(), shares()), size=sizes)
def test_a_tap_anywhere_gives_a_mark_that_can_be_kept(at, size):
    for drawing in (arrow_at(at, *size), ring_at(at, *size), words_at(at, "crack")):
        assert drawing.problem() == ""


@given(
    one=st.tuples(st.floats(-1, 2), st.floats(-1, 2)), other=st.tuples(st.floats(-1, 2), st.floats(-1, 2))
)
def test_a_ring_dragged_anywhere_can_be_kept_and_is_never_a_line(one, other):
    ring = ring_around(Point(*one), Point(*other), 4, 3)

    assert ring.problem() == ""
    left, top, right, bottom = bounds(ring.points)
    assert min((right - left) * 4, (bottom - top) * 3) / 4 >= 0.03 - 1e-3


@given(trail=st.lists(st.tuples(st.floats(-0.2, 1.2), st.floats(-0.2, 1.2)), min_size=2, max_size=600))
def test_a_freehand_line_keeps_its_ends_and_few_points(trail):
    line = line_along([Point(*place) for place in trail], 4, 3)

    assert line.problem() == ""
    ends = [tuple(min(max(share, 0), 1) for share in trail[end]) for end in (0, -1)]
    assert [line.points[0], line.points[-1]] == [pytest.approx(end, abs=1e-4) for end in ends]


def test_a_line_of_a_finger_is_small_and_lies_where_the_finger_was():
    finger = [Point(0.1 + i / 2500, 0.5 + 0.3 * math.sin(i / 150)) for i in range(2000)]

    line = line_along(finger, 4, 3)

    assert len(line.points) < 80
    apart = max(distance(line, point, 0, 4000, 3000) for point in finger)
    # A third of the thickness of the light line.
    assert apart <= thickness(4000)[1] / 3


def test_a_scribble_gets_coarser_instead_of_longer():
    scribble = [Point(i % 2, (i % 997) / 997) for i in range(5000)]

    assert len(line_along(scribble, 4, 3).points) <= MOST_POINTS


@given(drawing=drawings(), size=sizes, ems=st.floats(0, 60))
def test_words_stand_wholly_on_the_picture(drawing, size, ems):
    words = replace(drawing, shape="words", points=drawing.points[:1], words="x", letters=LETTERS)

    box = plate(words, ems, *size)

    assert -1e-6 <= box.left < box.right <= size[0] + 1e-6
    assert -1e-6 <= box.top < box.bottom <= size[1] + 1e-6


@given(drawing=drawings(), scale=st.integers(2, 9))
def test_a_drawing_looks_the_same_at_every_size(drawing, scale):
    small, large = strokes(drawing, 400, 300), strokes(drawing, 400 * scale, 300 * scale)

    for one, other in zip(small, large, strict=True):
        for place, same in zip(one, other, strict=True):
            assert (place[0] * scale, place[1] * scale) == pytest.approx(same, abs=1e-6)


def test_an_arrow_ends_in_its_tip_and_its_head_looks_back():
    shaft, head = strokes(Drawing("arrow", (Point(0.1, 0.5), Point(0.9, 0.5))), 1000, 1000)

    assert shaft == ((100, 500), (900, 500))
    assert head[1] == (900, 500)
    assert all(x < 900 for x, _ in (head[0], head[2]))
    assert (head[0][1] - 500) * (head[2][1] - 500) < 0


def test_a_ring_is_the_ellipse_in_its_box():
    (ring,) = strokes(Drawing("ring", (Point(0.1, 0.2), Point(0.5, 0.4))), 1000, 1000)

    assert all(((x - 300) / 200) ** 2 + ((y - 300) / 100) ** 2 == pytest.approx(1) for x, y in ring)
    assert ring[0] == pytest.approx(ring[-1])


def test_a_finger_finds_the_line_of_a_ring_its_inside_and_words_anywhere_on_their_plate():
    ring = Drawing("ring", (Point(0.2, 0.2), Point(0.8, 0.8)))
    words = words_at(Point(0.5, 0.5), "crack")

    assert distance(ring, Point(0.2, 0.5), 0, 1000, 1000) == pytest.approx(0, abs=1)
    assert distance(ring, Point(0.5, 0.5), 0, 1000, 1000) == pytest.approx(150, abs=1)
    assert distance(ring, Point(0.5, 0.1), 0, 1000, 1000) == pytest.approx(100, abs=1)
    assert distance(words, Point(0.52, 0.51), 3, 1000, 1000) == 0


def luminance(ink):
    """Relative luminance of a colour (WCAG 2.2, from the definition)."""
    parts = [part / 255 for part in ink]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_on_a_picture_of_any_colour_one_of_the_two_inks_stands_out():
    grid = range(0, 256, 15)
    least = min(
        max(contrast(ink, (r, g, b)) for ink in (DARK_INK, LIGHT_INK))
        for r in grid
        for g in grid
        for b in grid
    )

    # WCAG 2.2, 1.4.11: at least 3:1 for graphics that have to be seen.
    assert least >= 4
    assert contrast(DARK_INK, LIGHT_INK) >= 15


def test_a_line_is_thick_enough_for_a_page_of_a4_and_for_a_small_picture():
    across_a4_px = 180 / 25.4 * 300  # 180 mm at 300 pixels an inch
    dark, light = (px / 300 * 25.4 for px in thickness(across_a4_px))

    assert light >= 1 and (dark - light) / 2 >= 0.5
    assert thickness(200) == (4, 2)


def test_changes_of_one_mark_on_two_tablets_both_stay_and_nobody_has_to_decide():
    old = mark(10)
    here, there = (mark(n, points="0.1 0.2; 0.9 0.9", replaces=(old.id,)) for n in (11, 12))
    away = make(Withdrawal, 13, walk="", replaces=(old.id,))

    both = standing_of([old, here, there, away])
    assert both.current == (here, there)
    assert both.conflicts == ()

    twice = standing_of([old, away, make(Withdrawal, 14, walk="", replaces=(old.id,))])
    assert twice.current == ()
    assert twice.conflicts == ()


def test_a_mark_that_claims_to_correct_another_kind_is_a_conflict_like_any_other():
    note = make(Note, 10, station="weld", words="a")
    one = make(Note, 11, station="weld", words="b", replaces=(note.id,))

    found = standing_of([note, one, mark(12, replaces=(note.id,))])

    assert len(found.current) == 1
    assert len(found.conflicts) == 1


def test_lines_are_joined_point_by_point():
    drawing = Drawing("line", (Point(0, 0), Point(0.5, 0.5), Point(1, 0)))

    (line,) = strokes(drawing, 100, 100)

    assert [math.dist(a, b) for a, b in pairwise(line)] == [pytest.approx(70.71, abs=0.01)] * 2
