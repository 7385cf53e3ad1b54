"""A tablet's life in a real window: pause, back, rotation, little memory, a disk that refuses."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pytest
from kivy.uix.recycleview import RecycleView

from tests.everywhere import open_desk
from tests.fakes import Desk
from tests.screens.layout_check import problems
from walkapp.app import window_app
from walkapp.demo.desk_routes import DRAWN
from walkapp.demo.hand import Hand
from walkapp.demo.tour import TouchWalk
from walkapp.files import DISK
from walkapp.presenters.kept import NOT_KEPT
from walkapp.presenters.pages import page_class
from walkapp.presenters.route import Route
from walkapp.screens.background import NO_MEMORY
from walkapp.screens.stops import scroll_views, stops_of
from walkapp.screens.trouble import TroubleApp
from walkapp.screens.window import SCREENS

pytestmark = [pytest.mark.long, pytest.mark.window]

LYING, STANDING = (1024, 600), (600, 1024)


class Seen:
    """The app on a store in the window."""

    def __init__(self, drive, tablet, folder, size=LYING) -> None:
        self.app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
        self.hand = drive(self.app, size=size)
        self.touch = TouchWalk(tablet, self.hand, folder / "camera")
        self.touch.settle()

    def go(self, route) -> None:
        self.app.go(route)
        self.touch.settle()
        self.hand.wait(0.35)  # a touch just after a page has opened is taken for a bounce

    def tap(self, *names) -> None:
        for name in names:
            self.touch.tap(name)

    def fields(self) -> list[str]:
        return [stop.name for stop in stops_of(self.app.page) if stop.is_field]

    def problem(self) -> str:
        """What the page says is wrong."""
        shown = (w for w in self.hand.widgets() if getattr(w, "test_name", "") == "problem")
        return " ".join(widget.text for widget in shown if widget.text)

    def focused(self) -> list[str]:
        return [stop.name for stop in stops_of(self.app.page) if stop.is_field and stop.widget.focus]


def throw_away(seen, monkeypatch) -> None:
    """End the app after a pause without another word: `on_stop` puts nothing on disk any more."""
    monkeypatch.setattr(seen.app, "_keep_all", lambda: None)


@pytest.mark.parametrize("name", ["note", "new-concern", "measure", "count", "search", "limit-ok"])
def test_after_a_pause_and_an_end_the_next_start_shows_the_same_page_half_filled(
    drive, everywhere, tmp_path, monkeypatch, name
):
    # Arrange: half of something on the page, by touch.
    seen = Seen(
        lambda app, **sizes: Hand(app, folder=tmp_path, **sizes), everywhere.tablet, everywhere.folder
    )
    seen.go(everywhere.routes[name])
    if fields := seen.fields():
        field = seen.hand.find(fields[-1])
        seen.tap(fields[-1])
        field.select_all()
        field.delete_selection()
        seen.hand.type("half a w")
    else:
        if name == "count":
            seen.tap("nok-value")
        seen.app.page.presenter.press("clear")  # what another test has left; a low window has no key for it
        seen.tap("key-1", "key-2")
    for view in list(scroll_views(seen.app.page))[:1]:
        view.scroll_y = 0.25
        seen.hand.wait(0.1)
    scrolled = [view.scroll_y for view in scroll_views(seen.app.page)]
    state, route = seen.app.page.presenter.state, seen.app.route

    # Act: a pause, and nothing after it.
    assert seen.app.dispatch("on_pause") is True
    folder = tmp_path / "next"
    shutil.copytree(
        everywhere.folder / "desk", folder / "desk", ignore=shutil.ignore_patterns("lock", "ballast")
    )
    throw_away(seen, monkeypatch)
    assert seen.hand.close() == []
    tablet = open_desk(folder)
    with tablet.place.store:
        again = Seen(drive, tablet, folder)
        again.hand.wait(0.3)

        # Assert
        assert again.app.route == route
        shown = again.app.page.presenter.state
        if fields:
            assert again.hand.find(fields[-1]).text == "half a w"
        else:
            assert shown.pad.text == state.pad.text == "12"
        if len(scrolled) == len(list(scroll_views(again.app.page))):
            assert [view.scroll_y for view in scroll_views(again.app.page)] == pytest.approx(
                scrolled, abs=0.02
            )


def test_after_a_pause_the_page_looks_again_and_leaves_what_is_in_hand_alone(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        walk = desk.walk()
        seen = Seen(drive, desk, tmp_path)
        seen.go(replace(walk, screen="photo"))
        assert not seen.hand.has("picture-1")
        seen.app.dispatch("on_pause")
        desk.pictures.mkdir(exist_ok=True)
        from walkapp.demo.pictures import draw

        (desk.pictures / "new.jpg").write_bytes(draw("leak-tester-hard-pads"))
        seen.app.dispatch("on_resume")
        seen.hand.until(lambda: seen.hand.has("picture-1"))

        seen.go(replace(walk, screen="measure", check="ear-wall"))
        seen.tap("key-2")
        seen.app.dispatch("on_pause")
        seen.app.dispatch("on_resume")
        seen.touch.settle()
        assert seen.app.page.presenter.state.pad.text == "2"
        assert problems(seen.hand.window, pixels_per_inch=170) == []


def test_digits_that_the_back_button_leaves_behind_come_back_with_a_word(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        seen = Seen(drive, desk, tmp_path)
        check = replace(desk.walk(), screen="measure", check="ear-wall")
        seen.go(check)
        seen.tap("key-2", "key-point", "key-4")
        seen.hand.back()
        seen.go(check)

        assert seen.hand.find("ask-again").text.startswith("2.4 was typed here before and is no entry yet")
        seen.tap("key-9", "key-enter")
        assert [r.value for r in desk.records if r.kind == "measurement"] == ["2.49"]
        seen.hand.back()
        seen.touch.settle()
        seen.go(check)
        assert seen.app.page.presenter.state.pad.text == ""


def test_the_tablets_back_button_leads_up_from_every_kind_of_screen_and_leaves_the_app_at_home(
    drive, everywhere
):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    tried = set()
    for name, route in everywhere.routes.items():
        screen = page_class(route.screen).screen if route.screen not in SCREENS else route.screen
        if screen in tried or screen == "home" or name in DRAWN:
            continue
        tried.add(screen)
        seen.app.go(route)
        seen.app.worker.finish()
        seen.hand.wait(1 / 60)
        here = seen.app.route  # a page may lead on at once, as an audit that is answered does

        assert seen.hand.back(), name
        assert seen.app.route == here.up(), name

    assert len(tried) > len(SCREENS) * 0.8
    seen.app.go(Route())
    assert not seen.hand.back()


def test_a_field_that_is_typed_into_takes_the_first_back_for_itself(drive, everywhere):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    seen.go(everywhere.routes["lesson"])
    seen.tap(seen.fields()[0])
    assert seen.focused()

    seen.hand.back()
    assert (seen.focused(), seen.app.route.screen) == ([], "lesson")
    seen.hand.back()
    seen.touch.settle()
    assert seen.app.route.screen == "lessons"


@pytest.mark.parametrize(
    "name", ["new-concern", "note", "new-action", "search", "limit-ok", "audit-not-done"]
)
def test_turning_the_tablet_while_typing_keeps_text_and_focus(drive, everywhere, name):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    seen.go(everywhere.routes[name])
    field = seen.fields()[0]
    seen.tap(field)
    seen.hand.type("xy")
    text = seen.hand.find(field).text
    assert text.endswith("xy")

    for size in (STANDING, LYING):
        seen.hand.turn(size)
        assert (seen.hand.find(field).text, seen.focused()) == (text, [field])
        seen.hand.type("z")
        text += "z"


@pytest.mark.parametrize("name", ["measure", "count", "trial-run", "confirmation-turn"])
def test_turning_the_tablet_keeps_the_digits_on_the_pad(drive, everywhere, name):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    seen.go(everywhere.routes[name])
    if name in ("count", "trial-run", "confirmation-turn") and seen.app.page.presenter.state.pad is None:
        seen.tap("nok-value")
    seen.app.page.presenter.press("clear")  # what another test has left; a low window has no key for it
    seen.tap("key-1")

    for size, typed in ((STANDING, "12"), (LYING, "122")):
        seen.hand.turn(size)
        seen.tap("key-2")
        assert seen.app.page.presenter.state.pad.text == typed


def test_turning_the_tablet_keeps_rows_that_are_scrolled_near_and_answers_on_their_rows(drive, everywhere):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    seen.go(Route(screen="search"))
    seen.app.page.presenter.type("c")
    rows = next(w for w in seen.hand.widgets() if isinstance(w, RecycleView))
    seen.hand.until(lambda: len(rows.data) > 12)
    seen.touch.settle()
    rows.scroll_y = 0.5
    seen.hand.wait(0.2)

    def shown() -> dict[int, str]:
        views = [rows.view_adapter.get_visible_view(n) for n in range(len(rows.data))]
        return {n: view.title for n, view in enumerate(views) if view is not None}

    before = shown()
    for size in (STANDING, LYING):
        seen.hand.turn(size)
        seen.hand.wait(0.2)
        now = shown()
        assert set(now) & set(before)  # a row that was seen is seen
        assert all(rows.data[n]["title"] == title for n, title in now.items())


def test_memory_is_given_back_when_the_device_asks_for_it_and_all_pages_go_on_working(drive, everywhere):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    for name in ("concern", "photo", "review", "new-action", "measure", "note"):
        seen.go(everywhere.routes[name])
    seen.tap(seen.fields()[0])
    seen.hand.type("kept")
    screens = len(seen.app.manager.screens)

    seen.app.free_memory()
    seen.hand.wait(0.2)

    assert screens > 4 and len(seen.app.manager.screens) == 1
    assert seen.hand.find(seen.fields()[0]).text.endswith("kept")
    for name in ("photo", "measure", "new-action"):
        seen.go(everywhere.routes[name])
        assert seen.app.page.name in ("photo", "measure", "form")


def test_work_that_finds_no_memory_says_so_in_one_sentence_and_gives_memory_back(drive, tmp_path):
    desk = Desk(tmp_path)
    with desk.store:
        seen = Seen(drive, desk, tmp_path)
        seen.go(replace(desk.walk(), screen="note"))
        seen.tap(seen.fields()[0])
        seen.hand.type("clamp pads")
        shown = len(seen.app.manager.screens)
        assert shown == 2

        def too_much() -> None:
            raise MemoryError

        seen.app.worker(too_much, lambda _: None, seen.app.page.presenter.fail)
        seen.touch.settle()

        assert NO_MEMORY in seen.hand.texts()
        assert len(seen.app.manager.screens) == 1
        seen.tap("record")
        assert [r.words for r in desk.records if r.kind == "note"] == ["clamp pads"]


class FullDisk:
    """Lets every disk refuse to write while it is told to, as one without any room."""

    def __init__(self, monkeypatch) -> None:
        self.is_full = False
        for name in ("write", "reserve"):
            monkeypatch.setattr(type(DISK), name, self._guard(getattr(type(DISK), name)))

    def _guard(self, operation):
        def guarded(disk, *said):
            if self.is_full:
                raise OSError(28, "No space left on device")
            return operation(disk, *said)

        return guarded


def test_on_a_full_disk_no_entry_is_shown_as_kept_and_the_same_tap_works_when_there_is_room(
    drive, tmp_path, monkeypatch
):
    disk, desk = FullDisk(monkeypatch), Desk(tmp_path)
    with desk.store:
        walk = desk.walk()
        seen = Seen(drive, desk, tmp_path)
        seen.go(replace(walk, screen="judge", station="welding", check="ear-look"))
        seen.tap("answer-ok")
        before = len(desk.records)

        disk.is_full = True
        seen.hand.wait(0.35)
        progress = seen.hand.find("progress").text
        seen.tap("answer-not_ok")
        said = seen.problem()
        assert "was not saved" in said and "delete old bundles" in said
        assert seen.hand.find("progress").text == progress and len(desk.records) == before

        seen.go(replace(walk, screen="note", station="welding"))
        seen.tap(seen.fields()[0])
        seen.hand.type("pads")
        seen.touch.settle()
        assert seen.problem() == NOT_KEPT
        seen.tap("record")
        assert "was not saved" in seen.problem()
        assert seen.hand.find(seen.fields()[0]).text == "pads" and len(desk.records) == before

        disk.is_full = False
        seen.hand.wait(0.35)
        seen.tap("record")
        assert [r.words for r in desk.records if r.kind == "note"] == ["pads"]
        seen.go(replace(walk, screen="judge", station="welding", check="ear-look"))
        seen.tap("answer-not_ok")
        assert len(desk.records) == before + 2


def test_an_app_that_cannot_start_says_why_in_a_window(drive):
    sentence = (
        "The store could not be opened: /storage/card/walkapp is on a medium that can only be read; choose "
        "a folder that can be written; nothing saved before is lost."
    )
    hand = drive(TroubleApp(sentence), size=(600, 1024))
    hand.wait(0.2)

    assert hand.find("problem").text == sentence
    assert problems(hand.window, pixels_per_inch=170) == []
    assert hand.app.dispatch("on_pause") is True


def test_a_view_that_is_scrolled_all_day_keeps_one_binding_for_its_bar(drive, everywhere):
    seen = Seen(drive, everywhere.tablet, everywhere.folder)
    seen.go(everywhere.routes["concern"])
    view = next(scroll_views(seen.app.page))

    for step in range(60):
        view.scroll_y = step % 10 / 10
        seen.hand.wait(1 / 60)

    assert len(view.get_property_observers("bar_color")) <= 2  # Kivy's own way: one more for each frame
