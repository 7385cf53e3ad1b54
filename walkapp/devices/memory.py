"""How the C library hands out memory."""

from __future__ import annotations

import contextlib
import ctypes
import os

_MMAP_THRESHOLD = -3
"""M_MMAP_THRESHOLD of glibc's malloc.h."""

LARGE_BYTES = 1_000_000


def return_large_blocks() -> bool:
    """Let every large block come fresh from the system and go back to it at once.

    glibc begins so, and stops once a large block was given back (mallopt(3), "dynamic mmap threshold").
    From then on the megabytes of a decoded picture stay with the process in pieces, and are cleared before
    they are used again. Pillow does that while all other threads of Python wait, 38 ms for 12 megapixels,
    longer than a frame; fresh blocks are cleared by the system while they are filled.

    Returns
    -------
    bool
        Whether it is so now; other C libraries are left as they are.
    """
    with contextlib.suppress(OSError, AttributeError, ValueError):
        if (os.confstr("CS_GNU_LIBC_VERSION") or "").startswith("glibc"):
            return bool(ctypes.CDLL(None).mallopt(_MMAP_THRESHOLD, LARGE_BYTES))
    return False
