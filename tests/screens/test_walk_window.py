"""The app in a real window: a walk by touch, and every screen on every tablet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.screens.layout_check import problems
from walkapp.actions.merging import bundle_as_store
from walkapp.actions.summaries import summarise
from walkapp.app import window_app
from walkapp.demo.tablets import open_tablet, read_scenario
from walkapp.demo.tour import TouchWalk, walk_by_touch, walked_by
from walkapp.demo.walk_routes import tour_routes
from walkapp.model.records import Answer, Measurement

pytestmark = pytest.mark.window

ROOT = Path(__file__).parents[2]
CHECKLISTS = ROOT / "checklists"


def first_tablet(folder, **changes):
    facts = {**read_scenario()["tablet"][0], **changes}
    return open_tablet(facts, folder, CHECKLISTS)


def test_a_walk_by_touch_ends_in_a_bundle_that_names_the_station(tmp_path):
    stops = [
        {"station": "welding", "judge": [{"check": "ear-look", "checked": 8, "nok": 0}]},
        {"station": "leak-test", "judge": [{"check": "ear-look", "checked": 8, "nok": 6}]},
    ]
    tablet = first_tablet(tmp_path / "store", stop=stops, study=[])

    with tablet.place.store as store:
        walked = walk_by_touch(tablet, read_scenario(), tmp_path / "store", tmp_path / "camera")
        judged = [r for r in store.records(walked.walk) if isinstance(r, Answer)]

    assert [r.answer for r in judged] == ["ok"] * 8 + ["not_ok"] * 6 + ["ok"] * 2
    with bundle_as_store(walked.bundle, now=tablet.clock, new_id=tablet.place.new_id, app="test") as seen:
        (summary,) = summarise(seen.place)
    assert summary.answer.first_bad_station == "Leak test"


@pytest.fixture(scope="module")
def demo(tmp_path_factory, played_demo):
    """The store of tablet 1 after the demo, with its concern and walk."""
    folder = tmp_path_factory.mktemp("demo")
    played_demo(folder)
    tablet = first_tablet(folder / "tablet-1")
    with tablet.place.store:
        yield tablet, walked_by(tablet, folder / "tablet-1.zip"), folder


@pytest.mark.parametrize(
    ("size", "density", "pixels_per_inch"),
    [
        pytest.param((1280, 800), 1.0, 149, marks=pytest.mark.long),
        pytest.param((800, 1280), 1.33, 189, marks=pytest.mark.long),
        ((1024, 600), 1.0, 170),
    ],
)
def test_every_screen_fits_every_tablet(drive, demo, size, density, pixels_per_inch):
    tablet, walked, folder = demo
    app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=size, density=density)
    found = {}

    for name, route in tour_routes(walked).items():
        app.go(route)
        for _ in range(3):
            app.worker.finish()
            hand.wait(0.1)
        found[name] = problems(hand.window, pixels_per_inch=pixels_per_inch)

    assert {name: wrong for name, wrong in found.items() if wrong} == {}


@pytest.mark.parametrize(
    ("size", "density", "leads"), [((800, 1280), 1.33, True), ((1280, 800), 1.0, False)]
)
def test_a_value_of_one_cavity_is_taken_by_touch_where_the_units_have_no_room(
    drive, demo, size, density, leads
):
    tablet, walked, folder = demo
    app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app, size=size, density=density)
    walk = TouchWalk(tablet, hand, folder / "camera")
    app.go(replace(tour_routes(walked)["measure"], station="moulding", check="ear-wall"))
    walk.settle()

    assert hand.has("key-unit") == leads
    if leads:
        hand.tap("key-unit")
        hand.tap("unit-panel-choice-cavity 2")
        assert hand.find("key-unit").text == "cavity 2"
    else:
        hand.tap("units-choice-cavity 2")
    for key in ("key-2", "key-point", "key-5", "key-enter"):
        hand.tap(key)
    walk.settle()

    newest = [r for r in tablet.place.store.records(walked.walk) if isinstance(r, Measurement)][-1]
    assert (newest.station, newest.value, newest.unit) == ("moulding", "2.5", "cavity 2")


def test_back_leads_up_and_the_place_is_remembered(drive, demo):
    tablet, walked, folder = demo
    app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app)

    def settle():
        for _ in range(3):
            app.worker.finish()
            hand.wait(0.1)

    app.go(tour_routes(walked)["judge"])
    settle()
    hand.back()
    settle()

    assert hand.has("row-ear-look")
    assert app.session.kept.route().screen == "station"


def test_a_half_filled_form_is_there_again(drive, demo):
    tablet, walked, folder = demo
    app = window_app(tablet.place, folder / "camera", bundles=folder / "bundles")
    hand = drive(app)
    walk = TouchWalk(tablet, hand, folder / "camera")
    app.go(tour_routes(walked)["note"])
    walk.settle()

    walk.write("words", "pads look new")
    hand.back()
    walk.settle()
    hand.tap("note")
    walk.settle()

    assert hand.find("field-words").words == "pads look new"
