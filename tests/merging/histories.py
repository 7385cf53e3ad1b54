"""Invented records that meet: 8 ids, 2 scopes, 3 tablets, so that almost every example has a conflict."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import strategies as st

from tests.builders import CONCERN, WALK, make, record_id
from walkapp.model.records import Answer, CarriedRecord, Concern, Count, Note, Record, Withdrawal

IDS = tuple(range(10, 18))
NEVER_HERE = 99
"""Stands for a record that is named and never arrives."""

DEVICES = tuple(record_id(number) for number in (1, 71, 72))

BASE = (
    make(Concern, id=CONCERN, walk="", number=1, stream="washer-reservoir", defect="cracked-ear",
         what="Cracked ears (invented)", severity="function"),
)  # fmt: skip
"""What every store has to have before anything can be said of it."""

Parcel = tuple[Record, ...]


@st.composite
def records(draw: st.DrawFn) -> Record:
    """Draw an entry, a correction, a withdrawal or a record of a newer version."""
    kind = draw(st.sampled_from((Answer, Answer, Count, Note, Withdrawal, CarriedRecord)))
    number = draw(st.sampled_from(IDS))
    least = 1 if kind is Withdrawal else 0
    replaces = draw(st.lists(st.sampled_from((*IDS, NEVER_HERE)), min_size=least, max_size=2, unique=True))
    header = {
        "device": draw(st.sampled_from(DEVICES)),
        "walk": draw(st.sampled_from((WALK, ""))),
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
        case "CarriedRecord":
            fields = {"carried_kind": "marking", "cells": draw(_CELLS)}
        case _:
            fields = {}
    return make(kind, number, **header, **fields)


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
