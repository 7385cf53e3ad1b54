"""The pages of the onset: the form for an older lot, and when it started with its suspects."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.floors import Floor
from walkapp.model.records import DatedCount
from walkapp.presenters.lot_form import LotCountForm
from walkapp.presenters.onset import NO_CHANGES, OnsetPage
from walkapp.presenters.route import Route


@pytest.fixture
def floor(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        yield Floor(desk)


def opened(page_class, floor, *, in_walk=True, **filled):
    screen = "onset" if page_class is OnsetPage else "dated_count"
    route = floor.route if in_walk else Route(concern=floor.route.concern)
    page = page_class(floor.desk.session, replace(route, screen=screen))
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def field(page, name):
    return next(field for field in page.state.fields if field.name == name)


def older(floor):
    return [r for r in floor.desk.records if isinstance(r, DatedCount)]


COUNT = {"lot": "0226-1", "made_on": "2026-02-26", "checked": "20", "nok": "9"}


def test_a_count_is_recorded_at_the_first_bad_station_and_leads_to_the_onset(floor):
    floor.walk()
    page = opened(LotCountForm, floor, **COUNT)
    assert (field(page, "check").value, page.state.frame) == ("leak-test ear-look", None)

    page.record()

    (count,) = older(floor)
    assert (count.station, count.check, count.lot, count.made_on, count.checked, count.nok) == (
        "leak-test", "ear-look", "0226-1", "2026-02-26", 20, 9,
    )  # fmt: skip
    assert count.walk == floor.route.walk
    assert floor.desk.routes == [replace(floor.route, screen="onset")]


def test_outside_a_walk_the_count_belongs_to_the_concern(floor):
    opened(LotCountForm, floor, in_walk=False, check="leak-test ear-look", **COUNT).record()

    assert [count.walk for count in older(floor)] == [""]
    assert floor.desk.routes == [Route(screen="onset", concern=floor.route.concern)]


def test_while_no_station_is_named_the_form_asks_where_the_parts_were_judged(floor):
    page = opened(LotCountForm, floor, **COUNT)
    page.record()

    assert page.state.problem == "Still needed: Judged at."
    assert older(floor) == []


@pytest.mark.parametrize(
    ("filled", "problem"),
    [
        ({"made_on": "26.2.2026"}, "Production date: must be a date such as"),
        ({"made_on": "2026-03-04"}, "Production day: 2026-03-04 is still to come"),
        ({"checked": "a box"}, "Parts checked: must be a whole number such as 20."),
        ({"checked": "0", "nok": "0"}, "Parts checked: must be from 1"),
        ({"nok": "21"}, "NOK among them: must not be above checked (21 of 20)"),
        ({"nok": ""}, "Still needed: NOK among them."),
    ],
)
def test_what_cannot_be_is_refused_with_the_label_of_its_field(floor, filled, problem):
    page = opened(LotCountForm, floor, check="leak-test ear-look", **{**COUNT, **filled})
    page.record()

    assert page.state.problem.startswith(problem)
    assert older(floor) == []


def test_the_form_offers_days_on_which_it_may_have_started(floor):
    floor.walk()
    hints = [field(opened(LotCountForm, floor), "made_on")]
    floor.lot(26, nok=9)
    hints.append(field(opened(LotCountForm, floor), "made_on"))
    floor.lot(12)
    hints.append(field(opened(LotCountForm, floor), "made_on"))
    floor.lot(25)
    hints.append(field(opened(LotCountForm, floor), "made_on"))

    assert [hint.hint.partition(":")[0].partition(";")[0] for hint in hints] == [
        "Begin with a day that should be good and one that is bad",
        "A lot made before 2026-02-26 would tell most",
        "A day of which nothing was checked, and on which it may have started, would tell most.",
        "",
    ]
    assert [[day for day, _ in hint.options] for hint in hints] == [
        [], [], ["2026-02-16", "2026-02-19", "2026-02-22"], [],
    ]  # fmt: skip


def test_the_page_shows_rows_and_suspects_in_their_order(floor):
    floor.walk()
    floor.lots()
    floor.change("Harder clamp pads", day=24)
    floor.change("Spare screwdriver", "pump-assembly")
    floor.change("New operator", "pump-assembly", day=28, kind="man")

    state = opened(OnsetPage, floor).state

    assert state.sentence.startswith("0226-1 of 2026-02-26 is the first bad one (>99.9 %).")
    assert state.most_suspect.startswith("Most suspect of the recorded changes: Harder clamp pads (")
    assert [(row.name, row.counts, row.mark, row.word) for row in state.rows] == [
        ("0220-1  2026-02-20", "0 of 20", "clean", "before it started"),
        ("0224-1  2026-02-24", "0 of 20", "clean", "before it started"),
        ("0226-1  2026-02-26", "9 of 20", "bad", "first bad"),
        ("0227-1  2026-02-27", "10 of 20", "bad", "after it started"),
    ]
    assert [row.is_named for row in state.rows] == [False, False, True, False]
    named = state.rows[2]
    assert (named.interval, named.share, named.probability) == ("23 % to 69 %", 0.45, ">99.9 %")
    assert named.low == pytest.approx(0.2306, abs=1e-4)
    assert state.below == "Counted at Leak test. That it did not start in these rows: <0.1 %."
    assert [(s.number, s.what, s.mark) for s in state.suspects] == [
        ("1", "Harder clamp pads", ""),
        ("2", "Spare screwdriver", "undecided"),
        ("3", "New operator", "not_visited"),
        ("", "None of the recorded changes", ""),
    ]
    assert [s.place for s in state.suspects] == [
        "Leak test, machine, 2026-02-24: 0 to 2 days before the onset",
        "Pump assembly, machine, day not known: time unknown",
        "Pump assembly, man, 2026-02-28: after the onset",
        "",
    ]
    assert sum(s.probability_value for s in state.suspects) == pytest.approx(1)
    for taken in ("no part was bad before it started", "90 % are called NOK", "on the date of their row"):
        assert taken in state.assumptions


def test_an_empty_page_says_what_to_do_and_still_lists_that_nothing_recorded_is_the_cause(floor):
    state = opened(OnsetPage, floor).state

    assert state.sentence.startswith("No lot with a production day was counted yet")
    assert (state.rows, state.below, state.undo, state.no_changes) == ((), "", "", NO_CHANGES)
    assert [s.what for s in state.suspects] == ["None of the recorded changes"]


def test_nothing_is_called_most_suspect_that_is_less_probable_than_none_of_them(floor):
    floor.walk()
    floor.lots()
    floor.change("New resin lot", "moulding", day=18)

    state = opened(OnsetPage, floor).state

    assert state.most_suspect == ""
    assert any("ask what else changed" in warning for warning in state.warnings)


def test_undo_takes_the_newest_count_back_and_says_so(floor):
    floor.lot(20)
    floor.lot(24, nok=1, lot="0224-1")
    page = opened(OnsetPage, floor)
    assert page.state.undo == "1 of 20 NOK, lot 0224-1"

    page.undo()

    assert (page.state.undo, page.state.saved) == ("0 of 20 NOK, of 2026-02-20", "Taken back")
    assert [row.name for row in page.state.rows] == ["2026-02-20"]
    page.undo()
    page.undo()
    assert page.state.problem == "There is no count or change point to take back on this tablet."


def test_the_page_leads_to_the_form_and_back_to_the_answer(floor):
    page = opened(OnsetPage, floor)
    page.count_lot()
    page.back()

    assert [r.screen for r in floor.desk.routes] == ["dated_count", "answer"]


def test_a_concern_that_is_not_here_is_said_in_a_sentence(floor):
    page = OnsetPage(floor.desk.session, Route(screen="onset", concern="gone"))
    page.open()
    assert page.state.problem.startswith("There is no concern 'gone'")
