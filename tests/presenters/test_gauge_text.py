"""What a gauge sends, and what is pasted, on the pages where values are taken."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk, Queue
from tests.switches import FORCE, Switch
from tests.trials import Ground
from walkapp.errors import StoreError
from walkapp.model.records import Measurement
from walkapp.presenters.checks import CountPage
from walkapp.presenters.confirmation_turn import TurnPage
from walkapp.presenters.devices import Devices
from walkapp.presenters.measuring import MeasurePage
from walkapp.presenters.trial_run import TrialRunPage


class Copied:
    """A clipboard that holds a text."""

    def __init__(self, text):
        self._text = text

    def has_text(self):
        return bool(self._text)

    def text(self):
        return self._text


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


def at_temperature(desk, screen=MeasurePage):
    route = replace(desk.walk(), screen="measure", station="leak-test", check="part-temperature")
    page = screen(desk.session, route)
    page.open()
    return page


def values(desk):
    return [(r.value, r.unit_of_measure) for r in desk.records if isinstance(r, Measurement)]


@pytest.mark.parametrize("text", ["+0041.50", "41,50 °C", "41.50 degC"])
def test_the_enter_of_a_gauge_records_what_enter_on_the_pad_would(desk, text):
    page = at_temperature(desk)

    page.take_text(text)

    assert values(desk) == [("41.50", "°C")]
    assert page.state.pad.text == "" and page.state.values.startswith("41.50")


def test_a_value_in_another_unit_is_shown_with_what_it_became_before_it_is_recorded(desk):
    page = at_temperature(desk)

    page.take_text("104.0 °F")
    assert values(desk) == []
    assert page.state.received == "What came is 104.0 °F, that is 40.00 °C. Press Enter to record it."
    assert page.state.tolerance.value == "40.00 °C"
    page.press("enter")

    assert values(desk) == [("40.00", "°C")] and page.state.received == ""


def test_a_value_that_came_while_another_was_typed_takes_its_place_and_waits_for_enter(desk):
    page = at_temperature(desk)
    for key in "39":
        page.press(key)

    page.take_text("41.5")

    assert values(desk) == [] and page.state.pad.text == "41.5"
    assert "in place of the 39 that was typed" in page.state.received
    page.press("enter")
    assert values(desk) == [("41.5", "°C")]


def test_an_impossible_value_of_a_gauge_is_asked_for_once_more(desk):
    page = at_temperature(desk)

    page.take_text("4150")
    assert values(desk) == [] and "hardly possible" in page.state.ask_again
    page.press("enter")

    assert values(desk) == [("4150", "°C")]


@pytest.mark.parametrize("text", ["41.5 mm", "41.5;42.0", "4012345678901", "9" * 5000])
def test_what_is_no_value_of_this_check_is_refused_in_one_sentence_and_nothing_is_typed(desk, text):
    page = at_temperature(desk)

    page.take_text(text)

    assert values(desk) == [] and page.state.pad.text == ""
    assert page.state.is_refused
    assert page.state.received.endswith(".") and len(page.state.received) < 200
    page.press("4")
    assert (page.state.received, page.state.is_refused) == ("", False)


def test_nothing_is_recorded_while_the_units_are_shown_instead_of_the_pad(desk):
    page = at_temperature(desk)
    page.press("unit")

    page.take_text("41.5")

    assert values(desk) == [] and not page.state.is_choosing_unit and page.state.pad.text == "41.5"


def test_a_pasted_value_is_shown_and_only_enter_records_it(desk):
    desk.session.devices = Devices(clipboard=Copied("40,2 °C\n"))
    page = at_temperature(desk)
    assert page.state.can_paste

    page.paste()
    assert values(desk) == [] and page.state.pad.text == "40.2"
    page.press("enter")

    assert values(desk) == [("40.2", "°C")] and page.state.can_paste


def test_nothing_is_offered_to_paste_where_there_is_nothing(desk):
    assert not at_temperature(desk).state.can_paste
    desk.session.devices = Devices(clipboard=Copied(""))
    assert not at_temperature(desk).state.can_paste


def test_counts_and_answers_leave_what_a_gauge_sends(desk):
    before = len(desk.records)
    page = at_temperature(desk, CountPage)
    page.open_pad("checked")

    page.take_text("25")

    assert len(desk.records) == before + 2 and page.state.pad.text == ""  # the concern and its walk


def test_a_slow_disk_records_a_value_once_and_loses_no_digit_typed_meanwhile(tmp_path):
    queue = Queue()
    desk = Desk(tmp_path, run_later=queue)
    with desk.store:
        page = at_temperature(desk)
        queue.run()
        for key in ("4", "1", "enter", "enter", "3", "9"):
            page.press(key)
        queue.run()

        assert values(desk) == [("41", "°C")] and page.state.pad.text == "39"
        page.press("enter")
        queue.run()
        assert values(desk) == [("41", "°C"), ("39", "°C")]


def test_a_value_that_the_disk_refuses_stands_on_the_pad_again(desk, monkeypatch):
    page = at_temperature(desk)

    def full(_record):
        raise StoreError("The disk is full; make room.")

    monkeypatch.setattr(desk.store, "append", full)
    page.take_text("41.5")

    assert (page.state.pad.text, page.state.frame.problem) == ("41.5", "The disk is full; make room.")
    assert page.state.tolerance.value == "41.5 °C"


def test_a_turn_of_an_on_off_confirmation_takes_what_a_gauge_sends(desk):
    switch = Switch(desk, **FORCE)  # in mm
    page = TurnPage(desk.session, replace(switch.route, screen="confirmation_turn", number="1"))
    page.open()

    page.take_text("+001.25mm")
    assert [record.value for record in switch.turns] == ["1.25"]
    page.take_text("0.05 in")
    assert len(switch.turns) == 1 and "that is 1.27 mm" in page.state.received
    page.press("enter")
    page.take_text("3 bar")

    assert [record.value for record in switch.turns] == ["1.25", "1.27"]
    assert page.state.problem.startswith("A value in bar cannot be taken")


def test_a_run_of_a_trial_takes_what_a_gauge_sends_and_one_with_a_draft_waits(desk):
    trial = Ground(desk, measured="Ear gap", unit="mm")
    page = TrialRunPage(desk.session, trial.route("trial_run", "1"))
    page.open()

    page.take_text("1.25 mm")
    assert trial.now.recorded(1).value == "1.25"
    again = TrialRunPage(desk.session, trial.route("trial_run", "2"))
    again.open()
    again.press("7")
    again.take_text("1.3")

    assert trial.now.recorded(2) is None and again.state.pad.text == "1.3"
    again.press("enter")
    assert trial.now.recorded(2).value == "1.3"
