"""Three tablets and a desk come to the same whatever happens to them."""

from __future__ import annotations

import pytest
from hypothesis import Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.merging.fleet import Fleet, ForgetfulFleet

FEW = settings(max_examples=4, stateful_step_count=20, phases=[Phase.generate], report_multiple_bugs=False)


def test_all_see_the_same_at_the_end_and_nothing_saved_is_missing():
    run_state_machine_as_test(Fleet, settings=FEW)


def test_control_a_tablet_that_forgets_at_a_crash_is_caught():
    with pytest.raises(AssertionError, match="saved records are missing"):
        run_state_machine_as_test(ForgetfulFleet, settings=settings(FEW, max_examples=30))
