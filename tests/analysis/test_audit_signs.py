"""Signs of filling in without looking: how often they are wrong, and how they are told."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from tests.analysis.lettered_audits import audit, layer_of
from tests.benchmarks.audit_signs import (
    EVERYTHING,
    HABIT,
    HABITS,
    HONEST,
    Plant,
    group_of,
    person_of,
    prompts_of,
)
from walkapp.analysis.audits.pace import PACE
from walkapp.analysis.audits.runs import NEVER_NOK, SAME_REASON
from walkapp.analysis.audits.signs import LEVEL, MOST_GROUPS, signs_of

FORBIDDEN = re.compile(r"cheat|suspicio|fake|fraud|lie[sd]?\b|dishonest|guilty|caught|offen[cd]|invent")


def told_of(name, plants, first_seed=1):
    """Give the prompts of some plants, each with its kinds for the group with the habit."""
    return [prompts_of((HONEST | HABITS)[name], seed)[0] for seed in range(first_seed, first_seed + plants)]


# ---------------------------------------------------------------------------- how often wrong


def test_where_everybody_looks_a_prompt_is_rare():
    # Layers of different pace, defects that are mended and asked again, bad days, shifts that stand still,
    # a group that looks first and taps then. At 5 % more than 8 of 60 come once in 500 such sets.
    found = [prompts_of(EVERYTHING, seed) for seed in range(1, 61)]

    assert sum(bool(signs) for signs, _ in found) <= 8
    assert sum(bool(layers) for _, layers in found) <= 8


def test_filling_in_without_going_there_is_told_and_nobody_else_is():
    found = told_of("20 audits: OK, time 15 %, stays put", 12)

    kinds = [{prompt.kind for prompt in signs if prompt.where == HABIT} for signs in found]
    assert all(PACE in one for one in kinds)
    assert sum(NEVER_NOK in one for one in kinds) >= 2
    assert not any(prompt.where != HABIT for signs in found for prompt in signs)


def test_a_week_of_not_applicable_is_told():
    found = told_of("one week of N/A, same reason", 8)

    assert sum({(SAME_REASON, HABIT)} <= {(p.kind, p.where) for p in signs} for signs in found) >= 7


# -------------------------------------------------------------------------------- how told


@pytest.fixture(scope="module")
def prompts():
    everything = Plant(days=40, habit=HABITS["20 audits: OK, time 15 %, stays put"].habit)
    still = HABITS["one week of N/A, same reason"]
    run = HABITS["60 audits, the last 40: OK, usual time"]
    found = [prompt for plant in (everything, still, run) for prompt in prompts_of(plant, 3)[0]]
    assert len({prompt.kind for prompt in found}) == 4
    return found


def test_every_prompt_is_an_invitation_to_go_together(prompts):
    for prompt in prompts:
        assert prompt.sentence.startswith("Worth ")
        assert "together with" in prompt.sentence
        assert prompt.where in prompt.sentence


def test_every_prompt_says_how_it_was_worked_out_and_what_else_explains_it(prompts):
    for prompt in prompts:
        told = " ".join(prompt.lines)
        assert "What else may explain it:" in told
        assert "one-sided" in told
        assert "after correction for" in told
        assert re.search(r"\bp (=|<) 0\.\d+", told)
        assert 0.0 < prompt.p < LEVEL


def test_no_prompt_accuses_anybody(prompts):
    for prompt in prompts:
        assert not FORBIDDEN.search(" ".join((prompt.kind, prompt.sentence, *prompt.lines)).lower())


# ------------------------------------------------------------------------- groups and order


def twelve_weeks():
    """Give twelve weeks in which A finds nothing."""
    return [
        audit(10 * week + n, group, letters, day=7 * week)
        for week in range(12)
        for n, (group, letters) in enumerate({"A": "ooooo", "B": "noono", "C": "nonoo"}.items())
    ]


def test_the_same_audits_can_be_told_apart_by_layer_and_shift_or_by_who_signed():
    done = twelve_weeks()

    by_layer = signs_of(done, layer_of)
    by_person = signs_of(done, person_of)

    assert [prompt.where for prompt in by_layer] == ["A"]
    assert [prompt.where for prompt in by_person] == ["A-AB"]
    assert [prompt.p for prompt in by_person] == [prompt.p for prompt in by_layer]
    assert signs_of(done, lambda _: "all") == ()
    assert group_of(replace(done[0], shift="night")) == "A, night"


def test_an_audit_that_was_made_up_counts_in_the_week_in_which_it_was_done():
    done = [replace(one, day=one.day - timedelta(days=5)) for one in twelve_weeks()]

    assert [prompt.where for prompt in signs_of(done, layer_of)] == ["A"]


def test_a_correction_does_not_change_the_order_of_answers():
    # What holds is the corrected answer, at its first place; only the id of the record is another.
    done = twelve_weeks()
    corrected = [
        replace(one, given=tuple(replace(given, id=f"z{given.id}") for given in one.given)) for one in done
    ]

    assert signs_of(corrected, layer_of) == signs_of(done, layer_of)


def test_days_at_the_ends_of_the_calendar_and_other_offsets_do_no_harm():
    ends = (
        datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=14))),
        datetime(9999, 12, 31, 23, 59, tzinfo=timezone(-timedelta(hours=12))),
        datetime(2026, 3, 2, tzinfo=UTC),
    )
    done = [
        replace(audit(number, group, "on-o"), begun=ends[number % 3])
        for number, group in enumerate("ABAB" * 6)
    ]

    assert signs_of(done, layer_of) == ()


def test_audits_without_answers_do_no_harm():
    done = [audit(number, group, "") for number, group in enumerate("AB" * 10)]

    assert signs_of(done, layer_of) == ()


def test_groups_of_a_hostile_number_are_bounded_and_the_largest_are_looked_at():
    done = [
        audit(10_000 + 10 * week + n, f"x{n:03}", "nono", day=7 * week)
        for week in range(5)
        for n in range(MOST_GROUPS + 60)
    ]
    done += [audit(week, "A", "oooo", day=7 * (week % 5)) for week in range(10)]

    found = signs_of(done, layer_of)

    assert [prompt.where for prompt in found] == ["A"]
    looks = {int(n) for p in found for line in p.lines for n in re.findall(r"looks: (\d+)", line)}
    assert max(looks) <= 3 * MOST_GROUPS
