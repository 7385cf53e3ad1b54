"""Large blocks of memory go back to the system."""

from __future__ import annotations

import platform
import subprocess
import sys

import pytest

PROGRAM = """
import ctypes
from pathlib import Path
from walkapp.devices.memory import return_large_blocks

def taken_kb():
    return int(Path("/proc/self/statm").read_text().split()[0]) * 4

if {is_set}:
    assert return_large_blocks()
libc = ctypes.CDLL(None)
libc.malloc.restype = ctypes.c_void_p
libc.free.argtypes = [ctypes.c_void_p]
for _ in range(3):  # glibc learns from what is given back
    block = libc.malloc(16_000_000)
    libc.free(block)
before = taken_kb()
blocks = [libc.malloc(16_000_000) for _ in range(3)]
guard = libc.malloc(100_000)  # what comes behind keeps the heap from shrinking
for block in blocks:
    libc.free(block)
print(taken_kb() - before)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="other C libraries are left as they are")
@pytest.mark.parametrize("is_set", [True, False])
def test_what_was_freed_is_back_with_the_system(is_set):
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM.format(is_set=is_set)], capture_output=True, text=True, check=True
    )

    # The control: left alone, glibc keeps what lies below the last block.
    assert (int(done.stdout) < 1_000) == is_set
