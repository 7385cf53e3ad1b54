"""Random orders and random numbers that follow from a stored seed, the same on every tablet.

No generator of Python is used, because what it gives for a seed may change with the version.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

_MASK = 2**64 - 1


def in_seeded_order(labels: Sequence[str], key: tuple[str, ...]) -> tuple[str, ...]:
    """Put labels into a random order that follows from a key.

    Parameters
    ----------
    labels
        Each once; their sequence does not matter.
    key
        Any texts, with what the order is for among them.

    Returns
    -------
    tuple of str
        The labels sorted by the SHA-256 of key and label (UTF-8, each with its length in bytes in
        front, so that no two lists of texts run together).
    """
    begun = hashlib.sha256(_joined(key))

    def place(label: str) -> tuple[bytes, str]:
        digest = begun.copy()
        digest.update(_joined((label,)))
        return digest.digest(), label

    return tuple(sorted(labels, key=place))


class SeededChance:
    """Gives random numbers that follow from a key; only for simulations, never for secrets.

    Parameters
    ----------
    key
        Any texts.

    Notes
    -----
    SplitMix64: G. L. Steele, D. Lea and C. H. Flood (2014), "Fast splittable pseudorandom number
    generators", OOPSLA 2014, 453-472. It starts from the first 8 bytes of the key's SHA-256.

    Examples
    --------
    >>> chance = SeededChance(("an example",))
    >>> all(0 <= chance.random() < 1 for _ in range(1000))
    True
    """

    def __init__(self, key: tuple[str, ...]) -> None:
        self._state = int.from_bytes(hashlib.sha256(_joined(key)).digest()[:8], "big")

    def random(self) -> float:
        """Give the next number, uniform from 0 up to but not including 1."""
        self._state = (self._state + 0x9E3779B97F4A7C15) & _MASK
        mixed = self._state
        mixed = (mixed ^ (mixed >> 30)) * 0xBF58476D1CE4E5B9 & _MASK
        mixed = (mixed ^ (mixed >> 27)) * 0x94D049BB133111EB & _MASK
        return ((mixed ^ (mixed >> 31)) >> 11) / 2**53


def _joined(texts: Iterable[str]) -> bytes:
    data = (text.encode("utf-8") for text in texts)
    return b"".join(b"%d:%b," % (len(item), item) for item in data)
