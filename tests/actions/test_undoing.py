"""Taking back entries outside any walk: newest first, only those of a page, and what was before returns."""

from __future__ import annotations

import pytest

from walkapp.actions.days import refuse_before, refuse_to_come
from walkapp.actions.reading import concern_facts
from walkapp.actions.undoing import newest_entry, take_back
from walkapp.errors import InputError
from walkapp.model.records import Escape, Lesson, SuspectRange

CONTAINMENT = (SuspectRange, Escape)


def standing(desk, concern, kind):
    return [r for r in concern_facts(desk.place, concern).standing.current if isinstance(r, kind)]


def test_entries_of_a_page_are_taken_back_one_after_the_other(desk):
    concern = desk.concern()
    first = desk.place.add(SuspectRange, concern=concern, quantity=4800)
    desk.place.add(SuspectRange, concern=concern, quantity=4900, replaces=(first.id,), why="counted again")
    desk.place.add(Lesson, concern=concern, worked="Asking the setter")
    desk.place.add(Escape, concern=concern, found_on="2026-03-02", where="dock", quantity=1)

    take_back(desk.place, concern, CONTAINMENT)
    assert standing(desk, concern, Escape) == []
    assert [r.quantity for r in standing(desk, concern, SuspectRange)] == [4900]

    take_back(desk.place, concern, CONTAINMENT)
    assert [r.quantity for r in standing(desk, concern, SuspectRange)] == [4800]

    take_back(desk.place, concern, CONTAINMENT)
    assert standing(desk, concern, SuspectRange) == []
    assert [r.worked for r in standing(desk, concern, Lesson)] == ["Asking the setter"]
    assert newest_entry(desk.place, concern, CONTAINMENT) is None
    with pytest.raises(InputError, match="nothing on this page"):
        take_back(desk.place, concern, CONTAINMENT)


def test_what_was_taken_back_on_another_page_does_not_count(desk):
    concern = desk.concern()
    kept = desk.place.add(Escape, concern=concern, found_on="2026-03-02", where="dock", quantity=1)
    desk.place.add(Lesson, concern=concern, worked="Asking the setter")
    take_back(desk.place, concern, (Lesson,))

    assert newest_entry(desk.place, concern, CONTAINMENT) == kept


def test_days_that_cannot_be_true_are_refused(desk):
    refuse_to_come(desk.place, "Sorted on", "2026-03-03")
    refuse_to_come(desk.place, "Sorted on", "")
    refuse_to_come(desk.place, "Sorted on", "soon")
    refuse_before("Done on", "2026-03-03", "the day it was opened", "2026-03-03")
    refuse_before("Done on", "", "the day it was opened", "2026-03-03")

    with pytest.raises(InputError, match="Sorted on: 2026-03-04 is still to come"):
        refuse_to_come(desk.place, "Sorted on", "2026-03-04")
    with pytest.raises(
        InputError, match=r"Done on: 2026-03-02 is before the day it was opened \(2026-03-03\)"
    ):
        refuse_before("Done on", "2026-03-02", "the day it was opened", "2026-03-03")
