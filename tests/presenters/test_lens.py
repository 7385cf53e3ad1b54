"""The lens: what is seen of pictures that are zoomed and moved, by hand and by laws."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from walkapp.presenters.lens import MOST_ZOOM, Lens, common_scale, drawn_size

sizes = st.tuples(st.integers(1, 20_000), st.integers(1, 20_000))
panes = st.tuples(st.integers(1, 2_000), st.integers(1, 2_000))
steps = st.lists(
    st.one_of(
        st.tuples(st.just("zoom"), st.floats(0.2, 5), st.floats(-1, 1), st.floats(-1, 1)),
        st.tuples(st.just("move"), st.sampled_from(("ok", "this")), st.floats(-900, 900), st.booleans()),
    ),
    max_size=8,
)


def looked(picture, pane, scale, done) -> Lens:
    lens = Lens()
    for step in done:
        drawn = drawn_size(picture, scale * lens.zoom)
        match step:
            case ("zoom", factor, x, y):
                lens = lens.zoomed(factor, (x, y))
            case ("move", name, by, alone):
                lens = lens.moved(name, (by, -by), drawn, pane, alone=alone)
    return lens


@given(picture=sizes, pane=panes, done=steps)
def test_what_is_drawn_lies_in_the_pane_and_shows_a_part_of_the_picture(picture, pane, done):
    scale = common_scale([(picture, pane)])
    lens = looked(picture, pane, scale, done)

    for name in ("ok", "this", "not_ok"):
        part = lens.part(name, picture, pane, scale)
        assert part.left >= 0 and part.left + part.width <= pane[0] + 1
        assert part.top >= 0 and part.top + part.height <= pane[1] + 1
        assert part.width >= 1 and part.height >= 1
        for begin, length in ((part.u, part.u_width), (part.v, part.v_height)):
            assert begin >= -1e-9 and begin + length <= 1 + 1e-9 and length > 0
    assert 1 <= lens.zoom <= MOST_ZOOM


@given(picture=sizes, pane=panes, done=steps)
@example(picture=(4410, 16055), pane=(109, 397), done=[])
def test_zooming_all_the_way_out_shows_the_whole_picture_again(picture, pane, done):
    scale = common_scale([(picture, pane)])
    lens = looked(picture, pane, scale, done).zoomed(1 / MOST_ZOOM)

    part = lens.part("this", picture, pane, scale)

    assert lens == Lens()
    assert (part.u, part.u_width, part.v, part.v_height) == (0, 1, 0, 1)


def test_the_point_between_two_fingers_stays_where_it_is():
    picture, pane, scale = (4000, 3000), (800, 600), 800.0
    at = (0.2, -0.1)
    lens = Lens().zoomed(2).zoomed(2, at)

    part = lens.part("this", picture, pane, scale)

    # Before, the point lay 0.2 of 1600 px right of the middle, at 0.7 of the picture.
    assert part.u + part.u_width * (0.5 + 0.2 * 1600 / 800) == pytest.approx(0.7)


def test_pictures_turned_and_copies_of_another_size_are_shown_in_one_scale():
    pane = (400, 400)
    lying, standing, small = (4000, 3000), (3000, 4000), (320, 240)
    scale = common_scale([(lying, pane), (standing, pane), (small, pane)])

    drawn = [Lens().part("x", size, pane, scale) for size in (lying, standing, small)]

    assert [(part.width, part.height) for part in drawn] == [(400, 300), (300, 400), (400, 300)]


def test_the_same_part_of_each_is_seen_until_one_is_moved_alone():
    picture, pane, scale = (1000, 1000), (100, 100), 100.0
    drawn = drawn_size(picture, 400)
    lens = Lens().zoomed(4).moved("ok", (40, 0), drawn, pane)
    assert lens.part("ok", picture, pane, scale) == lens.part("not_ok", picture, pane, scale)

    apart = lens.moved("not_ok", (0, 60), drawn, pane, alone=True)
    ok, not_ok = (apart.part(name, picture, pane, scale) for name in ("ok", "not_ok"))
    assert (ok.u, ok.v - not_ok.v) == (not_ok.u, pytest.approx(60 / 400))

    both = apart.moved("ok", (20, 20), drawn, pane)
    ok, not_ok = (both.part(name, picture, pane, scale) for name in ("ok", "not_ok"))
    assert ok.v - not_ok.v == pytest.approx(60 / 400)


def test_a_finger_that_pushes_beyond_the_edge_has_no_way_to_go_back_first():
    picture, pane, scale = (1000, 1000), (100, 100), 100.0
    drawn = drawn_size(picture, 200)
    at_edge = Lens().zoomed(2).moved("this", (5_000, 0), drawn, pane)
    assert at_edge.part("this", picture, pane, scale).u == 0

    back = at_edge.moved("this", (-20, 0), drawn, pane)
    assert back.part("this", picture, pane, scale).u == pytest.approx(0.1)
