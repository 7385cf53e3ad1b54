"""Whatever is half done on any page is there again after the app was ended without another word."""

from __future__ import annotations

import pkgutil
import shutil
from dataclasses import replace

import pytest

from tests.builders import id_maker
from tests.everywhere import open_desk
from tests.fakes import Desk, run_now
from walkapp.errors import StoreError
from walkapp.files import DISK
from walkapp.presenters.form import FormPage
from walkapp.presenters.intake import IntakePage
from walkapp.presenters.kept import NOT_KEPT
from walkapp.presenters.pages import PAGES, page_class
from walkapp.presenters.route import Route
from walkapp.presenters.session import Session

pytestmark = pytest.mark.long

TYPED = {"words": "half a word", "offered": "half a word", "day": "2026-03", "whole": "1"}
"""What is in a field when the app ends, by the form of the field: no more than a part of a value."""

BY_HAND = ("search", "measure", "count", "trial_run", "confirmation_turn")
"""Pages that take input and are no forms."""


def takes_input(screen: str) -> bool:
    """Whether something can be begun on a page that is no record yet."""
    page = page_class(screen)
    return screen in BY_HAND or issubclass(page, (FormPage, IntakePage))


def session_on(tablet, folder) -> Session:
    return Session(
        tablet.place, run_later=run_now, go=lambda route: None,
        picture_folders=(folder / "camera",), bundles=folder / "bundles",
    )  # fmt: skip


def opened(session, route):
    page = page_class(route.screen)(session, route)
    page.open()
    return page


@pytest.fixture(scope="module")
def after_the_end(opened_everywhere, tmp_path_factory):
    """The same store for the next start; what the first one notes is laid into it."""
    folder = tmp_path_factory.mktemp("next-start")
    shutil.copytree(
        opened_everywhere.folder / "desk", folder / "desk", ignore=shutil.ignore_patterns("lock", "ballast")
    )
    tablet = open_desk(folder)
    with tablet.place.store:
        yield tablet, folder


def end_without_a_word(everywhere, session, page, route, after_the_end):
    """Pause as the window does, end, and start again; give the page that the next start opens."""
    session.kept.keep_route(route)
    if (values := page.in_hand()) is not None:
        session.kept.keep_in_hand(route, values)
    tablet, folder = after_the_end
    shutil.copyfile(everywhere.folder / "desk" / "place.json", folder / "desk" / "place.json")
    again = session_on(tablet, folder)
    assert again.kept.route() == route
    return opened(again, again.kept.route())


def half_fill(page) -> None:
    for field in page.state.fields:
        if field.form == "choice":
            page.fill(field.name, field.options[-1][0] if field.options else "")
        else:
            page.fill(field.name, TYPED[field.form])


@pytest.mark.parametrize("screen", [name for name in PAGES if issubclass(page_class(name), FormPage)])
def test_a_form_opens_again_with_every_half_filled_field(everywhere, after_the_end, screen):
    route = everywhere.one_for_each_page()[screen]
    session = session_on(everywhere.tablet, everywhere.folder)
    page = opened(session, route)
    if not page.state.fields:  # the demo has nothing that this page could be about
        assert page.state.problem or page.state.words
        return
    half_fill(page)

    again = end_without_a_word(everywhere, session, page, route, after_the_end)

    assert [(f.name, f.value) for f in again.state.fields] == [(f.name, f.value) for f in page.state.fields]
    assert any(field.value for field in again.state.fields)


def test_what_is_typed_on_the_pad_of_a_measurement_comes_back_with_its_part_and_unit(
    everywhere, after_the_end
):
    route = everywhere.routes["measure-part"]
    session = session_on(everywhere.tablet, everywhere.folder)
    page = opened(session, route)
    page.switch_tags()
    if not page.state.tag.tag:
        page.switch_tags()
    page.step_tag(3)
    for key in "12.":
        page.press(key)

    again = end_without_a_word(everywhere, session, page, route, after_the_end)

    assert again.state.pad.text == "12."
    assert again.state.tag == page.state.tag
    assert again.state.tolerance.value == page.state.tolerance.value
    assert again.state.ask_again == "12. was typed here before and is no entry yet: go on, or delete it."


