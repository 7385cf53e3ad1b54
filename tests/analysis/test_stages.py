"""How far a concern is, in words."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from walkapp.analysis.stages import NEXT_WORDS, STAGES, WORDS, Stage, stages_in_words


def stages(reached):
    return [
        Stage(name=name, is_reached=is_reached, is_begun=is_reached, why="")
        for name, is_reached in zip(STAGES, reached, strict=True)
    ]


def test_a_new_concern_says_what_comes_first():
    told = stages_in_words(stages([False] * 6))
    assert told == "Nothing is shown yet. Next: contain the suspect parts."


def test_a_concern_that_is_through_says_no_next():
    told = stages_in_words(stages([True] * 6))
    assert told == "Shown: contained, origin found, cause proved, fixed, verified, read across."


@given(st.lists(st.booleans(), min_size=6, max_size=6))
def test_every_stage_is_told_once_and_the_first_open_one_is_next(reached):
    told = stages_in_words(stages(reached))
    shown, _, rest = told.partition(". Next: ")
    for name, is_reached in zip(STAGES, reached, strict=True):
        assert (WORDS[name] in shown.lower()) == is_reached
    if not all(reached):
        assert rest == f"{NEXT_WORDS[STAGES[reached.index(False)]]}."
