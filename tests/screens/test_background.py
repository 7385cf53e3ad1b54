"""The workers beside the thread that draws."""

from __future__ import annotations

import os
import sys
import threading

import pytest

from walkapp.screens.background import LATER, Worker

pytestmark = pytest.mark.window


def priority_of(worker: Worker) -> int:
    """Give the nice level of a worker's thread."""
    found: list[int] = []
    worker(
        lambda: found.append(os.getpriority(os.PRIO_PROCESS, threading.get_native_id())),
        lambda _: None,
        lambda _: None,
    )
    worker.close()
    return found[0]


@pytest.mark.skipif(sys.platform != "linux", reason="only there has each thread a priority of its own")
def test_a_worker_that_no_tap_waits_for_lets_what_draws_go_first():
    drawing = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())

    assert priority_of(Worker(steps_back=True)) == min(drawing + LATER, 19)
    assert priority_of(Worker()) == drawing
