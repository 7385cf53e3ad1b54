"""Why a record corrects another: typed reasons stay as they are, those of the program are said anew."""

from __future__ import annotations

import pytest

from walkapp.actions.reasons import OWN_REASONS, SETTLED, UNDO, said_reason
from walkapp.language import ENGLISH, use
from walkapp.languages import load


@pytest.fixture
def german():
    use(load("de"))
    yield
    use(ENGLISH)


def test_a_reason_of_the_program_is_said_in_the_language(german):
    assert said_reason(UNDO) == "Rücknahme"
    assert not OWN_REASONS & {said_reason(why) for why in OWN_REASONS}


def test_what_a_person_typed_stays_as_it_stands(german):
    assert said_reason("lot was misread") == "lot was misread"
    assert said_reason(f"{SETTLED}undo") == "entschieden: undo"
