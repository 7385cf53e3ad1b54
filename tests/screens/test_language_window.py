"""Languages in a real window: one is chosen by a tap, all pages follow at once and after a restart."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace

import pytest

from tests.fakes import Desk
from tests.screens.fit_matrix import GLASSES, Setting, walk_tablet
from tests.screens.fit_places import demo_tablet
from walkapp.app import window_app
from walkapp.demo.hand import Hand
from walkapp.demo.tour import TouchWalk
from walkapp.language import ENGLISH, use
from walkapp.model.records import Measurement
from walkapp.presenters.devices import Devices
from walkapp.presenters.route import Route
from walkapp.presenters.settings import LANGUAGE

pytestmark = pytest.mark.window

SMALL = next(glass for glass in GLASSES if glass.name == "1024x600 at 1")


@pytest.fixture(autouse=True)
def english_again():
    """Leave the language as it was found."""
    yield
    use(ENGLISH)


class Floor:
    """A tablet with a concern, in a window."""

    def __init__(self, drive, desk: Desk, folder, **more) -> None:
        self.app = window_app(desk.place, folder / "camera", bundles=folder / "bundles", **more)
        self.hand = drive(self.app, size=(1280, 800))
        self.touch = TouchWalk(desk, self.hand, folder / "camera")
        self.touch.settle()

    def choose(self, word: str) -> None:
        self.touch.tap("tablet")
        self.touch.tap(f"pick-language-{word}")
        self.hand.wait(0.4)  # a second tap on the same button so soon is a bounce

    def texts_of(self, *routes: Route) -> list[list[str]]:
        said = []
        for route in routes:
            self.app.go(route)
            self.touch.settle()
            said.append(self.hand.texts())
        return said


def test_german_is_chosen_by_touch_and_all_is_german_at_once_and_after_a_restart(drive, tmp_path):
    def start(app, **sizes):
        return Hand(app, folder=tmp_path, **sizes)

    desk = Desk(tmp_path)
    with closing(desk.store):
        station = desk.walk()
        places = (
            Route(), Route(screen="new_concern"), Route(screen="concern", concern=station.concern), station,
        )  # fmt: skip
        floor = Floor(start, desk, tmp_path)
        english = floor.texts_of(*places)
        floor.app.go(Route())
        floor.touch.settle()

        floor.choose("de")

        assert desk.session.settings.word(LANGUAGE) == "de"
        assert floor.hand.find("saved").text == "Gespeichert: Sprache: Deutsch"
        assert floor.hand.find("pick-language-de").is_framed
        assert "Dieses Tablet" in floor.hand.texts()
        assert "Wie dieses Tablet eingestellt ist" in floor.hand.texts()
        german = floor.texts_of(*places)
        assert any("Neue Beanstandung" in text for text in german[0])
        assert any("Spritzgießen" in text for text in german[3])
        assert all(one != other for one, other in zip(german, english, strict=True))
        floor.app.go(Route(screen="tablet"))
        floor.touch.settle()
        assert floor.hand.close() == []
        use(ENGLISH)  # as a program that has just been started

        again = Floor(drive, desk, tmp_path)
        assert again.app.page.presenter.route.screen == "tablet"
        assert "Dieses Tablet" in again.hand.texts()
        # What was built in English before it was chosen says the same as what never was.
        assert again.texts_of(*places) == german

        again.app.go(Route())
        again.touch.settle()
        again.choose("en")
        assert again.hand.find("saved").text == "On disk: Language: English"
        assert again.texts_of(*places) == english


def test_numbers_have_a_comma_on_the_pad_and_in_the_answer_and_a_point_on_disk(drive, tmp_path):
    desk = Desk(tmp_path)
    with closing(desk.store):
        floor = Floor(drive, desk, tmp_path, devices=Devices(language="de"))
        place = replace(desk.walk(), screen="measure", station="leak-test", check="part-temperature")
        floor.app.go(place)
        floor.touch.settle()
        for key in ("3", "1", "point", "5"):
            floor.touch.tap(f"key-{key}")

        assert "31,5 °C" in floor.hand.texts()
        assert floor.hand.find("key-point").text == ","
        floor.touch.tap("key-enter")
        floor.touch.settle()

        assert [r.value for r in desk.records if isinstance(r, Measurement)] == ["31.5"]
        assert floor.hand.find("values").text == "31,5"


def test_a_language_that_the_call_asks_for_holds_until_another_is_chosen(drive, tmp_path):
    desk = Desk(tmp_path)
    with closing(desk.store):
        desk.session.settings.set_to(LANGUAGE, "de")
        floor = Floor(drive, desk, tmp_path, language="pl")
        floor.touch.tap("tablet")

        assert floor.hand.find("pick-language-pl").is_framed
        assert "Ten tablet" in floor.hand.texts()
        assert desk.session.settings.word(LANGUAGE) == "de"  # nothing was set

        floor.touch.tap("pick-language-system")
        floor.hand.wait(0.4)
        assert "This tablet" in floor.hand.texts()


@pytest.mark.long
@pytest.mark.parametrize("code", ["de", "es", "pl"])
def test_every_page_fits_a_small_tablet_in_the_language(tmp_path, played_demo, code):
    played_demo(tmp_path / "played", with_audits=True)
    with demo_tablet(tmp_path / "tablet", tmp_path / "played") as tablet:
        setting = Setting(SMALL, language=code, troubles=(False,))
        seen = walk_tablet(tablet, setting, tablet.places, most_steps=2, waits=False)

    assert len(seen) > 100
    assert {name: look.faults for name, look in seen.items() if look.faults} == {}
