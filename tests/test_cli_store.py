"""The calls on a store that is damaged, or in use by another process."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.support import OTHER_DEVICE, WALK, begin_walk, open_store, own_journal
from walkapp.cli import main
from walkapp.files import sha256_of

REPOSITORY = Path(__file__).resolve().parent.parent
CHECKLISTS = REPOSITORY / "checklists"
READINGS = 25


def files_of(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def played(tmp_path_factory, played_demo) -> Path:
    """The folder of the demo: its stores and bundles."""
    out = tmp_path_factory.mktemp("demo")
    played_demo(out)
    return out


@pytest.fixture
def damaged(tmp_path) -> Path:
    """A store with a damaged line and a picture that no entry names."""
    folder = tmp_path / "store"
    with open_store(folder) as store:
        begin_walk(store, 3)
        store.add_photo(sha256_of(b"x") + ".png", b"x")
    path = own_journal(folder)
    path.write_bytes(path.read_bytes().replace(b'"number":4', b'"number":9'))
    return folder


# check


def test_check_of_a_sound_store_says_so(played, capsys):
    before = files_of(played / "desk")

    assert main(["check", "--store", str(played / "desk")]) == 0

    printed = capsys.readouterr()
    assert printed.err == ""
    assert printed.out.startswith("Checked ")
    assert printed.out.endswith(": nothing is damaged or missing.\n")
    assert files_of(played / "desk") == before


def test_check_names_each_damage_in_one_sentence_and_is_a_negative_answer(damaged, capsys):
    before = files_of(damaged)

    assert main(["check", "--store", str(damaged)]) == 1

    printed = capsys.readouterr()
    line, checklist, picture, sum_ = printed.out.splitlines()
    assert line.startswith(
        f"journals/own/{WALK}.journal, line 4 is damaged (the checksum does not match): "
    )
    assert checklist.startswith(f"checklists/{'ab' * 32} is missing: ")
    assert picture.startswith(f"photos/{sha256_of(b'x')}.png is named by no entry: it is kept; ")
    assert sum_ == "Checked 4 entries, 1 picture, 0 checklists: 2 faults were found."
    assert printed.err == ""
    assert files_of(damaged) == before


def test_check_prints_json(damaged, capsys):
    assert main(["check", "--store", str(damaged), "--json"]) == 1

    said = json.loads(capsys.readouterr().out)
    assert (said["sound"], said["entries"], said["photos"], said["checklists"]) == (False, 4, 1, 0)
    assert [found["kind"] for found in said["findings"]] == ["line", "checklist", "orphan"]
    assert [found["fault"] for found in said["findings"]] == [True, True, False]
    assert said["findings"][0]["numbers"] == [[4, 4]]
    assert said["findings"][0]["line"] == 4


def test_check_of_what_is_no_store_is_one_sentence(tmp_path, capsys):
    for folder, words in ((tmp_path / "nowhere", "there is no such store"), (tmp_path, "is not a store")):
        assert main(["check", "--store", str(folder)]) == 2

        printed = capsys.readouterr()
        assert printed.out == ""
        assert words in printed.err
        assert printed.err.count("\n") == 1


# in use by another process

_HOLDER = """
import select, sys
from pathlib import Path
from tests.store.support import OTHER_DEVICE, note, open_store
with open_store(Path(sys.argv[1])) as store:
    print("open", flush=True)
    first = 1
    while sys.argv[2] != "waits" and not select.select([sys.stdin], [], [], 0)[0]:
        if sys.argv[2] == "appends":
            store.append(note(store.next_number, "warm " * 300, key=10_000 + store.next_number))
        else:
            others = [note(n, device=OTHER_DEVICE, key=10**6 + n) for n in range(first, first + 7)]
            store.merge(others, name="tablet 2", photos={}, checklists={})
            first += 7
    sys.stdin.read()
"""


class Holder:
    """Another process that has a store open, and appends or merges without rest, or only waits."""

    def __init__(self, folder: Path, does: str = "waits") -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", _HOLDER, str(folder), does],
            cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert self._process.stdout.readline() == "open\n"

    def __enter__(self) -> Holder:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.communicate("")


@pytest.fixture
def in_use(tmp_path) -> Path:
    folder = tmp_path / "store"
    with open_store(folder) as store:
        begin_walk(store, 1)
    return folder


def test_what_writes_to_a_store_in_use_is_refused_in_one_sentence_and_changes_nothing(
    in_use, played, capsys
):
    with Holder(in_use):
        before = files_of(in_use)
        for call in (
            ["merge", "--store", str(in_use), str(played / "tablet-1.zip")],
            ["--store", str(in_use), "--checklists", str(CHECKLISTS)],
        ):
            assert main(call) == 2

            printed = capsys.readouterr()
            assert printed.out == ""
            assert printed.err == (
                f"{in_use} is already open in another window or program: close that one first.\n"
            )
        assert files_of(in_use) == before


def test_what_reads_a_store_in_use_sees_whole_records_only(in_use, tmp_path, capsys):
    seen = []
    with Holder(in_use, "appends"):
        while len(set(seen)) < READINGS:
            with open_store(in_use, writable=False) as reader:
                found = reader.records(WALK)
                notices = reader.notices
            assert [record.number for record in found] == list(range(2, 2 + len(found)))
            assert notices == ()
            seen.append(len(found))
        for call, status in (
            (["summary", "--store", str(in_use)], 1),
            (["bundle", "--store", str(in_use), "--out", str(tmp_path / "out.zip")], 0),
        ):
            assert main(call) == status
            assert capsys.readouterr().err == ""
        assert main(["check", "--store", str(in_use)]) == 1
        assert next(line.split(":")[0] for line in capsys.readouterr().out.splitlines()) == (
            f"checklists/{'ab' * 32} is missing"
        )

    assert seen == sorted(seen)


def test_what_reads_a_store_in_use_sees_a_merge_whole_or_not_at_all(in_use):
    seen = []
    with Holder(in_use, "merges"):
        while len(set(seen)) < READINGS // 2:
            with open_store(in_use, writable=False) as reader:
                seen.append(sum(record.device == OTHER_DEVICE for record in reader.all_records()))
                assert reader.notices == ()

    assert [count for count in seen if count % 7] == []
    assert seen == sorted(seen)
