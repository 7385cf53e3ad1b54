"""Warning signs: each is there when its reason is, names its station, and is absent otherwise."""

from dataclasses import replace

import pytest

from tests.analysis.streams import station, stream
from walkapp.analysis.locate import locate


def warnings(*counts, weights=()):
    stations = stream(*counts)
    if weights:
        stations = tuple(replace(s, weight=w) for s, w in zip(stations, weights, strict=True))
    return locate(stations, with_advice=False, thorough=False).warnings


def test_a_well_proven_answer_has_no_warning():
    assert warnings((60, 0), (60, 0), (20, 9), (20, 11)) == ()


def test_a_small_clean_sample_is_no_proof():
    # Upper limit after 0 of 3, one-sided 95 %: 1 - 0.05 ** (1/3) = 0.6316; with a detection of 0.9
    # (1 - 0.09) ** 32 < 0.05: 32 parts in all.
    found = warnings((3, 0), (20, 9))

    (text,) = found
    assert text == (
        "3 parts OK do not prove that Station 1 is clean: up to 64 % could be NOK (95 %); "
        "29 more, all OK, would."
    )


def test_a_stream_without_nok_is_no_proof_either():
    (text,) = warnings((40, 0), (1, 0))

    assert text == (
        "1 part OK does not prove that Station 2 is clean: up to 95 % could be NOK (95 %); "
        "31 more, all OK, would."
    )


def test_a_first_station_that_is_bad_points_further_up():
    assert warnings((20, 9), (20, 9)) == (
        "Station 1 is the first station of the stream: the defect may come from before it.",
    )


def test_a_first_checked_station_that_is_bad_points_further_up():
    found = warnings((0, 0), (20, 9), (20, 9))

    assert found[0].startswith("Station 2 is the first station that was checked")
    assert found[1] == "Station 1 was skipped: the defect may start there as well (49 %)."


def test_skipped_stations_before_the_named_one_are_listed_with_their_probability():
    found = warnings((60, 0), (0, 0), (0, 0), (20, 9))

    assert found == (
        "Station 2 and Station 3 were skipped: the defect may start there as well (66 % together).",
    )


def test_a_skipped_station_elsewhere_is_not_mentioned():
    assert warnings((0, 0), (60, 0), (20, 9), (0, 0), (20, 11)) == ()


def test_a_false_alarm_upstream_is_explained_by_numbers():
    found = warnings((200, 1), (60, 0), (60, 0), (20, 9), (20, 11))

    # 320 good parts at 0.005 make 1.6 false alarms.
    (text,) = found
    assert text == (
        "The plain rule names Station 1, where the first NOK was seen; the computation names Station 4, "
        "because from Station 1 up to it 1 of 320 parts NOK (1.6 false alarms expected) and from Station 4 "
        "on 20 of 40 parts."
    )


def test_every_further_nok_upstream_is_counted_against_false_alarms():
    found = warnings((200, 1), (200, 2), (60, 0), (20, 9), (20, 11))

    assert (
        "2 of 200 parts NOK at Station 2, before Station 4: if the defect starts there, these are false "
        "alarms (1.0 expected)."
    ) in found


def test_false_alarms_alone_name_no_station():
    found = warnings((200, 1), (200, 0), (200, 0))

    (text,) = found
    assert text == (
        "The plain rule names Station 1, where the first NOK was seen; the computation names no station, "
        "because 1 part NOK of 600 may be false alarms (3.0 expected)."
    )


def test_a_prior_that_overrules_the_counts_is_named():
    found = warnings((60, 0), (0, 0), (20, 9), weights=[1.0, 5.0, 1.0])

    assert found[0] == (
        "The plain rule names Station 3, where the first NOK was seen; the computation names Station 2, "
        "which was thought the likelier origin beforehand and was not checked."
    )


def test_a_prior_that_overrules_ok_parts_is_named():
    found = warnings((60, 0), (2, 0), (20, 9), weights=[1.0, 99.0, 1.0])

    assert found[0].endswith("which was thought the likelier origin beforehand and had 0 of 2 parts NOK.")


def test_a_share_that_drops_downstream_points_to_sorting():
    # Fisher's exact test, SciPy: 12 of 20 against 2 of 20 gives p = 0.0022.
    found = warnings((60, 0), (20, 12), (20, 2))

    (text,) = found
    assert text == (
        "The share of NOK drops at Station 3 (2 of 20 parts) after 12 of 20 parts from Station 2 on. "
        "Sorting, rework or mixing on the way may hide the defect. Where parts are sorted out, say so in "
        "the checklist (sorts = true), then it is allowed for."
    )


def test_a_drop_where_the_checklist_says_that_parts_are_sorted_out_is_allowed_for():
    plain = stream((60, 0), (20, 12), (20, 2))

    (text,) = locate(
        (*plain[:2], replace(plain[2], sorts=True)), with_advice=False, thorough=False
    ).warnings

    assert text.endswith("The checklist says that parts are sorted out on the way, which is allowed for.")


def test_a_drop_that_chance_explains_is_not_mentioned():
    # Fisher's exact test, SciPy: 9 of 20 against 6 of 20 gives p = 0.51.
    assert warnings((60, 0), (20, 9), (20, 6)) == ()


def test_a_drop_at_another_check_may_be_the_check():
    stations = (*stream((60, 0), (40, 30)), station(3, 40, 8, detection=0.5))

    (found,) = locate(stations, with_advice=False, thorough=False).warnings

    assert found.endswith(
        "Sorting, rework or mixing on the way, or a check there that finds less, may hide the defect. "
        "Where parts are sorted out, say so in the checklist (sorts = true), then it is allowed for."
    )


def test_parts_of_different_days_do_not_compare():
    first, second, third = stream((60, 0), (20, 9), (20, 11))
    dated = (
        replace(first, made_on=("2026-03-02",)),
        replace(second, made_on=("2026-03-05",)),
        replace(third, made_on=("2026-03-05",)),
    )

    (text,) = locate(dated).warnings
    assert text == (
        "The parts were not all made on the same days, so their shares may not compare "
        "(Station 1: 2026-03-02; Station 2 and Station 3: 2026-03-05)."
    )


def test_the_same_days_or_no_days_are_no_matter():
    first, second = stream((60, 0), (20, 9))

    assert locate((replace(first, made_on=("2026-03-02",)), second)).warnings == ()
    same = tuple(replace(s, made_on=("2026-03-02",)) for s in (first, second))
    assert locate(same).warnings == ()


def test_days_of_a_station_without_parts_are_no_matter():
    first, second, third = stream((60, 0), (20, 9), (0, 0))
    days = ("2026-03-02", "2026-03-02", "2026-01-01")

    dated = tuple(replace(s, made_on=(day,)) for s, day in zip((first, second, third), days, strict=True))

    assert locate(dated).warnings == ()


@pytest.mark.parametrize(
    "counts",
    [
        ((3, 0), (0, 0), (20, 9), (20, 0)),
        ((20, 1), (60, 0), (20, 1), (20, 9)),
        ((0, 0), (20, 9), (20, 1)),
        ((5, 0), (5, 0)),
    ],
)
def test_every_warning_names_a_station(counts):
    found = warnings(*counts)

    assert found
    assert all("Station " in text and text.endswith(".") for text in found)
