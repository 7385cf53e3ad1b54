"""The app speaks the language that is set on the tablet before it opens the store."""

from __future__ import annotations

import pytest

import walkapp.app
from tests.fakes import CHECKLISTS, Desk
from walkapp.app import open_app
from walkapp.language import ENGLISH, current, use
from walkapp.presenters.settings import LANGUAGE
from walkapp.store import read_place


class OpenedError(Exception):
    """The store would be opened now."""


@pytest.fixture(autouse=True)
def english_again():
    yield
    use(ENGLISH)


@pytest.mark.parametrize(
    ("kept", "asked", "spoken"),
    [("", "", "en"), ("de", "", "de"), ("de", "pl", "pl"), ("system", "es", "es")],
)
def test_what_the_store_tells_when_it_is_opened_is_told_in_that_language(
    desk, monkeypatch, kept, asked, spoken
):
    heard = []

    def no_store(*_args, **_more):
        heard.append(current().code)
        raise OpenedError

    if kept:
        desk.session.settings.set_to(LANGUAGE, kept)
    monkeypatch.setattr(walkapp.app, "Store", no_store)

    with pytest.raises(OpenedError):
        open_app(
            store=desk.store.folder, checklists=CHECKLISTS, pictures=desk.pictures, now=desk.place.now,
            new_id=desk.place.new_id, language=asked,
        )  # fmt: skip

    assert heard == [spoken]


def test_a_place_is_read_without_opening_the_store_and_where_there_is_none_it_is_empty(tmp_path):
    assert read_place(tmp_path) == {}
    made = Desk(tmp_path)
    with made.store:
        made.store.remember({"screen": "home"})
        assert read_place(made.store.folder) == made.store.place() == {"screen": "home"}
    (made.store.folder / "place.json").write_bytes(b"spoilt")
    assert read_place(made.store.folder) == {}
