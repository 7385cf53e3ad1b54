"""The page of this tablet: everything that can be set, kept on disk before it is shown, and what it is."""

from __future__ import annotations

import pytest

from tests.fakes import Desk, Queue, take_signing_library_away
from walkapp.actions.keys import make_key
from walkapp.files import fingerprint_of
from walkapp.presenters.home import HomePage
from walkapp.presenters.route import Route
from walkapp.presenters.settings import SETTINGS, THEME, Setting
from walkapp.presenters.tablet import TabletPage
from walkapp.store import Store


@pytest.fixture
def desk(tmp_path):
    desk = Desk(tmp_path)
    yield desk
    desk.store.close()


def opened(desk) -> TabletPage:
    page = TabletPage(desk.session, Route(screen="tablet"))
    page.open()
    return page


def facts(page):
    return page.state.sections[-1].words.splitlines()


def test_home_leads_to_it_and_back_leads_home(desk):
    HomePage(desk.session, Route()).to_tablet()

    assert desk.routes == [Route(screen="tablet")]
    assert desk.routes[0].up() == Route()


def test_everything_that_can_be_set_is_there_with_its_choices_in_order(desk):
    sections = opened(desk).state.sections[:-1]

    assert [(s.name, s.title, s.options) for s in sections] == [
        (setting.word, setting.label, setting.options) for setting in SETTINGS
    ]


def test_a_setting_that_was_never_touched_stands_at_its_first_choice(desk):
    assert [s.chosen for s in opened(desk).state.sections[:-1]] == [one.options[0][0] for one in SETTINGS]


@pytest.mark.parametrize(("setting", "word"), [(s, word) for s in SETTINGS for word, _ in s.options])
def test_one_tap_is_on_disk_after_a_restart_and_is_shown(desk, setting, word):
    page = opened(desk)

    page.pick(setting.word, word)

    assert {s.name: s.chosen for s in page.state.sections}[setting.word] == word
    assert page.state.saved == f"On disk: {setting.label}: {dict(setting.options)[word]}"
    with Store(
        desk.store.folder, now=desk.place.now, new_id=desk.place.new_id, app="again", writable=False
    ) as again:
        assert setting.read(again.place()) == word


def test_setting_one_thing_leaves_the_others_as_they_are(desk):
    page = opened(desk)

    for setting in SETTINGS:
        page.pick(setting.word, setting.options[-1][0])

    assert [desk.session.settings.word(setting) for setting in SETTINGS] == [
        s.options[-1][0] for s in SETTINGS
    ]


def test_a_follower_is_told_at_once_what_is_set_and_later_each_change_of_its_setting_alone(desk):
    told = []
    desk.session.settings.follow(THEME, told.append)
    page = opened(desk)

    page.pick("theme", "dark")
    page.pick("feedback", "buzz")
    page.pick("theme", "glare")

    assert told == ["light", "dark", "glare"]


def test_nothing_is_shown_and_nothing_takes_effect_before_it_is_on_disk(tmp_path):
    queue = Queue()
    desk = Desk(tmp_path, run_later=queue)
    with desk.store:
        told = []
        desk.session.settings.follow(
            THEME, lambda word: told.append((word, desk.session.settings.word(THEME)))
        )
        page = opened(desk)
        queue.run()

        page.pick("theme", "dark")
        assert page.state.sections[0].chosen == "light"
        assert page.state.saved == ""
        assert told == [("light", "light")]

        queue.run()
        assert page.state.sections[0].chosen == "dark"
        assert told == [("light", "light"), ("dark", "dark")]


def test_what_the_disk_did_not_take_is_said_and_takes_no_effect(desk):
    told = []
    desk.session.settings.follow(THEME, told.append)
    page = opened(desk)
    # A folder stands where the note would be written: what replaces a file cannot replace it.
    note = desk.store.folder / "place.json"
    note.unlink(missing_ok=True)
    (note / "in the way").mkdir(parents=True)

    page.pick("theme", "dark")

    assert page.state.problem == (
        "This could not be put on disk, so nothing was changed: delete old bundles or other files on this "
        "tablet and set it once more."
    )
    assert page.state.saved == ""
    assert page.state.sections[0].chosen == "light"
    assert told == ["light"]


def test_a_word_from_a_newer_version_is_read_as_the_first_choice(desk):
    desk.store.remember({"set theme": "moonlight"})

    assert opened(desk).state.sections[0].chosen == "light"


def test_it_says_id_version_folder_and_how_bundles_would_be_signed(desk):
    assert facts(opened(desk)) == [
        f"Name of this tablet in the records: {desk.store.device}",
        "Version of walkapp: 0.1.0",
        f"Folder of the records and pictures: {desk.store.folder}",
        "Bundles are not signed: this tablet has no key, and 'walkapp keys --make' makes one.",
    ]


def test_with_a_key_it_says_its_digits(desk):
    own = make_key(desk.place, bytes(range(32)))

    said = facts(opened(desk))[-1]

    assert said == f"Bundles are signed. Key of this tablet: {fingerprint_of(own.public_key)}"


def test_with_a_key_and_no_library_it_says_why_bundles_are_not_signed(desk, monkeypatch):
    make_key(desk.place, bytes(range(32)))
    take_signing_library_away(monkeypatch)

    said = facts(opened(desk))[-1]

    assert said.startswith(
        "Bundles of this tablet: Not signed, since the extra for signing is not installed"
    )


def test_what_others_add_to_the_settings_is_shown_and_kept_without_a_word_from_them(desk, monkeypatch):
    added = Setting(word="hand", label="Which hand taps", options=(("right", "Right"), ("left", "Left")))
    monkeypatch.setattr("walkapp.presenters.tablet.SETTINGS", (*SETTINGS, added))
    page = opened(desk)

    page.pick("hand", "left")

    assert page.state.sections[-2].title == "Which hand taps"
    assert page.state.sections[-2].chosen == "left"