@pytest.mark.parametrize("name", ["count", "confirmation-turn"])
def test_the_number_that_is_typed_for_a_count_comes_back(everywhere, after_the_end, name):
    route = everywhere.routes[name]
    session = session_on(everywhere.tablet, everywhere.folder)
    page = opened(session, route)
    if page.state.pad is None:
        page.open_pad("nok")
    page.press("7")

    again = end_without_a_word(everywhere, session, page, route, after_the_end)

    assert (again.state.pad.text, again.state.pad_for) == ("7", page.state.pad_for)


def test_the_run_of_a_trial_comes_back_with_counts_reason_and_the_digits_on_the_pad(
    everywhere, after_the_end
):
    route = everywhere.routes["trial-run"]
    session = session_on(everywhere.tablet, everywhere.folder)
    page = opened(session, route)
    page.step("nok", 1)
    page.open_pad("checked")
    page.press("4")

    again = end_without_a_word(everywhere, session, page, route, after_the_end)

    assert again.state == replace(page.state, problem="")
    assert (again.state.pad.text, again.state.pad_for) == ("4", "checked")


@pytest.mark.parametrize("screen", [name for name in PAGES if issubclass(page_class(name), IntakePage)])
def test_what_the_next_picture_shows_comes_back(everywhere, after_the_end, screen):
    route = everywhere.one_for_each_page()[screen]
    session = session_on(everywhere.tablet, everywhere.folder)
    page = opened(session, route)
    page.fill("half a cap")

    again = end_without_a_word(everywhere, session, page, route, after_the_end)

    assert again.state.caption == "half a cap"


def test_what_was_looked_for_comes_back(everywhere, after_the_end):
    session = session_on(everywhere.tablet, everywhere.folder)
    page = opened(session, Route(screen="search"))
    page.type("pa")

    again = end_without_a_word(everywhere, session, page, page.route, after_the_end)

    assert again.state.words == "pa"


def test_every_page_that_takes_input_is_one_of_those():
    begun = {name for name in PAGES if takes_input(name)}
    for name in PAGES:
        page = page_class(name)
        state = pkgutil.resolve_name(page.__module__)
        has_pad = "PadState" in vars(state) and any(
            hasattr(page, call) for call in ("open_pad", "switch_tags")
        )
        assert name in begun or not (hasattr(page, "fill") or hasattr(page, "type") or has_pad), name


# --- what is an entry already -----------------------------------------------------------------------


def measuring(desk):
    route = replace(desk.walk(), screen="measure", station="moulding", check="ear-wall")
    return route, opened(desk.session, route)


def test_digits_that_became_an_entry_before_the_app_ended_are_not_offered_again(desk):
    route, page = measuring(desk)
    for key in "3.1":
        page.press(key)
    desk.session.kept.keep_in_hand(route, page.in_hand())  # and then the battery dies, just after this:
    page.press("enter")

    again = opened(desk.session, route)

    assert again.state.pad.text == "" and again.state.ask_again == ""
    assert [r.value for r in desk.records if r.kind == "measurement"] == ["3.1"]


def test_digits_stay_while_something_else_is_recorded_at_another_check(desk):
    route, page = measuring(desk)
    page.press("1")
    desk.session.kept.keep_in_hand(route, page.in_hand())
    judge = opened(desk.session, replace(route, screen="judge", check="ear-look"))
    judge.answer("ok")

    assert opened(desk.session, route).state.pad.text == "1"


def test_a_value_that_is_hardly_possible_is_asked_for_even_when_it_was_typed_before(desk):
    route, page = measuring(desk)
    for key in "999":
        page.press(key)
    desk.session.kept.keep_in_hand(route, page.in_hand())
    again = opened(desk.session, route)

    again.press("enter")

    assert again.state.ask_again == "999 mm is hardly possible here. Press Enter again to keep it."
    assert not [r for r in desk.records if r.kind == "measurement"]


