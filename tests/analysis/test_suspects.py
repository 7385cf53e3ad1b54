"""The ranking of recorded changes against hand calculation, day-by-day enumeration and simulation.

There are no published values for it.
"""

import math
import random
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.lots import START, day_after, days_of_lots, lot, lots, simulated, spaced
from tests.analysis.streams import station
from walkapp.analysis.onset import OnsetAnswer, OnsetInterval, OnsetRow, find_onset
from walkapp.analysis.origin import origin_posterior
from walkapp.analysis.shares import SharePrior
from walkapp.analysis.suspects import AFTER_ONSET, BEFORE_ONSET, TIME_UNKNOWN, Change, rank_changes


def known_onset(*chances, days=None, interval):
    """An answer with these probabilities, for rows of consecutive days."""
    days = range(len(chances)) if days is None else days
    rows = tuple(
        OnsetRow(label=day_after(d), day=day_after(d), checked=20, nok=5, probability=p)
        for d, p in zip(days, chances, strict=True)
    )
    first, last = interval
    return OnsetAnswer(
        rows=rows,
        first_bad=first,
        none_probability=1.0 - sum(chances),
        first_bad_day=rows[first].day,
        day_probability=chances[first],
        doubted_from=None,
        interval=OnsetInterval(
            first=first,
            last=last,
            probability=0.99,
            last_good_day=rows[first - 1].day if first else None,
            bad_from_day=rows[last].day,
            unchecked=(),
        ),
        warnings=(),
        sentence="",
    )


def change(name, order, days=None, kind="machine", **more):
    return Change(id=name, order=order, kind=kind, when="" if days is None else day_after(days), **more)


def by_id(ranking):
    return {suspect.change.id: suspect for suspect in ranking.suspects}


def test_a_ranking_by_hand():
    # Four stations, origin 0.8 at station 3 and 0.2 at station 2. The first bad row is that of day 2, the
    # row before it of day 0: the onset lies on day 0, 1 or 2. Half-life 1 day.
    # A, station 3, day 1: 4 * 0.8 * 2 (0 + 1 + 1/2) / 3 = 3.2; B, station 2, day 0: 4 * 0.2 * 2 (1 + 1/2 +
    # 1/4) / 3 = 0.93333; C, station 3, unknown: 3.2; D, station 3, day 3: 0; none: 2.
    onset = known_onset(0.0, 1.0, 0.0, days=[0, 2, 4], interval=(1, 1))
    changes = [change("D", 3, 3), change("C", 3), change("B", 2, 0), change("A", 3, 1)]

    found = rank_changes(
        changes, origin={1: 0.0, 2: 0.2, 3: 0.8, 4: 0.0}, onset=onset, half_life_days=1.0, none_weight=2.0
    )

    total = 3.2 + 4 * 0.2 * 2 * 1.75 / 3 + 3.2 + 2.0
    said = [(s.change.id, s.rank, s.timing, s.days_before) for s in found.suspects]
    assert said == [
        ("A", 1, BEFORE_ONSET, (0, 1)),
        ("C", 1, TIME_UNKNOWN, None),
        ("B", 3, BEFORE_ONSET, (0, 2)),
        ("D", 4, AFTER_ONSET, None),
    ]
    expected = [3.2 / total, 3.2 / total, 4 * 0.2 * 2 * 1.75 / 3 / total, 0.0]
    assert [s.probability for s in found.suspects] == pytest.approx(expected, rel=1e-12)
    assert found.none_probability == pytest.approx(2.0 / total, rel=1e-12)
    assert [s.time_factor for s in found.suspects] == [
        pytest.approx(1.0),
        None,
        pytest.approx(3.5 / 3),
        0.0,
    ]
    assert [s.why for s in found.suspects] == [
        "80 % that the defect starts at its station; made 0 to 1 day before the onset.",
        (
            "80 % that the defect starts at its station; when it was made is not known, so that only its "
            "station counts."
        ),
        "20 % that the defect starts at its station; made 0 to 2 days before the onset.",
        (
            "80 % that the defect starts at its station; made 1 day after the latest day of the onset (95 "
            "% interval), so that it is no suspect while that day holds."
        ),
    ]


change_lists = st.lists(st.tuples(st.integers(1, 4), st.none() | st.integers(-30, 25)), max_size=6)
origins = st.lists(st.integers(0, 20), min_size=4, max_size=4).filter(any)


