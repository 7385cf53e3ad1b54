"""What the last merges brought, kept so that it can be read again; no evidence, only a note for people."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from datetime import datetime
from typing import Any

from walkapp.actions.workplace import Workplace

MOST_RUNS = 10
"""Merges whose reports are kept; the store's records say all that holds."""

MOST_LETTERS = 200_000
"""Of a longer report only the sums are kept: thousands of bundles are rolled up and not merged by hand."""

MOST_TOLD = 30
"""Kinds, tablets or concerns of one bundle that are told by name; the rest is one sum."""

REST = ""
"""Stands for all others, where there are too many to be told by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one bundle; numbers and words only, so that it can be kept and read again.

    Parameters
    ----------
    name
        The name of its file.
    refused
        Why it was refused, one sentence; empty where it was not.
    asks_key
        Digits of the key to compare with the tablet, where that is why it was refused; else empty.
    is_left
        Whether it was not begun, since the run was stopped before.
    digest
        As :class:`walkapp.bundle.BundleLabel` has it; empty where it was not read.
    known
        Records that were here already.
    photos, checklists
        Pictures and checklists that were added.
    by_kind, by_tablet
        New records, by the name of their kind and by the id of the tablet; as :func:`with_most` gives them,
        as all such counts here.
    new_concerns, known_concerns
        New records of concerns, or books, that were not here before, and of those that were, by id.
    disputes
        Entries that contradict each other since this bundle came, by concern or book.
    origin
        From whom it is, in a sentence.
    minds
        What has to be minded, a sentence each.
    """

    name: str
    refused: str = ""
    asks_key: str = ""
    is_left: bool = False
    digest: str = ""
    known: int = 0
    photos: int = 0
    checklists: int = 0
    by_kind: Mapping[str, int] = field(default_factory=dict)
    by_tablet: Mapping[str, int] = field(default_factory=dict)
    new_concerns: Mapping[str, int] = field(default_factory=dict)
    known_concerns: Mapping[str, int] = field(default_factory=dict)
    disputes: Mapping[str, int] = field(default_factory=dict)
    origin: str = ""
    minds: tuple[str, ...] = ()

    @property
    def is_merged(self) -> bool:
        """Whether the bundle is part of the store."""
        return not self.refused and not self.is_left

    @property
    def new(self) -> int:
        """Records that were added."""
        return sum(self.by_kind.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class MergeRun:
    """What became of the bundles that were chosen.

    Parameters
    ----------
    at
        When it ended, RFC 3339.
    outcomes
        One for each bundle, in the order in which they were taken.
    trouble
        Why the run could not go on, one sentence; empty when it went to its end or was stopped.
    is_stopped
        Whether the person stopped it.
    """

    at: str
    outcomes: tuple[Outcome, ...]
    trouble: str = ""
    is_stopped: bool = False


def with_most(counts: Mapping[str, int]) -> dict[str, int]:
    """Give the largest counts by name, sorted by it, and the sum of all others under ``REST``."""
    by_size = sorted(counts, key=lambda name: (-counts[name], name))
    kept = {name: counts[name] for name in sorted(by_size[:MOST_TOLD])}
    rest = sum(counts[name] for name in by_size[MOST_TOLD:])
    return kept | ({REST: rest} if rest else {})


def keep_run(place: Workplace, run: MergeRun) -> None:
    """Note what a merge brought; the oldest notes go."""
    told = _told(run)
    if len(told) > MOST_LETTERS:
        told = _told(replace(run, outcomes=tuple(_sums(one) for one in run.outcomes)))
    kept = {**place.store.merges(), run.at: told}
    place.store.remember_merges({at: kept[at] for at in sorted(kept)[-MOST_RUNS:]})


def _told(run: MergeRun) -> str:
    return json.dumps(asdict(run), ensure_ascii=False)


def _sums(outcome: Outcome) -> Outcome:
    """Forget all names in the counts of an outcome."""
    counts = ("by_kind", "by_tablet", "new_concerns", "known_concerns", "disputes")
    sums: dict[str, Any] = {}
    for name in counts:
        total = sum(getattr(outcome, name).values())
        sums[name] = {REST: total} if total else {}
    return replace(outcome, **sums)


def merge_runs(place: Workplace) -> tuple[MergeRun, ...]:
    """Give what was noted of the last merges, the newest first; what cannot be read is left out."""
    kept = place.store.merges()
    found = (_read_run(kept[at]) for at in sorted(kept, reverse=True))
    return tuple(run for run in found if run is not None)


def _read_run(told: str) -> MergeRun | None:
    try:
        said: Any = json.loads(told)
        outcomes = tuple(_read_outcome(one) for one in said["outcomes"])
        at, trouble, is_stopped = said["at"], said["trouble"], said["is_stopped"]
        datetime.fromisoformat(at)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    return MergeRun(at=at, outcomes=outcomes, trouble=str(trouble), is_stopped=bool(is_stopped))


def _read_outcome(said: Any) -> Outcome:
    """Read one outcome.

    Raises
    ------
    AttributeError, KeyError, TypeError, ValueError
        If it is not one.
    """
    known: dict[str, Any] = {}
    for one in fields(Outcome):
        value = said[one.name]
        match one.type:
            case "str":
                known[one.name] = str(value)
            case "bool":
                known[one.name] = bool(value)
            case "int":
                known[one.name] = int(value)
            case "tuple[str, ...]":
                known[one.name] = tuple(str(words) for words in value)
            case _:
                known[one.name] = {str(name): int(count) for name, count in value.items()}
    return Outcome(**known)