@pytest.mark.parametrize("kept", ["x", "1" * 400, "--1", "1e5", "‮12", "٣"])
def test_a_pad_is_empty_where_the_note_of_the_place_was_spoilt(desk, kept):
    route, _ = measuring(desk)
    desk.session.kept.keep_in_hand(route, {"typed": kept, "unit": "no such", "part": kept, "tags": kept})

    assert opened(desk.session, route).state.pad.text == ""


def test_the_unit_that_is_chosen_is_chosen_after_a_restart(desk):
    route = replace(desk.walk(), screen="judge", station="welding", check="ear-look")
    page = opened(desk.session, route)
    unit = page.state.head.units.names[1]

    page.choose_unit(unit)

    assert opened(desk.session, desk.session.kept.route()).state.head.units.chosen == unit


# --- a disk that takes nothing ----------------------------------------------------------------------


class Refusing:
    """Lets the disk of a store refuse to write, while it is told to."""

    def __init__(self, monkeypatch) -> None:
        self.refuses = False
        for name in ("write", "reserve"):
            monkeypatch.setattr(type(DISK), name, self._guard(getattr(type(DISK), name)))

    def _guard(self, operation):
        def guarded(disk, *said):
            if self.refuses:
                raise OSError(28, "No space left on device")
            return operation(disk, *said)

        return guarded


def test_a_full_disk_says_that_what_is_typed_is_not_kept_and_keeps_it_until_there_is_room(
    tmp_path, monkeypatch
):
    disk = Refusing(monkeypatch)
    desk = Desk(tmp_path)
    with desk.store:
        page = opened(desk.session, Route(screen="new_concern"))
        disk.refuses = True
        page.fill("lots", "0225-1")
        assert page.state.problem == NOT_KEPT

        # Leaving the page and coming back loses nothing while the app runs.
        assert "0225-1" in str(opened(desk.session, Route(screen="new_concern")).state.fields)

        # With room, the next key keeps all of it, and the page says nothing any more.
        disk.refuses = False
        page.fill("lots", "0225-12")
        assert page.state.problem == ""
    again = Desk(tmp_path)
    with again.store:
        assert "0225-12" in str(opened(again.session, Route(screen="new_concern")).state.fields)


def test_a_full_disk_refuses_the_entry_and_the_same_tap_works_when_there_is_room(tmp_path, monkeypatch):
    disk = Refusing(monkeypatch)
    desk = Desk(tmp_path)
    with desk.store:
        route, page = measuring(desk)
        for key in "3.1":
            page.press(key)
        disk.refuses = True
        page.press("enter")
        assert "was not saved" in page.state.frame.problem and "is full" in page.state.frame.problem
        assert page.state.pad.text == "3.1" and page.state.values == ""
        with pytest.raises(StoreError):
            desk.session.kept.keep_in_hand(route, page.in_hand())
        assert opened(desk.session, route).state.pad.text == "3.1"

        disk.refuses = False
        page.press("enter")
        assert page.state.values == "3.1" and page.state.frame.problem == ""


def test_a_full_disk_takes_the_index_of_words_away_before_it_refuses_an_entry(tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        desk.concern()
        index = desk.store.search_file
        index.write_bytes(b"x" * 1000)

        class Full(type(DISK)):
            def write(self, file, data):
                if index.exists():
                    raise OSError(28, "No space left on device")
                return super().write(file, data)

    again = Desk(tmp_path / "other", seed=5)
    again.store.close()
    from walkapp.store import Store

    with Store(desk.store.folder, now=desk.place.now, new_id=id_maker(9), app="t", disk=Full()) as store:
        assert index.exists()
        store.keep_checklist("ab" * 32, {"stream.toml": b"x"})
        assert not index.exists()
