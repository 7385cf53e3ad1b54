"""The hand is told what came to lie on disk, and only once it lies there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes import Desk, Queue
from walkapp.errors import StoreError
from walkapp.presenters.checks import JudgePage
from walkapp.presenters.devices import Devices
from walkapp.presenters.set_here import SetHere
from walkapp.presenters.settings import FEEDBACK, THEME
from walkapp.presenters.walk_forms import NoteForm


class Hand:
    """Notes what it is told, and how many records there were then."""

    def __init__(self, desk, ways=("sound", "buzz")):
        self.told, self.ways, self._desk = [], frozenset(ways), desk

    def tell(self, what, how):
        self.told.append((what, how, len(self._desk.records)))


@pytest.fixture
def queue():
    return Queue()


@pytest.fixture
def desk(tmp_path, queue):
    made = Desk(tmp_path, run_later=queue)
    with made.store:
        yield made


def feeling(desk, how="sound"):
    hand = Hand(desk)
    desk.session.devices = Devices(feedback=hand)
    if how:
        desk.session.settings.set_to(FEEDBACK, how)
    return hand


def at_ear(desk, queue):
    page = JudgePage(
        desk.session, replace(desk.walk(), screen="judge", station="leak-test", check="ear-look")
    )
    page.open()
    queue.run()
    return page


def test_a_record_is_told_when_it_is_on_disk_and_its_undo_as_taken_back(desk, queue):
    hand, page = feeling(desk), at_ear(desk, queue)
    assert hand.told == []  # reading tells nothing
    before = len(desk.records)

    page.answer("ok")
    assert hand.told == []
    queue.run()
    page.undo()
    queue.run()

    assert hand.told == [("recorded", "sound", before + 1), ("taken_back", "sound", before + 2)]


def test_a_form_tells_too(desk, queue):
    hand = feeling(desk, "both")
    form = NoteForm(desk.session, replace(desk.walk(), screen="note", station="leak-test"))
    form.open()
    queue.run()
    form.fill("words", "Pads are harder (invented)")
    form.record()
    queue.run()

    assert [(what, how) for what, how, _ in hand.told] == [("recorded", "both")]


def test_nothing_is_told_as_recorded_that_the_disk_has_refused(desk, queue, monkeypatch):
    hand, page = feeling(desk), at_ear(desk, queue)

    def full(_record):
        raise StoreError("The disk is full; make room.")

    monkeypatch.setattr(desk.store, "append", full)
    page.answer("ok")
    queue.run()

    assert hand.told == [] and page.state.frame.problem == "The disk is full; make room."


def test_at_first_nothing_is_told_and_what_is_set_holds_at_once(desk, queue):
    hand, page = feeling(desk, how=""), at_ear(desk, queue)

    page.answer("ok")
    queue.run()
    assert hand.told == []
    desk.session.settings.set_to(FEEDBACK, "buzz")
    page.answer("ok")
    queue.run()

    assert [how for _, how, _ in hand.told] == ["buzz"]


@pytest.mark.parametrize(
    ("ways", "offered"),
    [((), ["off"]), (("sound",), ["off", "sound"]), (("sound", "buzz"), ["off", "sound", "buzz", "both"])],
)
def test_only_what_the_tablet_has_is_offered(desk, ways, offered):
    settings = SetHere(desk.session.kept, Devices(feedback=Hand(desk, ways)))

    assert [word for word, _ in settings.options_here(FEEDBACK)] == offered
    assert settings.options_here(THEME) == THEME.options
