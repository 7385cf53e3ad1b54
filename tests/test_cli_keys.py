"""Signed bundles at a terminal: keys made, compared, changed, blocked; with and without the library."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.bundle.samples import Forger
from tests.fakes import CHECKLISTS, SAID
from tests.test_cli import files_of, the_one_sentence
from walkapp.actions.walking import open_concern
from walkapp.cli import main
from walkapp.demo.tablets import open_tablet, read_scenario

REPOSITORY = Path(__file__).resolve().parent.parent
DIGITS = re.compile(r"[0-9a-f]{4}(?:-[0-9a-f]{4}){3}")


class Floor:
    """The stores of the demo, and short calls on them."""

    def __init__(self, folder: Path, capsys) -> None:
        self.folder = folder
        self.tablet, self.desk = folder / "tablet-1", folder / "new-desk"
        self._capsys = capsys

    def say(self, *call: str | Path) -> str:
        """Make a call that must succeed; give what it prints."""
        status = main([str(part) for part in call])
        printed = self._capsys.readouterr()
        assert (status, printed.err) == (0, "")
        return printed.out

    def refusal(self, *call: str | Path) -> str:
        """Make a call that must be refused; give its one sentence."""
        assert main([str(part) for part in call]) == 2
        return the_one_sentence(self._capsys)

    def make_key(self) -> str:
        return DIGITS.search(self.say("keys", "--store", self.tablet, "--make"))[0]

    def bundle(self, name: str) -> Path:
        self.say("bundle", "--store", self.tablet, "--out", self.folder / name)
        return self.folder / name


@pytest.fixture(scope="module")
def played(tmp_path_factory, played_demo) -> Path:
    out = tmp_path_factory.mktemp("demo")
    played_demo(out)
    return out


@pytest.fixture
def floor(played, tmp_path, capsys) -> Floor:
    shutil.copytree(played / "tablet-1", tmp_path / "tablet-1")
    return Floor(tmp_path, capsys)


def test_a_tablet_makes_its_key_once_and_signs_from_then_on(floor):
    assert floor.say("keys", "--store", floor.tablet).splitlines() == [
        (
            f"This tablet ({device(floor.tablet)}) has no key, so its bundles are not signed; "
            "--make makes one."
        ),
        "No key of another tablet is known yet.",
    ]
    assert "igned" not in floor.say("bundle", "--store", floor.tablet, "--out", floor.folder / "plain.zip")

    first, second = floor.make_key(), floor.make_key()
    told = floor.say("bundle", "--store", floor.tablet, "--out", floor.folder / "one.zip")

    assert first == second
    assert told.splitlines()[1] == f"Signed with the key of this tablet: {first}."
    assert floor.bundle("again.zip").read_bytes() == (floor.folder / "one.zip").read_bytes()


def device(store: Path) -> str:
    return json.loads((store / "store.json").read_text(encoding="ascii"))["device"][-6:]


def test_a_key_is_known_after_its_first_merge(floor):
    digits, path = floor.make_key(), floor.bundle("one.zip")

    first = floor.say("merge", "--store", floor.desk, path)
    second = floor.say("merge", "--store", floor.desk, path)

    assert first.splitlines()[0].endswith(
        f". Signed by tablet {device(floor.tablet)} with the key {digits}, seen here for the first time "
        "and trusted from now on: compare these digits with those on that tablet's first page."
    )
    assert second.splitlines()[0].endswith(f" with the key {digits}, as before.")
    listed = floor.say("keys", "--store", floor.desk).splitlines()
    assert re.fullmatch(
        rf"Tablet {device(floor.tablet)} signs with the key {digits}, first seen on "
        r"\d{4}-\d\d-\d\d \d\d:\d\d, trusted\.",
        listed[1],
    )


def test_another_key_is_refused_until_its_digits_are_given(floor):
    before, path = floor.make_key(), floor.bundle("one.zip")
    floor.say("merge", "--store", floor.desk, path)
    (floor.tablet / "key.json").unlink()
    after, changed = floor.make_key(), floor.bundle("two.zip")
    assert before != after
    store = files_of(floor.desk)

    assert floor.refusal("merge", "--store", floor.desk, path, changed) == (
        f"{changed}: tablet {device(floor.tablet)} signed until now with the key {before}, and this bundle "
        f"is signed with another one, {after}: either that tablet was set up anew, or somebody else wrote "
        "this bundle; compare the digits with the tablet, and only if they are the same merge with "
        f"'--trust {after}'; nothing was merged.\n"
    )
    assert "compare the digits once more" in floor.refusal(
        "merge", "--store", floor.desk, changed, "--trust", "0123-4567-89ab-cdef"
    )
    assert files_of(floor.desk) == store

    typed = after.replace("-", " ").upper()
    told = floor.say("merge", "--store", floor.desk, "--trust", typed, changed)

    assert told.splitlines()[0].endswith(f" with the key {after}, trusted from now on as you said.")
    assert floor.say("keys", "--store", floor.desk).count("trusted.") == 2


def test_a_lost_tablet_is_blocked_and_trusted_again(floor):
    digits, path = floor.make_key(), floor.bundle("one.zip")
    floor.say("merge", "--store", floor.desk, path)

    told = floor.say("keys", "--store", floor.desk, "--block", digits)
    assert told.splitlines()[1].endswith(", blocked: bundles signed with it are refused.")
    store = files_of(floor.desk)
    assert f"is signed with the key {digits}, which is blocked here" in floor.refusal(
        "merge", "--store", floor.desk, path
    )
    assert files_of(floor.desk) == store

    floor.say("keys", "--store", floor.desk, "--trust", digits)
    assert floor.say("merge", "--store", floor.desk, path).splitlines()[0].endswith(", as before.")


def test_an_unsigned_bundle_with_news_of_a_tablet_that_signs_is_merged_with_a_warning(floor):
    floor.make_key()
    floor.say("merge", "--store", floor.desk, floor.bundle("one.zip"))
    tablet = open_tablet(read_scenario()["tablet"][0], floor.tablet, CHECKLISTS)
    with tablet.place.store:
        open_concern(tablet.place, **SAID)
    forger = Forger.of(floor.bundle("two.zip"))
    del forger.members["signature.json"]
    plain = forger.save(floor.folder / "plain.zip")

    first, warning = floor.say("merge", "--store", floor.desk, plain).splitlines()
    again = floor.say("merge", "--store", floor.desk, plain).splitlines()

    assert first.startswith(f"{plain}: 1 new, ")
    assert first.endswith(". Not signed.")
    assert warning == (
        f"Mind: 1 new record says that it is from a tablet that signs its bundles "
        f"({device(floor.tablet)}), and this bundle is not signed: somebody without a key passed them on, "
        "or wrote them; merge that tablet's own bundle to be sure."
    )
    assert len(again) == 1


def test_summary_of_a_bundle_says_whether_it_is_signed(floor, played):
    digits, path = floor.make_key(), floor.bundle("one.zip")

    assert main(["summary", str(path)]) in (0, 1)
    signed = floor._capsys.readouterr().out
    assert main(["summary", str(played / "tablet-1.zip")]) in (0, 1)
    plain = floor._capsys.readouterr().out

    assert signed.splitlines()[0] == (
        f"Signed by tablet {device(floor.tablet)} with the key {digits}; whether that key is known is "
        "looked up where the bundle is merged."
    )
    assert plain.splitlines()[0] == "Not signed."
    assert signed.splitlines()[1:] == plain.splitlines()[1:]


def test_the_keys_are_printed_as_json_without_the_secret(floor):
    digits, path = floor.make_key(), floor.bundle("one.zip")
    floor.say("merge", "--store", floor.desk, path)
    secret = json.loads((floor.tablet / "key.json").read_text(encoding="ascii"))["secret"]

    own = floor.say("keys", "--store", floor.tablet, "--json")
    known = json.loads(floor.say("keys", "--store", floor.desk, "--json"))

    assert secret not in own
    assert json.loads(own)["own_key"]["fingerprint"] == digits
    assert known["own_key"] is None
    assert [(key["fingerprint"], key["state"]) for key in known["known_keys"]] == [(digits, "trusted")]
    assert (known["asks_always"], known["problem"]) == (False, "")


def test_a_damaged_key_is_told_and_the_bundle_is_written_unsigned(floor):
    floor.make_key()
    (floor.tablet / "key.json").write_bytes(b"{")
    damaged = (
        f"{floor.tablet / 'key.json'} is damaged, so bundles are not signed: put a good copy of it back, "
        f"or move it away and make a new key with 'walkapp keys --store {floor.tablet} --make'."
    )

    told = floor.say("bundle", "--store", floor.tablet, "--out", floor.folder / "one.zip")

    assert told.splitlines()[1] == damaged
    assert floor.say("keys", "--store", floor.tablet).splitlines()[0] == damaged
    assert floor.refusal("keys", "--store", floor.tablet, "--make") == f"{damaged}\n"
    assert (floor.tablet / "key.json").read_bytes() == b"{"


def test_a_damaged_list_of_keys_asks_before_it_trusts(floor):
    digits, path = floor.make_key(), floor.bundle("one.zip")
    floor.say("merge", "--store", floor.desk, path)
    (floor.desk / "trust.json").write_bytes(b"{")

    assert main(["merge", "--store", str(floor.desk), str(path)]) == 2
    first, second = floor._capsys.readouterr().err.splitlines()
    assert first.startswith(f"{floor.desk / 'trust.json'} was damaged (a copy is in aside/trust-")
    assert "no key is trusted unasked since the list of known keys was damaged" in second
    assert floor.say("merge", "--store", floor.desk, "--trust", digits, path).count("as you said") == 1
    assert floor.say("keys", "--store", floor.desk).splitlines()[-1] == (
        "The list of known keys was damaged once: no new key is trusted before its digits were given with "
        "'walkapp merge --trust'."
    )


@pytest.mark.parametrize("change", ["--block", "--trust"])
def test_digits_that_nobody_knows_are_refused(floor, change):
    digits = "0123-4567-89ab-cdef"

    assert floor.refusal("keys", "--store", floor.tablet, change, digits) == (
        f"No key of another tablet with the digits {digits} is known here: 'walkapp keys' lists those that "
        "are.\n"
    )


def test_keys_of_a_store_that_is_not_there_makes_none(floor):
    store = floor.folder / "nowhere"

    assert str(store) in floor.refusal("keys", "--store", store)
    assert not store.exists()


@pytest.mark.parametrize("digits", ["", "0123", "0123-4567-89ab-cdeg", "0123-4567-89ab-cdef0", ":-:"])
def test_digits_that_are_no_digits_of_a_key_are_one_sentence(floor, digits):
    for call in (["merge", "--store", "s", "a.zip"], ["keys", "--store", "s"]):
        with pytest.raises(SystemExit) as end:
            main([*call, f"--trust={digits}"])
        assert end.value.code == 2
        assert "must be the 16 digits of a key" in the_one_sentence(floor._capsys)


def test_only_one_change_at_a_time(floor):
    with pytest.raises(SystemExit) as end:
        main(["keys", "--store", "s", "--make", "--block", "0123-4567-89ab-cdef"])
    assert end.value.code == 2
    assert "not allowed with" in the_one_sentence(floor._capsys)


WITHOUT = """
import sys
sys.modules["cryptography"] = None
from walkapp.cli import main
sys.exit(main(sys.argv[1:]))
"""


def without_library(*call: str | Path) -> tuple[int, str, str]:
    """Make a call in a process of its own, in which the library cannot be imported."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", WITHOUT, *map(str, call)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def test_without_the_library_everything_works_and_says_so(floor):
    assert without_library("keys", "--store", floor.tablet, "--make") == (
        2,
        "",
        "No key can be made without the extra for signing: install it with pip install 'walkapp[sign]'.\n",
    )
    digits, path = floor.make_key(), floor.bundle("one.zip")

    status, told, err = without_library("merge", "--store", floor.desk, path)
    assert (status, err) == (0, "")
    assert told.splitlines()[0].endswith(
        f". Signed by tablet {device(floor.tablet)} with the key {digits}, but the signature was not "
        "checked: pip install 'walkapp[sign]' installs the extra that checks it."
    )
    assert "No key of another tablet is known yet." in floor.say("keys", "--store", floor.desk)
    status, told, err = without_library("merge", "--store", floor.desk, path, "--trust", digits)
    assert (status, told) == (2, "")
    assert err.startswith(f"The key {digits} cannot be trusted, since signatures are not checked without")

    status, told, err = without_library("bundle", "--store", floor.tablet, "--out", floor.folder / "b.zip")
    assert (status, err) == (0, "")
    assert told.splitlines()[1] == (
        "Not signed, since the extra for signing is not installed: pip install 'walkapp[sign]' installs it."
    )
    status, told, err = without_library("keys", "--store", floor.tablet)
    assert (status, err) == (0, "")
    assert digits in told
    status, told, err = without_library("summary", path)
    assert err == ""
    assert "the signature was not checked" in told.splitlines()[0]
