"""Which language is spoken: the one that is set, that the call asks for, or that the tablet is set to."""

from __future__ import annotations

import pytest

from tests.fakes import Desk
from walkapp.actions.searching import Finder
from walkapp.actions.speaking import AS_SYSTEM
from walkapp.errors import StoreError
from walkapp.language import ENGLISH, current, use
from walkapp.presenters.devices import Devices
from walkapp.presenters.session import Session
from walkapp.presenters.settings import LANGUAGE, Setting


@pytest.fixture(autouse=True)
def english_again():
    yield
    use(ENGLISH)


def session(desk: Desk, *, system: str = "en", asked: str = "") -> Session:
    return Session(
        desk.place, run_later=desk.session._run_later, go=desk.routes.append,
        picture_folders=(desk.pictures,), bundles=desk.pictures, devices=Devices(language=system),
        language=asked,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("kept", "asked", "system", "spoken"),
    [
        ("", "", "en", "en"),
        ("", "", "pl", "pl"),
        (AS_SYSTEM, "", "es_MX", "es_MX"),
        ("de", "", "pl", "de"),
        ("de", "es", "pl", "es"),
        ("a language of a newer version", "", "pl", "pl"),
    ],
)
def test_the_call_goes_before_the_setting_and_that_before_the_tablet(desk, kept, asked, system, spoken):
    if kept:
        desk.store.remember({f"set {LANGUAGE.word}": kept})
    own = session(desk, system=system, asked=asked)

    own.settings.follow(LANGUAGE, own.settings.speak)

    assert current().code == spoken


def test_what_is_chosen_later_goes_before_what_the_call_asked_for(desk):
    own = session(desk, asked="pl")
    assert own.settings.word(LANGUAGE) == "pl"

    own.settings.set_to(LANGUAGE, "de")

    assert own.settings.word(LANGUAGE) == "de"
    assert (own.settings.speak("de"), own.settings.speak("de")) == (True, False)


def test_another_setting_is_not_touched_by_the_language_of_the_call(desk):
    hand = Setting(word="hand", label="Which hand", options=(("right", "Right"), ("left", "Left")))

    assert session(desk, asked="pl").settings.word(hand) == "right"


def test_names_are_found_in_the_language_that_is_spoken(desk):
    desk.concern()
    finder = Finder(desk.place)

    def found(question: str) -> int:
        finder.update()
        return len(finder.find(question).results)

    assert (found("whitened"), found("gerissene")) == (1, 0)
    session(desk).settings.speak("de")
    assert (found("whitened"), found("gerissene")) == (0, 1)
    finder.close()


def test_what_the_disk_did_not_take_leaves_the_kept_language_and_not_that_of_the_call(desk, monkeypatch):
    desk.store.remember({f"set {LANGUAGE.word}": "de"})
    own = session(desk, asked="pl")

    def full(*_said):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr("walkapp.store.store.write_atomically", full)
        with pytest.raises(StoreError, match="nothing was changed"):
            own.settings.set_to(LANGUAGE, "es")

    assert own.settings.word(LANGUAGE) == "pl"
    assert session(desk).settings.word(LANGUAGE) == "de"