@settings(max_examples=100, deadline=None)
@given(
    steps=days_of_lots,
    made=change_lists,
    weights=origins,
    half_life=st.sampled_from([0.1, 1.0, 7.0, 400.0]),
)
def test_the_ranking_agrees_with_going_through_every_day(steps, made, weights, half_life):
    rows = spaced(steps)
    onset = find_onset(rows)
    origin = {i: w / (sum(weights) + 3) for i, w in enumerate(weights, start=1)}
    changes = [change(str(i), order, days) for i, (order, days) in enumerate(made)]
    scores = {}
    for i, (order, days) in enumerate(made):
        score = 4 * weights[order - 1] / sum(weights)
        if days is not None and onset.interval:
            made_on = START + timedelta(days)
            if made_on > date.fromisoformat(onset.interval.bad_from_day):
                score = 0.0
            else:
                mean = 0.0
                for j, row in enumerate(onset.rows):
                    if j == 0:
                        mean += row.probability * (made_on.isoformat() <= row.day)
                        continue
                    days_in = (date.fromisoformat(row.day) - date.fromisoformat(rows[j - 1].day)).days
                    for back in range(days_in + 1):
                        delay = (date.fromisoformat(row.day) - made_on).days - back
                        if delay >= 0:
                            mean += row.probability / (days_in + 1) * 2 * 0.5 ** (delay / half_life)
                score *= mean / sum(row.probability for row in onset.rows)
        scores[str(i)] = score
    total = sum(scores.values()) + 1.0

    found = rank_changes(changes, origin=origin, onset=onset, half_life_days=half_life)

    assert {s.change.id: s.probability for s in found.suspects} == pytest.approx(
        {name: score / total for name, score in scores.items()}, rel=1e-9, abs=1e-15
    )
    assert math.fsum(s.probability for s in found.suspects) + found.none_probability == pytest.approx(1.0)
    order = [s.probability for s in found.suspects]
    assert order == sorted(order, reverse=True)
    # Ranks are competition ranks; what lies within 1e-12 is equal, what differs by 1e-7 is not.
    for suspect in found.suspects:
        above = sum(p > suspect.probability * (1 + 1e-7) for p in order)
        at_or_above = sum(p > suspect.probability * (1 - 1e-12) for p in order if p)
        assert above < suspect.rank <= max(above, at_or_above) + 1
    for a, b in pairwise(found.suspects):
        if a.probability > b.probability * (1 + 1e-7):
            assert a.rank < b.rank
        elif a.probability <= b.probability * (1 + 1e-12):
            assert a.rank == b.rank


@settings(max_examples=40, deadline=None)
@given(made=change_lists, weights=origins, seed=st.integers(0, 99), shift=st.integers(-700_000, 2_000_000))
def test_neither_the_order_of_the_records_nor_a_shift_of_all_dates_matters(made, weights, seed, shift):
    rows = spaced([(0, (20, 0)), (2, (20, 1)), (3, (20, 4)), (1, (20, 5))])
    origin = {i: w / sum(weights) for i, w in enumerate(weights, start=1)}
    changes = [change(str(i), order, days) for i, (order, days) in enumerate(made)]

    def moved(day):
        return (date.fromisoformat(day) + timedelta(shift)).isoformat() if day else ""

    found = rank_changes(changes, origin=origin, onset=find_onset(rows))
    random.Random(seed).shuffle(changes)
    assert rank_changes(changes, origin=origin, onset=find_onset(rows)) == found

    later = rank_changes(
        [replace(c, when=moved(c.when)) for c in changes],
        origin=origin,
        onset=find_onset([replace(row, day=moved(row.day)) for row in rows]),
    )
    assert [(s.change.id, s.rank, s.probability, s.days_before, s.why) for s in later.suspects] == [
        (s.change.id, s.rank, s.probability, s.days_before, s.why) for s in found.suspects
    ]


def test_each_half_life_halves_the_suspicion():
    onset = find_onset(lots((40, 0), (40, 0), (40, 20), (40, 19)))
    found = by_id(
        rank_changes([change("old", 1, -7), change("new", 1, 0)], origin={1: 1.0, 2: 0.0}, onset=onset)
    )

    assert found["new"].probability == pytest.approx(2 * found["old"].probability, rel=1e-4)


def test_what_was_changed_one_half_life_before_counts_as_much_as_what_has_no_date():
    onset = known_onset(0.0, 1.0, days=[5, 5], interval=(1, 1))

    found = rank_changes([change("a", 2, -2), change("b", 2)], origin={1: 0.3, 2: 0.7}, onset=onset)

    assert [s.rank for s in found.suspects] == [1, 1]
    assert found.suspects[0].probability == pytest.approx(found.suspects[1].probability, rel=1e-12)


