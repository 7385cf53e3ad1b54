"""The program speaks to no network: nothing opens a socket, whatever is done with it.

Three looks, each with a control that must be caught: Python's own audit events, the system calls of the
whole process with its libraries (where ``strace`` is there), and what the code imports.

What Kivy was seen to do: its parts that fetch from the network (``kivy.network``, ``kivy.loader``) are
not loaded. When it is loaded it starts ``ldconfig`` to find a library and ``xclip`` to see whether there
is a clipboard; SDL listens to the kernel for new input devices, through a socket of the family
``AF_NETLINK`` that leads to the kernel alone. The C library asks for the user's name through a local
socket (``nscd``), where that service is there.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.network_child import CONTROLS

REPOSITORY = Path(__file__).resolve().parent.parent
SOCKET = re.compile(r"\bsocket(?:pair)?\((?P<family>\w+), (?P<rest>.*)")
HARMLESS = re.compile(r"AF_UNIX|AF_LOCAL|AF_NETLINK.*NETLINK_KOBJECT_UEVENT")
FETCHERS = re.compile(r"AsyncImage|UrlRequest|kivy\.network|kivy\.loader|_socket|import_module|__import__")


def traces() -> list[str]:
    """Give the words that put a command under ``strace``; none where it does not work."""
    tool = shutil.which("strace")
    if tool is None:
        return []
    words = [tool, "-f", "-e", "trace=%network", "-o"]
    done = subprocess.run([*words, "/dev/null", "true"], capture_output=True, timeout=60, check=False)
    return words if done.returncode == 0 else []


def outside_sockets(trace: Path) -> list[str]:
    """Give the lines of a trace that open a socket which could leave the machine."""
    lines = trace.read_text(encoding="utf-8", errors="replace").splitlines()
    return [line for line in lines if SOCKET.search(line) and not HARMLESS.search(line)]


@dataclass(frozen=True)
class Run:
    """What a child process did.

    Parameters
    ----------
    told
        What it printed.
    trace
        Its system calls; none where they could not be watched.
    """

    told: dict
    trace: Path | None


def run_child(folder: Path, *control: str) -> Run:
    trace, words = folder / "trace.txt", traces()
    command = [sys.executable, "-m", "tests.network_child", str(folder), *control]
    done = subprocess.run(
        [*words, str(trace), *command] if words else command,
        cwd=REPOSITORY, capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert done.stdout, done.stderr
    return Run(json.loads(done.stdout), trace if words else None)


@pytest.fixture(scope="module")
def used(tmp_path_factory) -> Run:
    """Every command, the demo, a walk by touch and every screen."""
    return run_child(tmp_path_factory.mktemp("used"))


@pytest.mark.window
def test_nothing_that_the_program_does_opens_a_socket(used):
    assert used.told["events"] == []
    statuses = dict(used.told["statuses"])
    assert statuses.pop("screens") >= 30
    assert len(statuses) == 9
    assert set(statuses.values()) == {0}


@pytest.mark.window
def test_what_kivy_could_fetch_with_is_not_even_loaded(used):
    assert used.told["loaded"] == []


@pytest.mark.window
def test_no_system_call_opens_a_socket_that_leaves_the_machine(used):
    if used.trace is None:
        pytest.skip("strace is not here or may not watch: system calls were not looked at")

    assert "exited" in used.trace.read_text(encoding="utf-8", errors="replace")
    assert outside_sockets(used.trace) == []


@pytest.mark.parametrize("control", sorted(CONTROLS))
def test_a_child_that_reaches_out_is_caught(tmp_path, control):
    (event, *_) = run_child(tmp_path, control).told["events"]

    assert event["event"] in ("socket.__new__", "socket.getaddrinfo", "urllib.Request", "subprocess.Popen")


@pytest.mark.parametrize("family", ["AF_INET", "AF_INET6"])
def test_a_system_call_that_reaches_out_is_caught(tmp_path, family):
    words, trace = traces(), tmp_path / "trace.txt"
    if not words:
        pytest.skip("strace is not here or may not watch: system calls were not looked at")
    program = f"import socket; socket.socket(socket.{family})"

    subprocess.run([*words, str(trace), sys.executable, "-c", program], check=True, timeout=60)

    assert len(outside_sockets(trace)) == 1


def test_no_module_or_layout_names_what_fetches_or_imports_by_name():
    sources = sorted(p for p in (REPOSITORY / "walkapp").rglob("*") if p.suffix in (".py", ".kv"))

    found = {p.name: FETCHERS.findall(p.read_text(encoding="utf-8")) for p in sources}

    assert len(sources) > 150
    assert {name: words for name, words in found.items() if words} == {}
    assert FETCHERS.search("AsyncImage:\n    source: 'http://example.invalid/picture.jpg'")


def test_the_import_contract_finds_a_module_that_could_reach_out(tmp_path):
    """That the contract holds is proven with the others in test_layers.py; here that it can break."""
    shutil.copytree(
        REPOSITORY / "walkapp", tmp_path / "walkapp", ignore=shutil.ignore_patterns("__pycache__")
    )
    shutil.copy(REPOSITORY / "pyproject.toml", tmp_path)
    module = tmp_path / "walkapp" / "store" / "lines.py"
    module.write_text(f"{module.read_text(encoding='utf-8')}\nimport http.client\n", encoding="utf-8")
    command = Path(sys.executable).with_name("lint-imports")

    done = subprocess.run(
        [command, "--no-cache"], cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False
    )  # fmt: skip

    assert done.returncode != 0
    assert "Nothing speaks to a network BROKEN" in done.stdout
