"""Practice: a hand that only does what is said finishes a station; the real records stay as they are."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from scipy.stats import binomtest

from tests.fakes import CHECKLISTS
from tests.presenters.blind import BlindHand, first, last, practice_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.merging import merge_bundles
from walkapp.actions.practice import InventedParts
from walkapp.actions.reading import concern_ids, walk_facts
from walkapp.actions.walking import Walking
from walkapp.app import open_app
from walkapp.cli import main
from walkapp.errors import InputError
from walkapp.model.records import Answer, Count
from walkapp.presenters.concern import ConcernPage
from walkapp.presenters.home import PREPARING, HomePage
from walkapp.presenters.next_step import LEAVE
from walkapp.presenters.pages import PAGES
from walkapp.presenters.route import Route
from walkapp.presenters.settings import THEME
from walkapp.presenters.tablet import TabletPage


@pytest.fixture
def hand(desk):
    made = BlindHand(desk)
    yield made
    made.practice.close()


def files(folder):
    return {
        path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*") if path.is_file()
    }


def answers(hand, station):
    walk = walk_facts(hand.session.place, hand.route.concern, hand.route.walk)
    return [r.answer for r in walk.at_station(station) if isinstance(r, Answer)]


# Without help


def test_who_does_only_what_is_said_finishes_the_first_station(hand):
    taps = hand.finish()

    assert taps < 40
    assert [screen for screen, _ in hand.trail[:6]] == [
        "home", "concern", "start_walk", "start_walk", "station", "station"
    ]  # fmt: skip
    assert len(answers(hand, "leak-test")) == 20
    assert ("answer", "Back") in hand.trail
    assert "For a real walk leave practice, then tap New concern." in hand.step.says


def test_any_of_the_things_that_are_named_goes_on(desk):
    hand = BlindHand(desk, random.Random(1).choice)

    hand.until(lambda: hand.step.is_done, most_taps=300)

    assert set(answers(hand, "leak-test")) == {"ok", "not_ok"}
    hand.practice.close()


def test_who_calls_every_part_nok_is_as_right(desk):
    hand = BlindHand(desk, last)

    hand.until(lambda: hand.route.screen == "judge" and hand.step.part == "")

    assert answers(hand, "leak-test") == ["not_ok"] * 20
    hand.choose = first
    hand.finish()
    hand.practice.close()


def test_parts_can_be_counted_as_well(hand):
    hand.until(lambda: hand.route.screen == "station")
    hand.page.to_station("dock")

    hand.finish()

    walk = walk_facts(hand.session.place, hand.route.concern, hand.route.walk)
    (count,) = [r for r in walk.at_station("dock") if isinstance(r, Count)]
    assert (count.checked, count.nok) == (30, 6)  # as demo/washer-reservoir.toml says of the dock


def test_it_goes_on_at_the_next_station_until_all_are_done(hand):
    hand.finish()
    at = hand.route.concern, hand.route.walk
    walking = Walking(hand.session.place, *at)
    others = [s for s in walk_facts(hand.session.place, *at).stream.stations if s.id != "leak-test"]
    for number, station in enumerate(others, 1):
        check = next(check for check in station.checks if check.finds == "cracked-ear")
        walking.set_aside(walk_facts(hand.session.place, *at), station.id, check.id, "no parts here")
        hand.go(replace(hand.route, screen="station", station="leak-test"))
        named = {target.name for target in hand.step.targets} - {LEAVE}
        left = {f"station-{one.id}" for one in others[number:]}
        assert len(named) == bool(left) and named <= left

    assert hand.step.do == "You have been at every station."


def test_on_every_page_that_can_wait_back_is_said_and_back_comes_home(hand):
    hand.until(lambda: hand.route.screen == "judge")
    at = {"concern": hand.route.concern, "walk": hand.route.walk, "station": "leak-test"}
    said = {}
    for screen in PAGES:
        hand.look_at(Route(screen=screen, check="ear-look", stream="washer-reservoir", **at))
        said[screen] = tuple(target.label for target in hand.step.targets)

    # That "back" comes home from every place is shown by test_back.py.
    done = {"home", "concern", "start_walk", "station", "judge", "count"}
    assert {screen for screen, labels in said.items() if labels != ("Back",)} == done


@pytest.mark.parametrize("screen", ["desk", "new_concern", "search"])
def test_who_wanders_off_before_the_walk_finishes_it_too(hand, screen):
    hand.go(Route(screen=screen))

    hand.finish()

    assert len(answers(hand, "leak-test")) == 20


def test_who_takes_back_or_sets_aside_is_still_led(hand):
    hand.until(lambda: hand.step.part.startswith("In your hand, invented: part 4 of 20."))
    hand.page.undo()
    assert hand.step.part.startswith("In your hand, invented: part 3 of 20.")

    hand.page.answer("not_applicable")
    assert hand.route.screen == "reason"
    hand.page.fill("common", "no parts here")
    hand.page.record()

    assert [target.label for target in hand.step.targets] == ["First bad station", "Photo"]


def test_it_goes_on_where_it_was_left(desk):
    before = BlindHand(desk)
    before.until(lambda: before.step.part.startswith("In your hand, invented: part 4 of 20."))
    before.session.kept.keep_route(before.route)
    before.practice.close()

    after = BlindHand(desk)

    assert after.step.part == before.step.part
    after.practice.close()


# What is said


def test_as_many_parts_have_the_defect_as_the_scenario_says(hand):
    hand.until(lambda: hand.route.screen == "judge")
    looks = []
    while hand.step.part:
        looks.append(hand.step.part.partition(". ")[2])
        hand.tap()

    # demo/washer-reservoir.toml: 8, 1, 9 and 2 NOK of 10 each at the leak test.
    good = {"The ear has an even colour all round.", "No line, no spot; the edge of the ear is smooth."}
    assert len(looks) == 20
    assert sum(look not in good for look in looks) == 10
    assert len(set(looks)) == 4


def test_of_a_chosen_clamp_the_parts_are_those_of_that_clamp(hand):
    hand.until(lambda: hand.route.screen == "judge")
    hand.page.choose_unit("clamp 1")
    looks = []
    while hand.step.part:
        looks.append("even" in hand.step.part or "smooth" in hand.step.part)
        hand.tap()

    assert looks.count(False) == 17  # 8 of 10 and 9 of 10


@pytest.mark.parametrize(("word", "nok"), [("ok", 0), ("not_ok", 20)])
def test_the_verdict_is_explained_with_exact_limits(hand, word, nok):
    hand.choose = lambda targets: next((t for t in targets if t.name == f"answer-{word}"), targets[0])
    hand.until(lambda: hand.route.screen == "answer")

    exact = binomtest(nok, 20).proportion_ci(0.95, method="exact")
    if nok:
        assert f"By the exact 95 % limits {int(exact.low * 100)} % to 100 % of its parts" in hand.step.says
        assert "20 of 20 parts" in hand.step.says
        assert "Whether the defect starts here, only the stations before it can tell." in hand.step.says
    else:
        assert f"up to {int(exact.high * 100) + 1} % of its parts could be called NOK" in hand.step.says
        assert "does not prove it clean" in hand.step.says


def test_at_the_first_station_nothing_stands_before_it(hand):
    hand.until(lambda: hand.route.screen == "station")
    hand.page.to_station("moulding")
    hand.choose = last
    hand.until(lambda: hand.route.screen == "judge" and hand.step.part == "")
    hand.choose = first
    hand.until(lambda: hand.route.screen == "answer")

    assert "the stations before it" not in hand.step.says
    assert "nobody looked at" in hand.step.says


def test_invented_parts_are_spread_evenly():
    parts = InventedParts(checked=10, nok=3)

    assert [parts.has_defect(n) for n in range(10)].count(True) == 3
    assert [parts.has_defect(n) for n in range(10, 20)].count(True) == 3
    assert not any(InventedParts(checked=7, nok=0).has_defect(n) for n in range(30))
    assert all(InventedParts(checked=7, nok=7).has_defect(n) for n in range(30))


# The real records


def test_the_real_store_is_the_same_byte_for_byte(desk):
    desk.session.settings.set_to(THEME, "dark")
    before = files(desk.store.folder)

    hand = BlindHand(desk)
    hand.finish()
    hand.session.settings.set_to(THEME, "glare")
    hand.practice.begin_anew(desk.session)
    hand.practice.close()

    assert files(desk.store.folder) == before
    assert concern_ids(desk.place) == ()


def test_practice_lies_beside_the_real_store_and_says_what_it_is(hand, desk):
    folder = hand.session.place.store.folder

    assert folder.parent == desk.store.folder.parent
    assert hand.session.place.store.is_practice
    assert not desk.store.is_practice
    assert b"nothing here is real" in (folder / "practice.txt").read_bytes()


def test_what_is_set_on_the_tablet_holds_in_practice(desk):
    desk.session.settings.set_to(THEME, "dark")

    hand = BlindHand(desk)

    assert hand.session.settings.word(THEME) == "dark"
    hand.practice.close()


def test_no_record_leaves_practice_and_none_comes_in(hand, desk, tmp_path):
    hand.finish()
    place = hand.session.place
    with pytest.raises(InputError, match="This is practice and nothing in it is real"):
        bundle_concerns(place, tmp_path / "out.zip")
    with pytest.raises(InputError, match="nothing is merged into it"):
        merge_bundles(place, [tmp_path / "never-read.zip"])

    page = ConcernPage(hand.session, Route(screen="concern", concern=hand.route.concern))
    page.open()
    page.write_bundle()

    assert page.state.problem.startswith("This is practice and nothing in it is real")
    assert not list(tmp_path.rglob("*.zip"))


def test_no_page_or_figure_is_written_out_of_practice(hand):
    hand.finish()
    from walkapp.actions.outputs import write_out

    out = hand.session.bundles / "figure.png"
    out.parent.mkdir()
    with pytest.raises(InputError, match="This is practice"):
        write_out(out, b"\x89PNG\r\n\x1a\n", "png")
    assert not out.exists()


@pytest.mark.parametrize(
    "call", ["bundle --out x.zip", "summary", "check", "merge x.zip", "due --on 2026-03-03", "search ear"]
)
def test_no_command_takes_practice_for_real_records(hand, capsys, call):
    folder = hand.session.place.store.folder
    command, *rest = call.split()

    assert main([command, "--store", str(folder), *rest]) == 2
    assert "is there to practise on and nothing in it is real" in capsys.readouterr().err


def test_the_app_does_not_open_practice_as_real(hand, desk):
    with pytest.raises(InputError, match="is there to practise on"):
        open_app(
            store=hand.session.place.store.folder, checklists=CHECKLISTS, pictures=desk.pictures,
            now=desk.place.now, new_id=desk.place.new_id,
        )  # fmt: skip


# Beginning, and beginning anew


def test_begun_anew_it_knows_nothing_of_before(hand, desk):
    hand.finish()
    old = hand.route.concern

    session, _ = hand.practice.begin_anew(desk.session)

    (new,) = concern_ids(session.place)
    assert new != old
    assert session.place.store.walks(new) == ()
    assert session.kept.route() == Route()


def test_a_folder_of_somebody_else_is_neither_used_nor_cleared(desk):
    practice = practice_of(desk)
    folder = desk.store.folder.with_name("store-practice")
    folder.mkdir()
    (folder / "letter.txt").write_text("mine")

    for call in (practice.open, practice.begin_anew):
        with pytest.raises(InputError, match="holds something else than practice; free that name"):
            call(desk.session)

    assert files(folder).keys() == {folder / "letter.txt"}


def test_a_store_that_another_window_has_open_is_refused_in_one_sentence(hand, desk):
    other = practice_of(desk)
    with pytest.raises(Exception, match="open") as told:
        other.open(desk.session)
    assert "\n" not in str(told.value)


def test_its_pictures_are_drawn_and_marked_so(desk):
    practice = practice_of(desk, draws=True)
    session, _ = practice.open(desk.session)

    photos = [r for r in session.place.store.all_records() if r.kind == "photo"]

    assert sorted(photo.limit for photo in photos) == ["not_ok", "ok"]
    assert all(photo.invented for photo in photos)
    assert [path.name for path in session.picture_folders[0].iterdir()] == ["ear-cracked.jpg"]
    practice.close()


# Where it is offered


def test_the_first_page_offers_it_while_there_is_no_concern(desk):
    asked = []
    desk.session.practise = lambda: asked.append(True)
    page = HomePage(desk.session, Route())
    page.open()
    assert [row.title for row in page.state.practice] == ["Practise first, on an invented walk"]

    page.practise()
    assert asked == [True]
    assert [(row.id, row.subtitle) for row in page.state.practice] == [("", PREPARING)]
    page.fail(InputError("it cannot be opened"))
    assert [row.id for row in page.state.practice] == ["practise"]

    desk.concern()
    page.open()
    assert page.state.practice == ()


def test_where_there_is_none_nothing_offers_it(desk, hand):
    for session in (desk.session, hand.session):
        page = HomePage(session, Route())
        page.open()
        assert page.state.practice == ()
        tablet = TabletPage(session, Route(screen="tablet"))
        tablet.open()
        assert tablet.state.buttons == ()


def test_the_page_of_this_tablet_offers_it_always(desk):
    asked = []
    desk.session.practise = lambda: asked.append(True)
    desk.concern()
    page = TabletPage(desk.session, Route(screen="tablet"))
    page.open()

    page.press(page.state.buttons[0].name)

    assert asked == [True]
    assert page.state.saved == PREPARING
