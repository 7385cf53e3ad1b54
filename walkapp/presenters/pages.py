"""Which presenter stands behind each place of the app."""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

PAGES: Mapping[str, str] = {
    "home": "walkapp.presenters.home:HomePage",
    "new_concern": "walkapp.presenters.concern_forms:NewConcernForm",
    "concern": "walkapp.presenters.concern:ConcernPage",
    "escalation": "walkapp.presenters.concern_forms:EscalationForm",
    "weight": "walkapp.presenters.concern_forms:StationWeightForm",
    "disputes": "walkapp.presenters.disputes:DisputesPage",
    "settle": "walkapp.presenters.disputes:SettleForm",
    "start_walk": "walkapp.presenters.concern_forms:StartWalkForm",
    "station": "walkapp.presenters.station:StationPage",
    "judge": "walkapp.presenters.checks:JudgePage",
    "count": "walkapp.presenters.checks:CountPage",
    "measure": "walkapp.presenters.checks:MeasurePage",
    "reason": "walkapp.presenters.walk_forms:ReasonForm",
    "note": "walkapp.presenters.walk_forms:NoteForm",
    "change": "walkapp.presenters.change_forms:ChangeForm",
    "sample": "walkapp.presenters.walk_forms:SampleForm",
    "photo": "walkapp.presenters.photo:PhotoPage",
    "cover": "walkapp.presenters.cover:CoverPage",
    "studies": "walkapp.presenters.studies:StudiesPage",
    "new_study": "walkapp.presenters.study_forms:NewStudyForm",
    "study": "walkapp.presenters.studies:StudyPage",
    "inspector": "walkapp.presenters.study_forms:InspectorForm",
    "reading": "walkapp.presenters.study_reading:ReadingPage",
    "study_result": "walkapp.presenters.study_result:StudyResultPage",
    "answer": "walkapp.presenters.answer:AnswerPage",
    "detail": "walkapp.presenters.detail:DetailPage",
    "measured": "walkapp.presenters.measured:MeasuredPage",
    "onset": "walkapp.presenters.onset:OnsetPage",
    "dated_count": "walkapp.presenters.lot_form:LotCountForm",
    "new_change": "walkapp.presenters.change_forms:NewChangeForm",
    "change_point": "walkapp.presenters.change_point:ChangePointPage",
    "correct_change": "walkapp.presenters.change_forms:CorrectChangeForm",
}
"""Module and class of the presenter of every place that a route may name.

They are named, not imported, so that the app shows its first page before it has read the code of
all the others.
"""


@dataclass(frozen=True, slots=True)
class Parent:
    """Where "back" leads from a place.

    Parameters
    ----------
    screen
        The place above.
    keeps
        Names of the fields of the route that it needs, beside the concern.
    """

    screen: str
    keeps: tuple[str, ...] = ()


PARENTS: Mapping[str, Parent] = {
    "new_change": Parent("onset", ("walk", "station")),
    "change_point": Parent("onset", ("walk", "station")),
    "correct_change": Parent("change_point", ("walk", "station", "entry")),
    "start_walk": Parent("concern"),
    "escalation": Parent("concern"),
    "station": Parent("concern"),
    "studies": Parent("concern"),
    "disputes": Parent("concern"),
    "settle": Parent("disputes"),
    "new_study": Parent("studies"),
    "study": Parent("studies"),
    "inspector": Parent("study", ("study",)),
    "reading": Parent("study", ("study",)),
    "study_result": Parent("study", ("study",)),
}
"""The place above each place that always has the same one; ``Route.up`` knows all others."""


def page_class(screen: str) -> Any:
    """Give the presenter class of a place.

    Parameters
    ----------
    screen
        A key of ``PAGES``.

    Returns
    -------
    type
        Called with a session and a route; has ``open``, ``back``, ``watch``, ``unwatch`` and ``state``.
    """
    return pkgutil.resolve_name(PAGES[screen])
