"""A few kills of a real writer in each run of the tests; many are ``python -m tests.soak.kills``."""

from __future__ import annotations

from tests.soak.kills import run


def test_a_killed_writer_loses_nothing_that_it_said_was_saved(tmp_path):
    tally = run(tmp_path, count=8, seed=1)

    assert tally.problems == ()
    assert (tally.kills, tally.lost) == (8, 0)


def test_a_writer_that_says_saved_too_early_is_caught(tmp_path):
    tally = run(tmp_path, count=200, seed=1, tells_early=True, stops=True)

    assert tally.lost > 0
