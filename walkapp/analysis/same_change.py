"""Which change points of two tablets tell of one and the same change.

Two people who walk the same station write the same change down twice; among the suspects it must count
once. The records stay as they are, both of them.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from walkapp.model.records import ChangePoint

LEAST_LETTERS = 5
"""A slip of the finger is looked for only in words of at least so many letters."""

MOST_COMPARED = 50
"""With so many changes of one station, kind and day a further one is compared; beyond that it is taken
as another change, so that a bundle full of them costs no more than its length."""

_AROUND_WORDS = ".,;:!?\"'()"


def same_changes(points: Iterable[ChangePoint]) -> tuple[tuple[ChangePoint, ...], ...]:
    """Put the records of one and the same change together.

    The rule is on the safe side: what is wrongly taken as one hides a suspect, what is wrongly taken as
    two only shares its probability. Two records are one change if all of this is so:

    - they were made on different tablets (whoever writes twice on one tablet means two changes);
    - station, kind of change and day are the same;
    - the words are nearly the same: the same words in the same order, whatever the case and the
      punctuation around them; one word of five letters or more may differ by one letter that is not its
      first. Numbers, signs and short words must agree, so that "clamp 1" is not "clamp 2". If the day is
      not known, no word may differ.

    Parameters
    ----------
    points
        In any order.

    Returns
    -------
    tuple of tuple of ChangePoint
        Each change with its records sorted by id, at most one of each tablet; the changes sorted by the
        id of their first record. The same for the same records, whatever their order.

    Notes
    -----
    Own rule, no source.
    """
    by_place: dict[tuple[str, str, str], list[tuple[list[ChangePoint], list[str]]]] = {}
    for point in sorted(points, key=lambda point: (point.id, point.device)):
        found = by_place.setdefault((point.station, point.change, point.changed_on), [])
        words = _words(point.what)
        allowed = 1 if point.changed_on else 0
        for records, said in found[:MOST_COMPARED]:
            if point.device not in {r.device for r in records} and _nearly_same(words, said, allowed):
                records.append(point)
                break
        else:
            found.append(([point], words))
    changes = (tuple(records) for found in by_place.values() for records, _ in found)
    return tuple(sorted(changes, key=lambda records: (records[0].id, records[0].device)))


def _words(text: str) -> list[str]:
    """Fold a text to its words in their order; a text of nothing but punctuation is one word."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    words = (word.strip(_AROUND_WORDS) for word in folded.split())
    return [word for word in words if word] or [folded]


def _nearly_same(one: list[str], other: list[str], allowed: int) -> bool:
    """Whether all words agree but for `allowed` of them, which differ by a slip of the finger."""
    if len(one) != len(other):
        return False
    unlike = [(a, b) for a, b in zip(one, other, strict=True) if a != b]
    return len(unlike) <= allowed and all(_is_slip(a, b) for a, b in unlike)


def _is_slip(one: str, other: str) -> bool:
    """Whether two words of letters differ by one letter, changed, left out or added, not the first."""
    shorter, longer = sorted((one, other), key=len)
    if len(shorter) < LEAST_LETTERS or not (one.isalpha() and other.isalpha()) or one[0] != other[0]:
        return False
    same = next((i for i, (a, b) in enumerate(zip(shorter, longer, strict=False)) if a != b), len(shorter))
    if len(shorter) == len(longer):
        return shorter[same + 1 :] == longer[same + 1 :]
    return len(longer) == len(shorter) + 1 and shorter[same:] == longer[same + 1 :]
