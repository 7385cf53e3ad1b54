"""Which presenter stands behind each place of the app."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from walkapp.presenters.answer import AnswerPage
from walkapp.presenters.checks import CountPage, JudgePage, MeasurePage
from walkapp.presenters.concern_forms import EscalationForm, NewConcernForm, StartWalkForm
from walkapp.presenters.home import ConcernPage, HomePage
from walkapp.presenters.photo import PhotoPage
from walkapp.presenters.session import Route, Session
from walkapp.presenters.station import StationPage
from walkapp.presenters.walk_forms import ChangeForm, NoteForm, ReasonForm, SampleForm

Page = Any
"""A presenter: has ``open``, ``back``, ``watch``, ``unwatch`` and ``state``."""

PAGES: Mapping[str, Callable[[Session, Route], Page]] = {
    "home": HomePage,
    "new_concern": NewConcernForm,
    "concern": ConcernPage,
    "escalation": EscalationForm,
    "start_walk": StartWalkForm,
    "station": StationPage,
    "judge": JudgePage,
    "count": CountPage,
    "measure": MeasurePage,
    "reason": ReasonForm,
    "note": NoteForm,
    "change": ChangeForm,
    "sample": SampleForm,
    "photo": PhotoPage,
    "answer": AnswerPage,
}
"""A presenter class for every screen that a route may name."""