def test_a_change_that_cannot_be_the_cause_takes_nothing_from_the_others():
    onset = find_onset(lots((40, 0), (40, 0), (40, 20), (40, 19)))
    changes = [change("a", 2, 0), change("b", 1, 1), change("c", 2)]
    origin = {1: 0.2, 2: 0.8, 3: 0.0}

    few = rank_changes(changes, origin=origin, onset=onset)
    more = rank_changes([*changes, change("late", 2, 9), change("else", 3, 0)], origin=origin, onset=onset)

    assert [s.probability for s in more.suspects[:3]] == [s.probability for s in few.suspects]
    assert [(s.rank, s.probability) for s in more.suspects[3:]] == [(4, 0.0), (4, 0.0)]


def test_an_onset_that_may_lie_before_the_rows_says_nothing_against_an_old_change():
    onset = find_onset(lots((40, 20), (40, 19)))

    found = by_id(rank_changes([change("a", 1, -300), change("b", 1, 0)], origin={1: 1.0}, onset=onset))

    assert found["a"].time_factor == found["b"].time_factor == pytest.approx(1.0, abs=1e-6)
    assert (found["a"].days_before, found["b"].days_before) == ((0, 300), (0, 0))
    assert found["b"].why.endswith("; made on the latest day of the onset.")


def test_an_onset_at_or_before_the_first_row_speaks_against_a_later_change():
    # By hand: 0 for the first row; for the second the onset lies on day 0 or 1, and only day 1 counts.
    onset = known_onset(0.3, 0.7, interval=(0, 1))

    found = rank_changes([change("a", 1, 1)], origin={1: 1.0}, onset=onset)

    assert found.suspects[0].time_factor == pytest.approx(0.7 * (0 + 2) / 2, rel=1e-12)


def test_parts_that_reach_the_station_days_after_they_were_dated_move_the_change():
    onset = find_onset(lots((40, 0), (40, 0), (40, 20), (40, 19)))
    late = change("pads", 1, 6)
    origin = {1: 1.0}

    without = rank_changes([late], origin=origin, onset=onset).suspects[0]
    moved = rank_changes([replace(late, transit_days=5)], origin=origin, onset=onset).suspects[0]
    same = rank_changes([change("pads", 1, 1)], origin=origin, onset=onset).suspects[0]

    assert (without.timing, without.probability) == (AFTER_ONSET, 0.0)
    assert (moved.timing, moved.probability, moved.days_before) == (BEFORE_ONSET, same.probability, (0, 1))


@pytest.mark.parametrize("when", ["2026-02-17T23:59:60Z", "2026-02-17T06:10:00+01:00", "2026-02-17"])
def test_of_a_time_the_day_as_written_counts(when):
    onset = find_onset(lots((40, 0), (40, 0), (40, 20), (40, 19)))

    found = rank_changes([replace(change("a", 1), when=when)], origin={1: 1.0}, onset=onset)

    assert found.suspects[0] == replace(
        rank_changes([change("a", 1, 1)], origin={1: 1.0}, onset=onset).suspects[0],
        change=found.suspects[0].change,
    )


def test_upstream_presence_and_a_change_of_measurement_are_said():
    onset = find_onset(lots((40, 0), (40, 0), (40, 20), (40, 19)))

    found = rank_changes(
        [change("gauge", 3, 0, "measurement")], origin={1: 0.97, 2: 0.02, 3: 0.01}, onset=onset
    )

    assert found.suspects[0].why == (
        "1 % that the defect starts at its station, and 99.0 % that it is there upstream of it; made 1 to "
        "2 days before the onset; a change of measurement can change what is called NOK, and not the parts."
    )
    assert found.none_probability > found.suspects[0].probability
    assert "ask what else changed" in found.warnings[-1]


def test_without_an_onset_only_the_stations_count():
    changes = [change("a", 1, 3), change("b", 2)]
    clean = find_onset(lots((20, 0), (20, 0)))

    for onset in (None, clean):
        found = rank_changes(changes, origin={1: 0.25, 2: 0.75}, onset=onset)
        assert [(s.change.id, s.timing, s.time_factor) for s in found.suspects] == [
            ("b", TIME_UNKNOWN, None),
            ("a", TIME_UNKNOWN, None),
        ]
        assert "does not count here" in found.suspects[1].why
        assert found.warnings == ("No onset is known, so the changes are ranked by their stations only.",)


def test_dates_out_of_order_do_not_count():
    onset = find_onset([lot(4, 60, 0), lot(2, 60, 0), lot(5, 60, 20), lot(6, 60, 21)])

    found = rank_changes([change("a", 1, 3)], origin={1: 1.0}, onset=onset)

    assert found.suspects[0].timing == TIME_UNKNOWN
    assert found.warnings[0].startswith("The dates are out of order")


def test_an_onset_that_is_doubted_is_warned_of():
    onset = find_onset(lots((60, 0), (60, 1), (60, 0), (60, 8), (60, 45), (60, 44)))
    found = rank_changes([change("a", 1, 3)], origin={1: 1.0}, onset=onset)
    assert found.warnings[0].startswith("The defect may have started with 2026-02-19 already")


