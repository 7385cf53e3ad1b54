"""Within a station and along the stream: what the two pages say, and the tags that make it possible."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Queue
from walkapp.model.records import Measurement
from walkapp.presenters.checks import JudgePage
from walkapp.presenters.detail import DetailPage
from walkapp.presenters.measured import MeasuredPage
from walkapp.presenters.measuring import MeasurePage
from walkapp.presenters.route import Route

BEFORE, AFTER = ("2.51", "2.49", "2.51", "2.49", "2.50"), ("2.43", "2.41", "2.42", "2.39", "2.44")


@pytest.fixture
def route(desk):
    return desk.walk()


def opened(page_class, desk, route, **where):
    page = page_class(desk.session, replace(route, **where))
    page.open()
    return page


def measuring(desk, route, station="moulding", check="ear-wall"):
    return opened(MeasurePage, desk, route, screen="measure", station=station, check=check)


def take(page, *values):
    for value in values:
        for key in value:
            page.press(key)
        page.press("enter")


def parts(desk):
    return [record.part for record in desk.records if isinstance(record, Measurement)]


def detail(desk, route, station="leak-test"):
    return opened(DetailPage, desk, route, screen="detail", station=station)


def along(desk, route, check="ear-wall"):
    return opened(MeasuredPage, desk, route, screen="measured", station="leak-test", check=check)


def walked(desk, route):
    page = measuring(desk, route, "welding", "ear-wall-welded")
    page.switch_tags()
    take(page, *BEFORE)
    take(measuring(desk, route, "leak-test", "ear-wall-tested"), *AFTER)


def test_nobodys_parts_are_tagged_unasked(desk, route):
    page = measuring(desk, route)
    take(page, "2.5", "2.4")

    assert page.state.tag.is_offered and page.state.tag.words == "Part not tagged"
    assert parts(desk) == ["", ""]


def test_tags_count_up_by_themselves_and_start_again_at_the_next_station(desk, route):
    first = measuring(desk, route)
    first.switch_tags()
    take(first, "2.5", "2.4")
    assert (first.state.tag.words, first.state.values) == ("Part P3", "P2 2.4  P1 2.5")

    second = measuring(desk, route, "leak-test", "ear-wall-tested")
    assert second.state.tag.tag == "P1"
    take(second, "2.5")
    second.switch_tags()
    take(second, "2.5")
    second.switch_tags()
    take(second, "2.5")

    assert parts(desk) == ["P1", "P2", "P1", "", "P2"]


def test_a_fast_hand_never_gives_two_parts_one_tag(desk, route):
    page = measuring(desk, route)
    page.switch_tags()
    queue = Queue()
    desk.session.run_later = queue
    take(page, "2.5")
    take(page, "2.4", "2.6")
    queue.run()

    assert parts(desk)[0] == "P1"
    assert len(set(parts(desk))) == len(parts(desk))


def test_another_part_can_be_chosen_and_a_used_tag_is_not_given_again_by_itself(desk, route):
    page = measuring(desk, route)
    page.switch_tags()
    take(page, "2.5", "2.4", "2.6")
    page.step_tag(-1)
    page.step_tag(-1)
    assert page.state.tag.tag == "P2"
    take(page, "2.5")
    assert page.state.tag.tag == "P4"
    for _ in range(9):
        page.step_tag(-1)

    assert page.state.tag.tag == "P1"
    assert parts(desk) == ["P1", "P2", "P3", "P2"]


def test_undo_gives_the_tag_back(desk, route):
    page = measuring(desk, route)
    page.switch_tags()
    take(page, "2.5", "2.4")
    page.undo()

    assert page.state.tag.tag == "P2"


def test_what_was_typed_stays_while_the_tag_is_changed(desk, route):
    page = measuring(desk, route)
    page.press("2")
    page.press("unit")
    page.switch_tags()
    page.step_tag(1)

    assert (page.state.pad.text, page.state.is_choosing_unit, page.state.tag.tag) == ("2", True, "P2")


def test_no_tag_is_offered_where_nothing_is_followed(desk, route):
    for check in ("mould-temperature", "part-temperature"):
        station = "moulding" if check.startswith("mould") else "leak-test"
        page = measuring(desk, route, station, check)
        page.step_tag(1)
        page.switch_tags()
        assert not page.state.tag.is_offered and page.state.tag.tag == ""


@pytest.mark.parametrize(
    ("unit", "tagged", "words"),
    [
        ("", False, "Which cavity? Part?"),
        ("cavity 2", False, "cavity 2"),
        ("", True, "Part P1. Which cavity?"),
        ("cavity 2", True, "cavity 2, P1"),
    ],
)
def test_the_key_says_unit_and_tag(desk, route, unit, tagged, words):
    page = measuring(desk, route)
    if unit:
        page.choose_unit(unit)
    if tagged:
        page.switch_tags()

    assert page.state.unit_words == words


def test_the_detail_page_names_the_unit_that_stands_out(desk, route):
    page = opened(JudgePage, desk, route, screen="judge", station="leak-test", check="ear-look")
    for unit, answers in (("clamp 1", ["not_ok"] * 8 + ["ok"] * 2), ("clamp 2", ["ok"] * 10)):
        page.choose_unit(unit)
        for answer in answers:
            page.answer(answer)

    state = detail(desk, route).state

    assert (state.title, state.counts) == ("4  Leak test", "All parts judged here: 8 of 20 NOK.")
    (table,) = state.tables
    assert table.title == "By fixture"
    assert table.sentence.startswith("Worse than the rest: fixture clamp 1, 8 of 10 NOK against 0")
    one, two = table.rows
    assert (one.name, one.counts, one.mark, one.word) == (
        "clamp 1",
        "8 of 10",
        "bad",
        "worse than the rest",
    )
    assert (two.mark, two.word, two.share) == ("undecided", "the rest", 0.0)
    assert one.low < one.share < one.high
    assert state.notes == ()


def test_the_detail_page_says_that_no_difference_is_shown_and_what_was_not_recorded(desk, route):
    page = opened(JudgePage, desk, route, screen="judge", check="ear-look")
    for unit in ("cavity 1", "cavity 2", "cavity 2"):  # the same once more is none
        page.choose_unit(unit)
        page.answer("ok")

    state = detail(desk, route, "moulding").state

    assert [row.word for row in state.tables[0].rows] == ["not shown to differ"] * 2
    assert state.tables[0].sentence.startswith("No difference by cavity is shown")
    assert state.notes == ("1 part is not in the comparison by cavity: that was not recorded of it.",)


def test_a_station_where_nothing_is_known_says_so(desk, route):
    state = detail(desk, route, "welding").state

    assert state.counts == "No part was judged for this defect here yet."
    assert state.tables == ()
    assert [block.lines[-1] for block in state.blocks] == [("Mean", "nothing measured")] * 2
    assert [block.mark for block in state.blocks] == ["not_visited"] * 2


def test_the_detail_page_says_mean_shift_and_indices_and_leads_along_the_stream(desk, route):
    walked(desk, route)
    page = detail(desk, route)

    wall, heat = page.state.blocks
    lines = dict(wall.lines)
    assert list(lines) == [
        "Limits", "Mean", "Out of limits", "Shift", "Spread", "Cp", "Cpk", "Pp", "Ppk", "Indices",
    ]  # fmt: skip
    assert lines["Mean"] == "5 parts, mean 2.418 mm (95 % interval 2.394 to 2.442)"
    assert lines["Shift"].startswith("the mean has shifted: −0.082 mm against Hot-plate welding")
    assert lines["Indices"] == "fewer than 30 parts: read the intervals"
    assert (wall.mark, heat.mark, heat.onward) == ("bad", "not_visited", ())
    page.to_measured(wall.onward[0].id)
    assert desk.routes == [replace(route, screen="measured", station="leak-test", check="ear-wall")]


def test_a_single_part_has_no_index_and_says_why(desk, route):
    take(measuring(desk, route), "2.5")

    lines = dict(detail(desk, route, "moulding").state.blocks[0].lines)

    assert lines["Indices"] == "fewer than 2 parts: nothing can be said"
    assert "Cpk" not in lines


def test_the_measured_page_draws_the_stations_and_the_tagged_parts(desk, route):
    walked(desk, route)
    state = along(desk, route).state

    assert state.title == "Wall thickness at the root of the ear"
    assert state.sentences[0].startswith("First out of tolerance at Leak test: 1 of 5 parts outside")
    weld, leak_test = state.view.columns
    assert (weld.number, leak_test.number) == ("3", "4")
    assert (leak_test.mark, leak_test.word) == ("bad", "first out of tolerance, first shift")
    for column in (weld, leak_test):
        places = [
            column.least,
            column.low,
            column.mean,
            column.high,
            column.greatest,
            column.lsl,
            column.usl,
        ]
        assert all(0.0 < place < 1.0 for place in places)
        assert column.low < column.mean < column.high and column.lsl < column.nominal < column.usl
    assert leak_test.mean < weld.mean
    # 0.2 mm between the limits, 0.082 mm between the means.
    assert (weld.mean - leak_test.mean) / (weld.usl - weld.lsl) == pytest.approx(0.41, abs=1e-9)
    assert [path.part for path in state.view.paths] == ["P1", "P2", "P3", "P4", "P5"]
    assert [path.outside for path in state.view.paths][3] == (False, True)
    assert [text for _, text in state.view.scale] == ["LSL 2.40", "USL 2.60"]
    assert [line.mark for line in state.lines] == ["clean", "bad"]


def test_a_station_between_that_was_not_measured_is_drawn_empty(desk, route):
    take(measuring(desk, route), "2.5", "2.4")
    take(measuring(desk, route, "leak-test", "ear-wall-tested"), "2.5", "2.6")

    columns = along(desk, route).state.view.columns

    assert [column.word for column in columns] == ["", "not measured", "not measured", ""]
    assert [column.is_measured for column in columns] == [True, False, False, True]


def test_one_value_alone_can_be_drawn_and_none_draws_nothing(desk, route):
    blank = along(desk, route).state
    assert (blank.view.columns, blank.legend, blank.sentences) == ((), "", ("Nothing was measured yet.",))

    take(measuring(desk, route), "2.5")
    (column,) = along(desk, route).state.view.columns
    assert column.low is None and 0.0 < column.mean < 1.0


def test_what_is_not_in_the_checklist_is_said_in_a_sentence(desk, route):
    assert detail(desk, route, "nowhere").state.problem == (
        "The checklist has no station 'nowhere'; go back and choose one."
    )
    assert along(desk, route, "weight").state.problem == (
        "The checklist measures no 'weight'; go back and choose a station."
    )


def test_back_leads_from_the_characteristic_to_the_station_and_from_there_to_the_answer(desk, route):
    along(desk, route).back()
    detail(desk, route).back()
    MeasuredPage(desk.session, Route(screen="measured", concern=route.concern, check="ear-wall")).back()

    assert [(r.screen, r.station, r.check) for r in desk.routes] == [
        ("detail", "leak-test", ""), ("answer", "leak-test", ""), ("answer", "", ""),
    ]  # fmt: skip
