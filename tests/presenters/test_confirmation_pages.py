"""The pages of on/off confirmations: list, form, what to do now, a turn while it runs, corrections."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.floors import Floor
from tests.switches import FORCE, Switch
from walkapp.actions.confirmations import confirmations_of
from walkapp.model.records import Confirmation, ConfirmationTurn, Trial, TrialFactor
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.confirmation import ConfirmationPage
from walkapp.presenters.confirmation_forms import CorrectTurnForm, NewConfirmationForm, SettleTurnForm
from walkapp.presenters.confirmation_turn import TurnPage
from walkapp.presenters.confirmations import NONE_YET, ConfirmationsPage
from walkapp.presenters.counting import stepped
from walkapp.presenters.route import Route


@pytest.fixture
def switch(desk):
    return Switch(desk)


@pytest.fixture
def force(desk):
    return Switch(desk, **FORCE)


def opened(page_class, switch, **more):
    page = page_class(switch.desk.session, replace(switch.route, **more))
    page.open()
    return page


def form(page_class, switch, filled=None, **more):
    page = opened(page_class, switch, **more)
    for name, value in (filled or {}).items():
        page.fill(name, value)
    return page


def turn_page(switch, number):
    return opened(TurnPage, switch, screen="confirmation_turn", number=str(number))


def field(page, name):
    return next(field for field in page.state.fields if field.name == name)


def typed(page, number):
    for key in (*number, "enter"):
        page.press(key)


# --- the list and the concern's page


def test_the_concern_leads_to_the_list_and_says_how_it_stands(switch):
    def row():
        page = opened(ConcernPage, switch, screen="concern", entry="")
        return next(row for row in page.state.parts if row.id == "confirmations")

    assert (row().subtitle, row().mark) == ("clamp pads: no turn yet", "not_visited")
    switch.counts(6, 0, 7, 0)
    assert (row().subtitle, row().mark) == ("clamp pads: points that way, not proved", "undecided")
    switch.count(5, 6)
    switch.count(6, 0)
    assert (row().subtitle, row().mark) == ("clamp pads: proved", "clean")


def test_without_a_confirmation_the_list_says_what_one_is_for(desk):
    page = ConfirmationsPage(desk.session, Route(screen="confirmations", concern=desk.concern()))
    page.open()

    assert (page.state.sentence, page.state.undo) == (NONE_YET, "")
    assert any("scrap it" in caution for caution in page.state.cautions)
    page.undo()
    assert page.state.problem == "There is no on/off confirmation of this tablet to take back."


def test_the_list_leads_to_each_confirmation_and_takes_back_an_empty_one(switch):
    page = opened(ConfirmationsPage, switch, screen="confirmations", entry="")
    (section,) = page.state.sections
    assert [(row.id, row.title) for row in section.rows] == [(switch.record.id, "clamp pads")]
    assert page.state.undo == "clamp pads"

    page.row("all", switch.record.id)
    page.press("new_confirmation")
    assert switch.desk.routes == [
        switch.route,
        Route(screen="new_confirmation", concern=switch.concern),
    ]

    page.undo()
    assert (page.state.saved, page.state.sections[0].rows) == ("Taken back", ())


def test_turns_without_their_confirmation_are_told_in_the_list(switch):
    switch.counts(6)
    switch.arrive(switch.turns[0], confirmation=switch.concern)

    page = opened(ConfirmationsPage, switch, screen="confirmations", entry="")

    assert page.state.lines[0].startswith("1 entry belongs to an on/off confirmation that is not here")
    assert page.state.undo == ""


# --- opening one

FILLED = {"by": "QE-RT", "what": "clamp pads", "on": "hard", "off": "soft"}


def new_form(floor, **filled):
    page = NewConfirmationForm(
        floor.desk.session, Route(screen="new_confirmation", concern=floor.route.concern)
    )
    page.open()
    for name, value in filled.items():
        page.fill(name, value)
    return page


def test_a_recorded_change_fills_in_what_is_switched_and_where(desk):
    floor = Floor(desk)
    change = floor.change("Harder clamp pads", day=22)
    page = new_form(floor, cause=change.id, on="hard", off="soft")
    assert (field(page, "what").value, field(page, "station").value) == (
        "Harder clamp pads",
        "leak-test",
    )

    page.record()

    (record,) = [r for r in desk.records if isinstance(r, Confirmation)]
    assert (record.what, record.on, record.off, record.change, record.station, record.response) == (
        "Harder clamp pads", "hard", "soft", change.id, "leak-test", "nok",
    )  # fmt: skip
    assert desk.routes == [Route(screen="confirmation", concern=record.concern, entry=record.id)]


def test_a_factor_of_a_trial_fills_in_its_levels(desk):
    floor = Floor(desk)
    trial = desk.place.new_id()
    said = {"concern": floor.route.concern}
    desk.place.add(
        Trial, id=trial, what="Which one", response="nok", parts=20, fraction="full", replicates=1,
        centres=0, seed="1", **said,
    )  # fmt: skip
    factor = desk.place.add(TrialFactor, trial=trial, order=1, name="pads", low="soft", high="hard", **said)

    page = new_form(floor, cause=factor.id)

    assert [field(page, name).value for name in ("what", "on", "off")] == ["pads", "hard", "soft"]
    page.fill("on", "soft")
    page.fill("off", "hard")
    page.record()
    (record,) = [r for r in desk.records if isinstance(r, Confirmation)]
    assert (record.on, record.off, record.change) == ("soft", "hard", "")


def test_the_form_asks_for_the_measure_only_where_values_are_measured_and_plans_the_turns(desk):
    page = new_form(Floor(desk), **FILLED)
    assert "measured" not in {f.name for f in page.state.fields}
    assert "3 turns on and 3 off" in page.state.advice[0]

    page.fill("response", "value")
    assert "4 turns on and 4 off" in page.state.advice[0]
    page.record()
    assert page.state.problem == "Still needed: What is measured."
    page.fill("measured", "crack length")
    page.record()

    (record,) = [r for r in desk.records if isinstance(r, Confirmation)]
    assert (record.response, record.measured) == ("value", "crack length")


def test_a_confirmation_with_one_state_is_refused_and_nothing_typed_is_lost(desk):
    page = new_form(Floor(desk), **{**FILLED, "off": "hard"})

    page.record()

    assert page.state.problem == "“On” and “off” must differ: with one state nothing is switched."
    assert field(page, "off").value == "hard"
    assert not [r for r in desk.records if isinstance(r, Confirmation)]
    assert any("qualified people" in caution for caution in page.state.cautions)
    assert any("none may get to a customer" in caution for caution in page.state.cautions)


# --- one confirmation


def test_the_page_says_in_big_words_what_to_do_now(switch):
    page = opened(ConfirmationPage, switch)
    state = page.state
    assert (state.now, state.now_shape, state.now_words) == ("Turn 1: ON", "chosen", "hard pads")
    assert (state.start, state.go_on, state.sentence, state.undo) == ("Start turn 1: ON", "", "", "")

    switch.counts(6, 0, 7)
    page.open()

    state = page.state
    assert (state.now, state.now_shape, state.now_words) == ("Turn 4: OFF", "open", "soft pads")
    assert (state.start, state.go_on) == ("Start turn 4: OFF", "Go on with turn 3")
    assert state.sentence.startswith("Points that way, not proved: 13 of 40 NOK when on")
    assert (state.mark, state.undo) == ("undecided", "7 of 20 NOK, turn 3 on")
    page.start()
    page.go_on()
    assert [route.number for route in switch.desk.routes] == ["4", "3"]
    assert {route.screen for route in switch.desk.routes} == {"confirmation_turn"}


def test_the_bars_tell_on_and_off_by_shape_and_word_and_share_one_scale(switch):
    switch.counts(6, 0, 8)

    page = opened(ConfirmationPage, switch)

    assert [(b.name, b.shape, b.word, b.is_on, b.figure, b.share) for b in page.state.bars] == [
        ("1", "chosen", "ON", True, "6 of 20", "30 %"),
        ("2", "open", "OFF", False, "0 of 20", "0 %"),
        ("3", "chosen", "ON", True, "8 of 20", "40 %"),
    ]
    assert [bar.height for bar in page.state.bars] == pytest.approx([0.6, 0, 0.8])
    assert page.state.scale == "Share NOK by turn, 0 to 50 %. Filled: on. Empty: off."


@pytest.mark.parametrize(("nok", "scale"), [(0, 10), (2, 10), (4, 20), (20, 100)])
def test_the_scale_holds_the_greatest_share(switch, nok, scale):
    switch.counts(nok)

    (bar,) = opened(ConfirmationPage, switch).state.bars

    assert 0 <= bar.height <= 1
    assert opened(ConfirmationPage, switch).state.scale.startswith(f"Share NOK by turn, 0 to {scale} %")


def test_values_are_drawn_with_their_mean(force):
    force.measure(1, "2.0", "3.0")
    force.measure(2, "1.0")

    one, two = opened(ConfirmationPage, force).state.bars

    assert (one.figure, two.figure) == ("2.50 mm", "1.00 mm")
    assert (len(one.points), one.is_counted) == (2, False)
    assert 0 < two.height < one.points[0] < one.height < one.points[1] < 1


def test_equal_values_are_drawn_in_the_middle(force):
    force.measure(1, "2.0")

    (bar,) = opened(ConfirmationPage, force).state.bars

    assert bar.height == pytest.approx(0.5)


def test_a_turn_that_does_not_count_is_said_and_leads_to_settling_it(switch):
    switch.counts(6, 0)
    switch.arrive(switch.turns[1], nok=4)
    page = opened(ConfirmationPage, switch)

    state = page.state
    assert (state.bars[1].shape, state.bars[1].word, state.bars[1].height) == ("undecided", "?", None)
    assert state.turns[1].title == "Turn 2 does not count"
    assert state.warnings[0].startswith("Turn 2 was counted twice, on 2 tablets.")
    assert state.go_on == ""
    page.turn("2")
    page.turn("1")

    assert [route.screen for route in switch.desk.routes] == ["settle_turn", "correct_turn"]


def test_undo_is_one_tap_away(switch):
    switch.counts(6, 0)
    page = opened(ConfirmationPage, switch)

    page.undo()

    assert (page.state.saved, page.state.now, page.state.undo) == (
        "Taken back", "Turn 2: OFF", "6 of 20 NOK, turn 1 on",
    )  # fmt: skip


def test_a_confirmation_that_is_gone_is_said_in_a_sentence(switch):
    page = opened(ConfirmationPage, switch, entry=switch.concern)

    assert page.state.problem == (
        "This on/off confirmation is not here any more; go back and choose another."
    )
    page.back()
    assert switch.desk.routes == [Route(screen="confirmations", concern=switch.concern)]


# --- a turn


def test_parts_are_counted_by_tap_and_every_tap_is_on_disk(switch):
    page = turn_page(switch, 1)
    assert (page.state.title, page.state.level, page.state.shape) == ("Turn 1: ON", "hard pads", "chosen")

    page.step("checked", 1)
    page.step("nok", 1)
    page.step("nok", 1)

    assert (page.state.checked, page.state.nok) == (2, 2)
    assert page.state.saved == "On disk: 2 of 2 NOK, turn 1 on"
    assert [(r.checked, r.nok) for r in switch.turns] == [(1, 0), (1, 1), (2, 2)]
    page.undo()
    assert (page.state.checked, page.state.nok, page.state.saved) == (1, 1, "Taken back")


def test_parts_are_typed_on_the_pad_and_what_cannot_be_is_refused(switch):
    page = turn_page(switch, 1)
    page.open_pad("checked")
    typed(page, "20")
    page.open_pad("nok")
    typed(page, "21")
    assert page.state.problem == "Only 20 parts were checked, so at most 20 are NOK; type Checked first."
    typed(page, "6")
    assert (page.state.checked, page.state.nok, page.state.pad) == (20, 6, None)

    page.open_pad("checked")
    typed(page, "5")
    assert page.state.problem.startswith("6 parts are NOK already")
    page.press("close")
    assert (page.state.pad, page.state.pad_for) == (None, "")


def test_values_are_typed_one_after_another(force):
    page = turn_page(force, 1)
    typed(page, "2.3")
    typed(page, "2.10")

    assert (page.state.values, page.state.many) == ("2.10  2.3", "2 values so far")
    assert page.state.pad.text == ""
    assert [r.value for r in force.turns] == ["2.3", "2.10"]


def test_the_turn_is_done_only_when_something_came_out(switch):
    page = turn_page(switch, 1)
    page.done()
    assert page.state.problem == "Record first what came out of this turn; then switch over."

    page.step("nok", 1)
    page.done()

    assert switch.desk.routes == [switch.route]


@pytest.mark.parametrize(
    ("turn", "problem"),
    [
        ("7", "Turn 7 cannot be recorded now; go on with turn 1."),
        ("x", "This page has lost its turn; go back and start the turn once more."),
        ("", "This page has lost its turn; go back and start the turn once more."),
    ],
)
def test_a_turn_that_is_not_there_is_said(switch, turn, problem):
    page = turn_page(switch, turn)

    assert page.state.problem == problem
    page.back()
    assert switch.desk.routes == [switch.route]


def test_a_turn_in_contradiction_takes_nothing_more(switch):
    switch.counts(6)
    switch.arrive(switch.turns[0], nok=4)
    page = turn_page(switch, 1)
    assert page.state.problem == (
        "Turn 1 was counted twice, on 2 tablets; go back and say first what holds."
    )

    page.step("nok", 1)

    assert len(switch.turns) == 2
    assert "say first what holds" in page.state.problem


def test_there_are_never_fewer_checked_than_nok():
    assert stepped(3, 3, "checked", -1) == (3, 3)
    assert stepped(3, 3, "nok", 1) == (4, 4)


# --- corrections


def test_a_count_is_corrected_with_why(switch):
    switch.counts(6, 0)
    page = form(CorrectTurnForm, switch, {"nok": "5"}, screen="correct_turn", number="1")
    assert (field(page, "state").value, field(page, "checked").value) == ("on", "20")
    page.record()
    assert page.state.problem == "Still needed: Or in your own words."

    page.fill("common", "Counted again")
    page.record()

    assert (switch.found.turns[0].count.nok, switch.turns[-1].why) == (5, "Counted again")
    assert switch.desk.routes == [switch.route]


def test_more_nok_than_checked_stays_in_the_form(switch):
    switch.counts(6)
    page = form(CorrectTurnForm, switch, {"nok": "21", "why": "x"}, screen="correct_turn", number="1")

    page.record()

    assert "must not be above checked" in page.state.problem
    assert field(page, "nok").value == "21"
    assert switch.found.turns[0].count.nok == 6


def test_one_value_or_the_state_of_a_whole_turn_is_corrected(force):
    wrong, _ = force.measure(1, "21", "2.3")
    where = {"screen": "correct_turn", "number": "1"}
    page = form(CorrectTurnForm, force, {"entry": wrong.id, "value": "2,1", "why": "x"}, **where)
    page.record()
    assert sorted(force.found.turns[0].values) == ["2.1", "2.3"]

    page = form(CorrectTurnForm, force, {"entry": "state", "why": "Switched late"}, **where)
    assert "value" not in {f.name for f in page.state.fields}
    page.record()
    assert force.found.turns[0].state == "off"

    (one, _) = force.found.turns[0].records
    page = form(CorrectTurnForm, force, {"entry": one.id, "value": "two", "why": "x"}, **where)
    page.record()
    assert page.state.problem == "The right value: must be a number such as 12.5."
    page.fill("value", "")
    page.record()
    assert len(force.found.turns[0].records) == 1


def test_correcting_a_turn_that_is_gone_is_said(switch):
    page = form(CorrectTurnForm, switch, screen="correct_turn", number="3")

    assert page.state.problem == "Turn 3 is not on record any more; go back and look."


def test_two_counts_are_settled_with_why(switch):
    switch.counts(6, 0)
    theirs = switch.arrive(switch.turns[1], nok=4)
    page = form(SettleTurnForm, switch, screen="settle_turn", number="2")
    assert [label for _, label in field(page, "entry").options] == [
        f"0 of 20 NOK, turn 2 off (tablet {switch.desk.store.device[-6:]}, QE-RT)",
        f"4 of 20 NOK, turn 2 off (tablet {theirs.device[-6:]}, SL-KB)",
    ]

    page.fill("entry", theirs.id)
    page.fill("common", "Looked at the parts again")
    page.record()

    assert switch.found.turns[1].count.nok == 4
    assert switch.found.problems == ()
    assert switch.found.turns[1].count.why.endswith("Looked at the parts again")


def test_a_reason_that_is_not_offered_is_none(switch):
    switch.counts(6)
    page = form(CorrectTurnForm, switch, {"common": "Because"}, screen="correct_turn", number="1")

    page.record()

    assert page.state.problem == "Say why, in a few words."
    assert len(switch.turns) == 1


def test_the_state_of_a_turn_is_settled_with_all_its_values(force):
    mine = force.measure(1, "2.1", "2.3")
    force.arrive(mine[0], state="off", value="1.1")
    page = form(SettleTurnForm, force, screen="settle_turn", number="1")
    assert [label for _, label in field(page, "entry").options] == ["ON: 2.1, 2.3", "OFF: 1.1"]

    page.fill("entry", mine[0].id)
    page.fill("why", "The other is another turn")
    page.record()

    assert sorted(force.found.turns[0].values) == ["2.1", "2.3"]


def test_a_turn_with_very_many_values_offers_the_newest(force):
    mine = force.measure(1, *(f"2.{number}" for number in range(30)))
    page = form(CorrectTurnForm, force, screen="correct_turn", number="1")
    assert [label for _, label in field(page, "entry").options][-2:] == ["2.29", "The whole turn was OFF"]
    assert len(field(page, "entry").options) == 25

    force.arrive(mine[0], state="off", value="1.1")
    page = form(SettleTurnForm, force, screen="settle_turn", number="1")
    assert field(page, "entry").options[0][1].endswith("2.7 and 22 more")


def test_entries_that_two_tablets_corrected_lead_to_the_page_of_disputes(switch):
    switch.counts(6)
    mine = switch.count(1, 7)
    switch.arrive(mine, nok=9)
    page = opened(ConfirmationPage, switch)

    page.turn("1")

    assert switch.desk.routes == [Route(screen="disputes", concern=switch.concern)]
    assert len(confirmations_of(switch.facts)) == 1
    assert all(isinstance(r, ConfirmationTurn) for r in switch.turns)
