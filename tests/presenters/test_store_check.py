"""The check of the store while the app is open."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.builders import START
from tests.fakes import Desk, Queue, run_now
from walkapp.actions.walking import Walking
from walkapp.files import sha256_of
from walkapp.presenters.home import MOST_NOTICES, HomePage
from walkapp.presenters.route import Route
from walkapp.presenters.store_check import check_in_background
from walkapp.store import Store


@pytest.fixture
def desk(tmp_path):
    made = Desk(tmp_path)
    with made.store:
        yield made


def run_check(desk, run_later=run_now):
    heard = []
    check_in_background(
        desk.session, run_later=run_later, found=lambda: heard.append("found"), failed=heard.append
    )
    return heard


def home(desk):
    page = HomePage(desk.session, Route())
    page.open()
    return page.state.notices


def damage_walk(desk, route):
    """Change the middle one of three notes on disk."""
    for words in ("warm", "loud", "new pads"):
        Walking(desk.place, route.concern, route.walk).note("welding", words)
    path = desk.store._folder / "journals" / "own" / f"{route.walk}.journal"
    path.write_bytes(path.read_bytes().replace(b"loud", b"load"))


def test_a_sound_store_is_not_talked_about(desk):
    desk.walk()

    assert run_check(desk) == []
    assert home(desk) == ()


def test_what_is_damaged_and_missing_is_told_at_home_with_short_names(desk):
    route = desk.walk()
    damage_walk(desk, route)
    picture = sha256_of(b"x") + ".png"
    desk.store.add_photo(picture, b"x")
    (desk.store._folder / "photos" / picture).write_bytes(b"y")

    assert run_check(desk) == ["found"]

    line, photo = home(desk)
    assert line == (
        f"journals/own/..{route.walk[-6:]}.journal, line 4 is damaged (the checksum does not match): "
        "running number 4 cannot be read; all other entries are kept, merge a bundle that has this entry, "
        "or make it again."
    )
    assert photo == (
        f"photos/..{picture[58:64]}.png is damaged (its content is not what its name says): no entry names "
        "it; merge a bundle that has this picture, or take it again."
    )


def test_a_clock_that_went_back_is_told_at_home(desk, tmp_path):
    desk.concern()
    desk.store.close()

    # The clock of the next desk begins anew, a second before the entry at least; here an hour.
    made = Desk(tmp_path, starts=START - timedelta(hours=1))
    with made.store:
        (notice,) = home(made)

    assert notice.startswith(
        "The clock of this tablet says 2026-03-03 05:20, 1 h before its newest entry ("
    )


def test_a_second_check_that_finds_the_same_says_nothing_new(desk):
    damage_walk(desk, desk.walk())

    assert run_check(desk) == ["found"]
    assert run_check(desk) == []


def test_of_very_many_notices_the_first_are_shown_and_the_rest_counted(desk):
    for n in range(MOST_NOTICES + 1):
        data = str(n).encode()
        desk.store.add_photo(sha256_of(data) + ".png", data)

    run_check(desk)

    told = home(desk)
    assert len(told) == MOST_NOTICES + 1
    assert told[-1] == "There is 1 more: 'walkapp check' lists them all."


def test_between_two_pieces_there_is_room_for_other_work(desk):
    desk.walk()
    desk.walk()
    queue = Queue()

    run_check(desk, queue)

    pieces = 0
    while queue.waiting:
        assert len(queue.waiting) == 1
        run_now(*queue.waiting.pop())
        pieces += 1
    assert pieces == 8  # the list of them, 2 concerns, 2 walks, 1 checklist, and twice what remains


def test_a_folder_that_can_no_longer_be_read_is_said_in_one_sentence(desk, monkeypatch):
    desk.walk()

    def broken(_store):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Store, "_tell", lambda _store, _said: broken(_store))

    (error,) = run_check(desk)
    assert str(error) == (
        f"The check could not go on: the storage that holds {desk.store._folder} reports a fault; try "
        "again, then write a bundle to another medium soon; nothing saved before is lost."
    )
