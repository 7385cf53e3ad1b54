"""What many tests work at; and how examples are made up: the same ones every time, or new ones.

``./tests/run`` has to say the same of the same code on every machine, so there the examples follow
from the test alone and nothing depends on how fast the machine is. ``--hypothesis-profile=search``
tries new and more examples; what it finds becomes a case of its own.
"""

from __future__ import annotations

import gc
import os
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.cameras import Camera
from tests.fakes import CHECKLISTS, Desk

# Tests read English, whatever this machine is set to: the first that the program asks for a language. A
# window of a test asks nobody (`NO_DEVICES`), and the demo without a window says so itself.
os.environ["LANGUAGE"] = "en"


def _sync_nothing(file: int) -> None:
    """Stand for ``os.fsync``: what a test writes need not outlive this machine.

    Nine tenths of the time of most tests were spent on that. Which call comes when is looked at through
    disks of the tests' own, and power is cut in processes of their own (``tests/soak``).
    """
    os.fstat(file)  # as the real one, it refuses what is no open file


os.fsync = _sync_nothing

_BUSY_MACHINES = (HealthCheck.too_slow,)

# The same examples each time find nothing new, so there are few of them.
settings.register_profile(
    "fixed",
    max_examples=40,
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=_BUSY_MACHINES,
)
settings.register_profile(
    "search", max_examples=1_000, deadline=None, print_blob=True, suppress_health_check=_BUSY_MACHINES
)
settings.load_profile("fixed")


def pytest_collection_finish():
    """Let no later collection of garbage look through what lives to the end anyhow: modules and tests."""
    gc.collect()
    gc.freeze()


class PlayedDemo:
    """The demo, played once a run however many tests want it; each gets files of its own.

    Parameters
    ----------
    folder
        Where it is played.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def __call__(self, out: Path, *, with_audits: bool = False) -> Path:
        """Give the folder `out` what the demo leaves in it; give the path of the desk's bundle."""
        from walkapp.demo.scenario import play
        from walkapp.demo.tablets import SCENARIO

        whole = self._folder / ("audited" if with_audits else "walked")
        if not whole.exists():
            play(whole, CHECKLISTS, with_audits=with_audits)
        shutil.copytree(whole, out, dirs_exist_ok=True)
        return out / f"{SCENARIO}.zip"


@pytest.fixture(scope="session")
def played_demo(tmp_path_factory) -> PlayedDemo:
    return PlayedDemo(tmp_path_factory.mktemp("played"))


@pytest.fixture(scope="session")
def opened_everywhere(tmp_path_factory, played_demo):
    """Every place of the app on the records of the demo; for fixtures that write nothing."""
    from tests.everywhere import OpenedEverywhere

    folder = tmp_path_factory.mktemp("everywhere")
    played_demo(folder, with_audits=True)
    with OpenedEverywhere(folder) as opened:
        yield opened


@pytest.fixture
def everywhere(opened_everywhere):
    """The same, for a test that writes no record; what it left half typed is gone for the next one."""
    store = opened_everywhere.tablet.place.store
    before = store.place()
    yield opened_everywhere
    store.remember(before)


@pytest.fixture
def desk(tmp_path):
    """An open store with ready-made checklists, and all that a presenter is given."""
    made = Desk(tmp_path)
    with made.store:
        yield made


@pytest.fixture
def camera(tmp_path):
    """A tablet in a concern that takes pictures, and its open store."""
    made = Camera(tmp_path)
    yield made
    made.close()


@pytest.fixture(scope="session")
def mailed_demo(tmp_path_factory, played_demo):
    """The desk of the demo, open, and the page of its concern as it was written."""
    from walkapp.actions.mailed import mail_page, write_page
    from walkapp.demo.tablets import open_tablet, read_scenario

    folder = tmp_path_factory.mktemp("mailed")
    played_demo(folder)
    facts = {**read_scenario()["desk"], "starts": read_scenario("-fix")["until"]}
    desk = open_tablet(facts, folder / "desk", CHECKLISTS)
    with desk.place.store:
        page = mail_page(desk.place)
        yield desk.place, page, write_page(page, folder / "page.html")
