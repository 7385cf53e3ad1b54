"""The desk that many tests work at; and how examples are made up: the same ones every time, or new ones.

``./tests/run`` has to say the same of the same code on every machine, so there the examples follow
from the test alone and nothing depends on how fast the machine is. ``--hypothesis-profile=search``
tries new and more examples; what it finds becomes a case of its own.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings

from tests.fakes import Desk

_BUSY_MACHINES = (HealthCheck.too_slow,)

settings.register_profile(
    "fixed", derandomize=True, deadline=None, database=None, suppress_health_check=_BUSY_MACHINES
)
settings.register_profile(
    "search", max_examples=1_000, deadline=None, print_blob=True, suppress_health_check=_BUSY_MACHINES
)
settings.load_profile("fixed")


@pytest.fixture
def desk(tmp_path):
    """An open store with ready-made checklists, and all that a presenter is given."""
    made = Desk(tmp_path)
    with made.store:
        yield made
