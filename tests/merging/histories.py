"""Invented records that meet: 8 ids, 3 scopes, 3 tablets, so that almost every example has a conflict."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from hypothesis import strategies as st

from tests.builders import CONCERN, WALK, make, record_id
from walkapp.model.ids import book_id
from walkapp.model.records import (
    Answer,
    AuditAnswer,
    AuditReaction,
    AuditStart,
    CarriedRecord,
    Concern,
    Count,
    FindingClosed,
    Note,
    PictureMark,
    Record,
    Withdrawal,
)

IDS = tuple(range(10, 18))
NEVER_HERE = 99
"""Stands for a record that is named and never arrives."""

DEVICES = tuple(record_id(number) for number in (1, 71, 72))

BASE = (
    make(Concern, id=CONCERN, walk="", number=1, stream="washer-reservoir", defect="cracked-ear",
         what="Cracked ears (invented)", severity="function"),
)  # fmt: skip
"""What every store has to have before anything can be said of it."""

BOOK = book_id("washer-reservoir", date(2026, 3, 1))

Parcel = tuple[Record, ...]


@st.composite
def records(draw: st.DrawFn) -> Record:
    """Draw an entry, of a walk or of audits, a correction, a withdrawal or a record of a newer version."""
    kinds = (Answer, Answer, Count, Note, PictureMark, Withdrawal, CarriedRecord, *_OF_AUDITS)
    kind = draw(st.sampled_from(kinds))
    number = draw(st.sampled_from(IDS))
    least = 1 if kind is Withdrawal else 0
    replaces = draw(st.lists(st.sampled_from((*IDS, NEVER_HERE)), min_size=least, max_size=2, unique=True))
    header = {
        "device": draw(st.sampled_from(DEVICES)),
        **draw(_OUTSIDE if kind is PictureMark else _IN_BOOK if kind in _OF_AUDITS else _SCOPES),
        "replaces": tuple(record_id(other) for other in replaces),
        "at": f"2026-03-03T0{draw(st.integers(1, 2))}:00:00+01:00",
    }
    match kind.__name__:
        case "Answer":
            word = draw(st.sampled_from(("ok", "not_ok")))
            fields = {"station": draw(_STATIONS), "check": "ear-look", "answer": word}
        case "Count":
            nok = draw(st.integers(0, 2))
            fields = {"station": draw(_STATIONS), "check": "ear-look", "checked": 20, "nok": nok}
        case "Note":
            fields = {"station": draw(_STATIONS), "words": draw(st.sampled_from(("a", "=b")))}
        case "PictureMark":
            tip = draw(st.sampled_from(("0.5 0.5", "1 0")))
            fields = {"photo": "b" * 64, "shape": "arrow", "points": f"0.25 0.25; {tip}"}
        case "AuditStart":
            day = draw(st.sampled_from(("2026-03-02", "0001-01-01", "9999-12-31")))
            fields = {
                "stream": "washer-reservoir",
                "checklist": "a" * 64,
                "layer": "supervisor",
                "day": day,
            }
        case "AuditAnswer":
            word = draw(st.sampled_from(("ok", "not_ok", "not_ok")))
            fields = {"audit": draw(_NAMED), "station": "welding", "question": "guard", "asked": "On?",
                      "answer": word}  # fmt: skip
        case "AuditReaction":
            reaction = draw(st.sampled_from(("corrected", "contained")))
            rest = {"owner": "SL", "due_on": "2026-03-12"} if reaction == "contained" else {}
            fields = {
                "audit": draw(_NAMED),
                "finding": draw(_NAMED),
                "reaction": reaction,
                "what": "held",
                **rest,
            }
        case "FindingClosed":
            fields = {
                "audit": draw(_NAMED),
                "finding": draw(_NAMED),
                "closed_on": "2026-03-11",
                "evidence": "=",
            }
        case "CarriedRecord":
            fields = {"carried_kind": "marking", "cells": draw(_CELLS)}
        case _:
            fields = {}
    return make(kind, number, **header, **fields)


_OF_AUDITS = (AuditStart, AuditAnswer, AuditReaction, FindingClosed)
_IN_BOOK = st.sampled_from(({"concern": BOOK, "walk": ""}, {"concern": BOOK, "walk": ""}, {"walk": ""}))
_SCOPES = st.sampled_from(({"walk": WALK}, {"walk": ""}, {"walk": BOOK}, {"concern": BOOK, "walk": ""}))
_OUTSIDE = st.sampled_from(({"walk": ""}, {"concern": BOOK, "walk": ""}))
_NAMED = st.sampled_from((*IDS, NEVER_HERE)).map(record_id)
_STATIONS = st.sampled_from(("welding", "leak-test"))
_CELLS = st.sampled_from(((), (("shape", "=ring"),), (("shape", "arrow"), ("size_mm", "-2.50"))))


def parcels() -> st.SearchStrategy[Parcel]:
    """Draw what one bundle brings."""
    return st.lists(records(), max_size=5).map(tuple)


@dataclass(frozen=True)
class Case:
    """Two ways to bring the same records together; what can be seen must be the same.

    Parameters
    ----------
    law
        Name of the law.
    one, other
        Parcels in the order in which they arrive. A parcel of parcels is merged at another tablet
        first and passed on from there.
    """

    law: str
    one: tuple[Parcel | tuple[Parcel, ...], ...]
    other: tuple[Parcel | tuple[Parcel, ...], ...]


LAWS = ("idempotent", "commutative", "associative", "neutral", "split", "order", "late")


@st.composite
def cases(draw: st.DrawFn, laws: tuple[str, ...] = LAWS) -> Case:
    """Draw a law and records to try it on."""
    law = draw(st.sampled_from(laws))
    a, b, c = draw(parcels()), draw(parcels()), draw(parcels())
    match law:
        case "idempotent":
            return Case(law, (a, b), (a, b, a, b, b))
        case "commutative":
            return Case(law, (a, b), (b, a))
        case "associative":
            return Case(law, ((a, b), c), (a, (b, c)))
        case "neutral":
            return Case(law, (a, b), ((), a, (), b, ()))
        case "split":
            return Case(law, ((*a, *b, *c),), tuple((one,) for one in (*a, *b, *c)))
        case "order":
            everything = (*a, *b, *c)
            shuffled = tuple(draw(st.permutations(everything)))
            cut = draw(st.integers(0, len(shuffled)))
            return Case(law, (everything,), (shuffled[cut:], shuffled[:cut], shuffled[cut:]))
        case _:  # what is replaced arrives after what replaces it
            everything = (*a, *b)
            first = tuple(r for r in everything if r.replaces)
            last = tuple(r for r in everything if not r.replaces)
            return Case(law, (last, first), (first, last))
