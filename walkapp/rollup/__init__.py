"""Questions to the bundles of many plants at once, in SQL."""

from walkapp.rollup.duck import DuckDB
from walkapp.rollup.engine import Engine
from walkapp.rollup.questions import Found, Question, Value, ask, kinds_for, prepare, questions
from walkapp.rollup.settling import settle

__all__ = [
    "DuckDB",
    "Engine",
    "Found",
    "Question",
    "Value",
    "ask",
    "kinds_for",
    "prepare",
    "questions",
    "settle",
]
