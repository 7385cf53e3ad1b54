"""Clean points on a real store, set against escapes, corrective actions and the suspect range."""

from __future__ import annotations

import pytest

from tests.sites import Site, contained
from walkapp.actions.clean_points import detection_for, detections
from walkapp.model.records import Action, ActionDone


@pytest.fixture
def site(desk):
    return Site(desk, reported_on="2026-02-19", made_from="2026-02-16", made_to="2026-02-18")


def test_the_support_of_a_clean_point_takes_the_weakest_check_or_that_of_its_station(site):
    found = detections(site.facts)

    assert site.clean(lot="0302-1").checked == 59
    assert site.now.clean_points[0].support.detection == min(found.values()) == detection_for(found)
    site.clean(lot="0302-1", station="leak-test", why="typed wrong")
    assert site.now.clean_points[0].support.detection == found["leak-test"]
    assert detection_for({}, "leak-test") == 0.9


def test_an_escape_of_a_later_lot_ends_the_clean_point(site):
    contained(site)

    escape = site.escape(lot="0302-2")

    now = site.now
    assert now.missing == ("the clean point does not hold",)
    assert now.warnings[0] == (
        "The clean point lot 0302-1, production day 2026-03-02 no longer holds: 3 bad parts of lot 0302-2 "
        "found on 2026-03-03 were made at or after it."
    )
    assert now.since_escape == (0, "0 days since the last escape (2026-03-03)")

    site.clean(lot="0303-1", made_on="2026-03-03", why="an escape contradicted it")
    # 0302-2 and 0303-1: one number is higher, the other one lower.
    assert "in doubt" in site.now.warnings[0]
    site.escape(lot="0302-2", made_on="2026-03-02", escape=escape.id, why="counted again")
    assert site.now.is_contained


def test_an_escape_of_an_earlier_lot_says_that_its_number_alone_speaks_for_the_clean_point(site):
    contained(site)
    site.clean(lot="0302-1", why="typed wrong")

    site.escape(lot="0301-1")

    assert site.now.is_contained
    assert any(
        warning.startswith("By their numbers alone, bad parts of 0301-1 are taken to be made before")
        for warning in site.now.warnings
    )


def test_an_escape_of_which_nothing_is_known_puts_the_clean_point_in_doubt(site):
    contained(site)
    escape = site.escape()
    site.escape(found_on="2026-03-02")

    assert site.now.missing == ("the clean point does not hold",)
    assert "in doubt: nobody can tell whether 3 bad parts found on 2026-03-03" in site.now.warnings[0]

    site.escape(made_on="2026-02-20", escape=escape.id, why="typed wrong")
    assert site.now.is_contained


def test_several_escapes_are_told_in_one_sentence(site):
    contained(site)
    for day in ("2026-03-02", "2026-03-03"):
        site.escape(day, lot="0302-1")

    assert "6 bad parts last found on 2026-03-03 were made at or after it" in site.now.warnings[0]
    assert len(site.now.clean_points[0].against) == 1


def test_two_clean_points_of_two_tablets_must_both_hold(site):
    contained(site)
    site.arrive(
        site.now.clean_points[0].point, lot="0301-1", made_on="2026-03-01", at="2026-03-03T06:20:00Z"
    )
    assert site.now.is_contained
    assert "2 clean points are recorded; all of them must hold." in site.now.warnings

    site.escape(made_on="2026-03-01")
    assert site.now.missing == ("the clean point does not hold",)

    site.clean(lot="0303-1", made_on="2026-03-03", why="counted again")
    assert [one.name for one in site.now.clean_points] == ["lot 0303-1, production day 2026-03-03"]


@pytest.mark.parametrize(
    ("done_on", "made_on", "words"),
    [
        ("", "2026-03-02", "No corrective action is recorded as done"),
        ("2026-03-01", "2026-03-02", ""),
        ("2026-03-02", "2026-03-02", "is on the day of the corrective action"),
        ("2026-03-03", "2026-03-02", "is before the corrective action (2026-03-03): sorting alone"),
        (
            "2026-03-01",
            "",
            "Whether the clean point is after the corrective action (2026-03-01) is not known",
        ),
    ],
)
def test_the_clean_point_is_set_against_the_corrective_action(site, done_on, made_on, words):
    said = {"concern": site.concern, "what": "Softer pads", "owner": "PE-LM", "due_on": "2026-03-05"}
    for aim, day in (("corrective", done_on), ("containment", "2026-02-20")):
        action = site.place.new_id()
        site.place.add(Action, id=action, action=action, aim=aim, **said)
        if day:
            site.place.add(
                ActionDone, concern=site.concern, action=action, done_on=day, evidence="pads seen"
            )
    site.clean(lot="0302-1", made_on=made_on)

    cautions = site.now.clean_points[0].cautions

    assert words in " ".join(cautions)
    assert bool(cautions) == bool(words)


def test_days_between_the_range_and_the_clean_point_are_told(site):
    site.range(made_to="2026-02-27")
    site.clean(made_on="2026-03-01")
    assert any(
        "Parts made after 2026-02-27 and before 2026-03-01 are neither" in w for w in site.now.warnings
    )

    site.clean(made_on="2026-02-28", why="typed wrong")
    assert not any("are neither in the suspect range" in w for w in site.now.warnings)