def test_a_defect_that_is_hardly_present_is_warned_of():
    onset = find_onset(lots((20, 0), (20, 0), (20, 1), (20, 1)))

    found = rank_changes([change("a", 1, 0)], origin={1: 0.1, 2: 0.1}, onset=onset)
    nowhere = rank_changes([change("a", 1, 0)], origin={1: 0.0, 2: 0.0}, onset=onset)

    assert found.suspects[0].station_probability == 0.5
    assert found.warnings[0].startswith(
        "The counts along the stream speak against the defect being in it (80 %"
    )
    assert "did not start in the dated rows" in found.warnings[1]
    assert nowhere.suspects[0].station_factor == 1.0


def test_no_change_leaves_all_to_what_was_not_recorded():
    found = rank_changes([], origin={1: 1.0}, onset=None)

    assert (found.suspects, found.none_probability) == ((), 1.0)


def test_what_is_taken_for_granted_is_said():
    said = " ".join(rank_changes([], origin={1: 1.0}, onset=None, half_life_days=3.0).assumptions)

    assert "its own station only" in said
    assert "within 3 days" in said
    assert said.count("our own assumption") == 2
    assert "on the date of their row." in said
    late = rank_changes([change("a", 1, transit_days=2)], origin={1: 1.0}, onset=None).assumptions
    assert late[-1].endswith("on the date of their row, later by the days of transit that are given.")


def test_the_probabilities_of_suspects_come_true_in_simulation():
    # The model itself: six stations, four recorded changes or one that was not recorded (over 20 days,
    # which is 2 / ln 2 half-lives), a delay of 7 days half-life, rows of one day, one walk. With 3000
    # runs every tenth of the range came out within 0.07, and "none" 0.296 for 0.302.
    rng = random.Random(11)
    sure = [0, 0.0, 0]
    none = [0.0, 0]
    runs = 0
    while runs < 200:
        recorded = [(rng.randint(1, 6), rng.randint(0, 25)) for _ in range(4)]
        cause = rng.randrange(5)
        if cause < 4:
            place = recorded[cause][0]
            day = recorded[cause][1] + math.floor(rng.expovariate(math.log(2) / 7))
        else:
            place, day = rng.randint(1, 6), rng.randint(6, 25)
        if not 6 <= day <= 25:
            continue
        share = SharePrior().step(rng.random() * math.log(101), 0.0)
        onset = find_onset(simulated(rng, 30, 20, share, day + rng.randrange(2)))
        if onset.interval is None:
            continue
        walk = []
        for order in range(1, 7):
            q = 0.005 + (share if order >= place else 0.0) * 0.895
            walk.append(station(order, 20, sum(rng.random() < q for _ in range(20))))
        origin = dict(enumerate(origin_posterior(walk).origin, start=1))
        changes = [change(str(i), order, days) for i, (order, days) in enumerate(recorded)]
        found = rank_changes(changes, origin=origin, onset=onset)
        runs += 1
        none = [none[0] + found.none_probability, none[1] + (cause == 4)]
        top = found.suspects[0]
        if top.probability >= 0.5:
            sure = [sure[0] + 1, sure[1] + top.probability, sure[2] + (top.change.id == str(cause))]

    # Within three standard deviations of a share of about 0.8 and 0.3.
    assert sure[0] > 60
    assert sure[2] / sure[0] == pytest.approx(sure[1] / sure[0], abs=3 * math.sqrt(0.16 / sure[0]))
    assert none[1] / runs == pytest.approx(none[0] / runs, abs=3 * math.sqrt(0.21 / runs))


@pytest.mark.parametrize(
    ("changes", "options", "words"),
    [
        ([change("a", 5)], {}, "station 5"),
        ([change("a", 1, kind="weather")], {}, "kind"),
        ([change("a", 1, transit_days=-1)], {}, "transit_days"),
        ([replace(change("a", 1), when="17.02.2026")], {}, "2026-02-24"),
        ([], {"half_life_days": 0.0}, "half_life_days"),
        ([], {"half_life_days": math.nan}, "half_life_days"),
        ([], {"none_weight": 0.0}, "none_weight"),
        ([], {"none_weight": math.inf}, "none_weight"),
        ([], {"origin": {}}, "origin"),
        ([], {"origin": {1: 0.7, 2: 0.7}}, "origin"),
        ([], {"origin": {1: -0.1}}, "origin"),
    ],
)
def test_changes_out_of_range_are_refused(changes, options, words):
    with pytest.raises(ValueError, match=words):
        rank_changes(changes, **{"origin": {1: 1.0}, "onset": None, **options})
