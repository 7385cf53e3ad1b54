"""Whether the program did what it must with one spoilt input: take it whole, or refuse it cleanly."""

from __future__ import annotations

import contextlib
import io
import json
import random
import re
import shutil
import tempfile
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

from tests.builders import make, record_id
from tests.soak.hostile.inputs import Inputs
from tests.soak.hostile.seeds import STREAM, make_seeds, open_desk, workplace
from walkapp.actions.audits.findings import (
    belongs_to,
    closed_findings,
    earlier_findings,
    open_findings,
    repeat_days_of,
    said_before,
    status_text,
    strays,
)
from walkapp.actions.audits.reading import audits_between
from walkapp.actions.books import book_facts, books_of, facts_of
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.desk import desk_facts, desk_streams
from walkapp.actions.disputes import disputes_of
from walkapp.actions.merging import merge_bundles
from walkapp.actions.picture_folders import MOST_TRIES, FolderWatch, read_in
from walkapp.actions.pictures import SMALL_PX
from walkapp.actions.ppm import ppm_of
from walkapp.actions.ppm_json import ppm_to_json
from walkapp.actions.ppm_telling import ppm_lines
from walkapp.actions.reading import all_concerns
from walkapp.actions.review import filter_values, review
from walkapp.actions.review_evidence import entry_origins, evidence_by_station
from walkapp.actions.searching import Finder
from walkapp.actions.workplace import Workplace
from walkapp.analysis.filtering import RecordFilter
from walkapp.bundle import open_bundle, peek_bundle
from walkapp.cli import main
from walkapp.codes import read_label, read_station
from walkapp.errors import BundleError, InputError, PhotoError, WalkappError
from walkapp.model.records import AuditStart, Concern, Deliveries, Measurement, PartSeen, Record
from walkapp.photos import examine, without_location
from walkapp.presenters.pad import PadState, press, receive
from walkapp.store import Store
from walkapp.visible import visible

LONGEST_LINE = 600
"""Characters of one refusal; the longest true one is about 300 beside the names of files."""

Records = frozenset[Record]


class WrongError(AssertionError):
    """The program neither took an input whole nor refused it cleanly."""


class Bench:
    """A folder to work in, with the good inputs and an empty desk.

    Parameters
    ----------
    folder
        Where to work; made when it is not there.
    """

    def __init__(self, folder: Path) -> None:
        self._seeds = make_seeds(folder / "seeds")
        self.inputs = Inputs(self._seeds, folder / "input")
        with open_bundle(self._seeds.bundle) as bundle:
            self._good = frozenset(bundle.records)
        self._temporary = folder / "temporary"
        self._temporary.mkdir()
        self._desk, self._bare = folder / "desk", folder / "bare"
        shutil.copytree(self._seeds.store, self._bare)
        shutil.rmtree(self._bare / "checklists")
        self._summed_up: set[Records] = set()
        self._store: Store | None = None

    def judge(self, family: str, seed: int, index: int) -> str:
        """Make the input that these three stand for, and judge what the program does with it.

        Returns
        -------
        str
            The refusal without names and numbers; empty when the input was taken.

        Raises
        ------
        WrongError
            If the program did not do what it must.
        Exception
            Whatever else the program let through.
        """
        chance, is_lie = self.inputs.make(family, seed, index)
        usual = tempfile.tempdir
        tempfile.tempdir = str(self._temporary)
        try:
            refusal = _JUDGES[family](self, chance)
        finally:
            tempfile.tempdir = usual
        if is_lie and not refusal:
            raise WrongError("a wrong hash or size was accepted")
        if left := sorted(path.name for path in self._temporary.iterdir()):
            raise WrongError(f"left in the temporary folder: {left}")
        return refusal

    def tidy(self) -> None:
        """Begin anew after a failure, or at the end."""
        if self._store is not None:
            self._store.close()
            self._store = None
        shutil.rmtree(self._desk, ignore_errors=True)
        for path in self._temporary.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()

    def _judge_raw(self, chance: random.Random) -> str:
        """Hashes are as they were, so whatever is accepted has to hold what the good one holds."""
        return self._judge_bundle(chance, must_be=self._good)

    def _judge_bundle(self, chance: random.Random, must_be: Records | None = None) -> str:
        path = self.inputs.bundle
        if self._store is None:
            self._store = open_desk(self._desk)
        before = snapshot(self._desk)
        with contextlib.suppress(BundleError):
            peek_bundle(path)  # the desk looks at every bundle that lies in its folders
        try:
            merge_bundles(workplace(self._store), [path])
        except WalkappError as error:
            if snapshot(self._desk) != before:
                raise WrongError(f"refused, and the store changed: {error}") from error
            if chance.random() < 0.1:  # the same reader, and the temporary store of the command around it
                _run(["summary", str(path)], path.name, statuses=(2,))
            return clean_sentence(str(error), path.name)
        with open_bundle(path) as bundle:
            records = frozenset(bundle.records)
        if must_be is not None and records != must_be:
            raise WrongError("other records than those of the good bundle were accepted")
        if frozenset(self._store.all_records()) != records:
            raise WrongError("the store holds other records than the bundle")
        if records not in self._summed_up:
            self._bundle_again(self._store, records)
            look_at_audits(workplace(self._store))
            look_at_desk(workplace(self._store))
            look_at_reviews(workplace(self._store))
        self.tidy()
        if records not in self._summed_up:  # what is computed depends on records and checklists alone
            self._summed_up.add(records)
            as_json = ["--json"] if chance.random() < 0.3 else []
            _run(["summary", *as_json, str(path)], path.name, statuses=(0, 1))
        return ""

    def _bundle_again(self, store: Store, records: Records) -> None:
        """Write what was merged, and read it back; entries without their concern cannot be written."""
        out = self.inputs.folder / "again.zip"
        try:
            bundle_concerns(workplace(store), out)
        except InputError as error:
            if {r.concern for r in records} <= {r.concern for r in records if isinstance(r, Concern)}:
                raise WrongError(f"what was merged cannot be bundled: {error}") from error
            clean_sentence(str(error), "")
            return
        with open_bundle(out) as again:
            if frozenset(again.records) != records:
                raise WrongError("bundling what was merged gives other records")

    def _judge_checklists(self, chance: random.Random) -> str:
        lists = self.inputs.lists
        refusal = _run(["validate", str(lists)], "", statuses=(0, 2))
        if not refusal and (lists / STREAM).is_dir() and chance.random() < 0.4:
            call = ["summary", "--store", str(self._bare), "--checklists", str(lists)]
            _run(call, "", statuses=(0, 1))
        return refusal

    def _judge_counts(self, chance: random.Random) -> str:
        path = self.inputs.counts
        more = chance.choice(([], [], ["--json"], ["--incoming"]))
        return _run(["locate", str(path), *more], path.name, statuses=(0, 1, 2))

    def _judge_label(self, chance: random.Random) -> str:
        """Whatever a code says is refused in one sentence, or fits the records as it stands."""
        text = self.inputs.label.read_bytes().decode("utf-8", "surrogateescape")
        kind = chance.choice(("", "", "]d1", "]d2", "]C1", "]Q1"))
        try:
            if read_station(text) is not None:
                return ""
            label = read_label(text, kind=kind, year=2026)
        except InputError as error:
            return clean_sentence(str(error), "")
        for part in filter(None, (label.plain, label.serial)):
            make(PartSeen, about=record_id(4), part=part, lot=label.lot, read_by="code")
        texts = (label.plain, label.serial, label.lot, *label.part_numbers)
        if not all(one.isprintable() and one == one.strip() for one in texts):
            raise WrongError(f"not as it is kept: {texts}")
        return ""

    def _judge_reading(self, chance: random.Random) -> str:
        """Whatever a gauge sends is refused in one sentence, or is a value that a record keeps as it is."""
        text = self.inputs.reading.read_bytes().decode("utf-8", "surrogateescape")
        unit, limit = (
            chance.choice(("mm", "in", "bar", "\N{DEGREE SIGN}C", "Nm", "Shore A")),
            Decimal("12.34"),
        )
        try:
            received = receive(PadState(text=chance.choice(("", "3."))), text, unit, (None, limit))
        except InputError as error:
            return clean_sentence(str(error), "")
        if received.words:
            clean_sentence(received.words, "")
        value, about = received.pad.text, {"station": "press", "check": "gap", "unit_of_measure": unit}
        if (
            make(Measurement, value=value, **about).value != value
            or press(received.pad, "enter").value is None
        ):
            raise WrongError(f"not as it is kept: {value}")
        return ""

    def _judge_deliveries(self, chance: random.Random) -> str:
        path, desk = self.inputs.deliveries, self.inputs.folder / "desk"
        shutil.copytree(self._bare, desk, ignore=shutil.ignore_patterns("ballast", "lock"))
        call = ["deliveries", "--store", str(desk), "--stream", STREAM, str(path)]
        before = _deliveries_in(desk)
        refusal = _run([*call, "--dry-run"], path.name, statuses=(0, 2))
        if _deliveries_in(desk) != before:
            raise WrongError("a dry run recorded something")
        if chance.random() < 0.4:
            if _run(call, path.name, statuses=(0, 2)) != refusal:
                raise WrongError("the dry run said something else")
            once = _deliveries_in(desk)
            if refusal and once != before:
                raise WrongError(f"refused, and something was recorded: {refusal}")
            _run(call, path.name, statuses=(0, 2))
            if _deliveries_in(desk) != once:
                raise WrongError("the same table again recorded something")
            _run(["ppm", "--store", str(desk), "--stream", STREAM], "", statuses=(0, 1))
        return refusal

    def _judge_pictures(self, chance: random.Random) -> str:
        watch = FolderWatch(self.inputs.pictures)
        looks = 0
        for _ in range(3):
            watch.look()
            while watch.read_next(0):
                looks += 1
        page = watch.page(0)
        if looks > MOST_TRIES or len(page.pictures) + page.not_whole != page.total:
            raise WrongError(f"read {looks} times, and shown: {page.total} of them {page.not_whole} not")
        refusal = ""
        for path in self.inputs.pictures.glob("x.*"):
            try:
                _look_at_picture(path)
            except PhotoError as error:
                refusal = clean_sentence(str(error), path.name)
        return refusal

    def _judge_store(self, chance: random.Random) -> str:
        folder = self.inputs.store
        before = snapshot(folder)
        refusal, records = "", Records()
        try:
            with open_desk(folder, writable=False) as opened:
                records = frozenset(opened.all_records())
                look_at_audits(workplace(opened))
                look_at_desk(workplace(opened))
                opened.missing_numbers()
                opened.place()
                opened.merges()
                for notice in opened.notices:
                    clean_sentence(visible(notice), "")
        except WalkappError as error:
            refusal = clean_sentence(str(error), "")
        if refusal or records not in self._summed_up:
            self._summed_up.add(records)
            _run(["summary", "--store", str(folder)], "", statuses=(2,) if refusal else (0, 1))
        if snapshot(folder) != before:
            raise WrongError("a store that was only read has changed")
        return refusal


def look_at_reviews(place: Workplace) -> None:
    """Review every concern: all of its records and a part of them, and what each station stands on."""
    for facts in all_concerns(place):
        values = filter_values(facts)
        with contextlib.suppress(InputError):  # the checklist may not be here
            for wanted in (RecordFilter(), *(RecordFilter(unit=unit.value) for unit in values.units[:2])):
                review(facts, wanted)
            for here in evidence_by_station(facts):
                entry_origins(
                    facts, (*(one.record for g in here.groups for one in g.entries), *here.others)
                )


def look_at_audits(place: Workplace) -> None:
    """Read all that is said of audits and findings, as their pages and the search do."""
    on = place.now().date()
    for book in books_of(place):
        facts = book_facts(place, book)
        for dispute in disputes_of(place, facts):
            clean_sentence(visible(f"{dispute.about}."), "")
        for record in place.store.records(book):
            belongs_to(place, book, record.id)
            if isinstance(record, AuditStart):
                audits_between(place, record.stream, *[date.fromisoformat(record.day)] * 2)
    findings = (*open_findings(place), *closed_findings(place))
    if len({finding.answer for finding in findings}) != len(findings):
        raise WrongError("a finding is told twice")
    for finding in findings:
        status_text(finding, on)
        said_before(place, finding)
        if finding in earlier_findings(place, finding, repeat_days_of(place, finding)):
            raise WrongError("a finding repeats itself")
    strays(place)
    Finder(place).update()


def look_at_desk(place: Workplace) -> None:
    """Work out what the desk tells of every stream, as its pages do."""
    on = place.now().date()
    for stream in desk_streams(place):
        facts = desk_facts(place, stream)
        if facts.standing.current:
            for dispute in disputes_of(place, facts_of(place, facts.book)):
                clean_sentence(visible(f"{dispute.about}."), "")
        found = ppm_of(facts, on)
        json.dumps(ppm_to_json(found), allow_nan=False)
        for line in ppm_lines(found):
            if len(line) > LONGEST_LINE:
                raise WrongError(f"{len(line)} characters: {line[:300]!r}")


def _deliveries_in(folder: Path) -> frozenset[Record]:
    """The records of deliveries of a store."""
    with open_desk(folder, writable=False) as store:
        return frozenset(r for r in store.all_records() if isinstance(r, Deliveries))


def _look_at_picture(path: Path) -> None:
    """Read one picture as it is taken in, and see that what is made of it agrees."""
    read = read_in(path)
    whole, data = read.whole, path.read_bytes()
    if read.data != data or whole.facts != examine(data, path.name):
        raise WrongError("the bytes, or what they are, changed on the way")
    if len(whole.rgb) != whole.size[0] * whole.size[1] * 3 or max(whole.size) > SMALL_PX:
        raise WrongError(f"a small picture of {whole.size} and {len(whole.rgb)} bytes")
    if whole.copy != without_location(data) or without_location(whole.copy) != whole.copy:
        raise WrongError("another copy without metadata")
    if examine(whole.copy, path.name).has_location:
        raise WrongError("the copy may tell the place")


_JUDGES: dict[str, Callable[[Bench, random.Random], str]] = {
    "raw": Bench._judge_raw,
    "packed": Bench._judge_bundle,
    "checklist": Bench._judge_checklists,
    "counts": Bench._judge_counts,
    "deliveries": Bench._judge_deliveries,
    "store": Bench._judge_store,
    "label": Bench._judge_label,
    "reading": Bench._judge_reading,
    "pictures": Bench._judge_pictures,
}


def snapshot(folder: Path) -> dict[str, bytes]:
    """Content of every file below a folder, by its path; of the reserve only its size."""

    def content(path: Path) -> bytes:
        if not path.is_file():
            return b"folder"
        return b"%d" % path.stat().st_size if path.name == "ballast" else path.read_bytes()

    return {str(path.relative_to(folder)): content(path) for path in sorted(folder.rglob("*"))}


def _run(call: list[str], name: str, *, statuses: tuple[int, ...]) -> str:
    """Run the command as a person does, look at all that it prints, and give its refusal."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(call)
    printed, said = out.getvalue(), err.getvalue().splitlines()
    if status not in statuses:
        raise WrongError(f"{call[0]} ended with {status}: {said[:3]}")
    for line in printed.split("\n"):
        if not line.isprintable():
            raise WrongError(f"{call[0]} printed {line[:200]!r}")
    kinds = [clean_sentence(line, name) for line in said]
    if status != 2:
        return ""
    if printed or not said:
        raise WrongError(f"{call[0]} printed an answer and refused, or said nothing")
    if len(said) > 1 and call[0] not in ("validate", "deliveries"):
        raise WrongError(f"not one line: {said[:3]}")
    return kinds[0]


def clean_sentence(said: str, name: str) -> str:
    """Check a sentence for people, and give it without names and numbers.

    Raises
    ------
    WrongError
        Unless it is one line of printable characters, not too long, that ends with a full stop and names
        the file.
    """
    if not said.isprintable() or not said.strip():
        raise WrongError(f"a character that cannot be seen: {said[:300]!r}")
    if len(said) > LONGEST_LINE:
        raise WrongError(f"{len(said)} characters: {said[:300]!r}")
    if said[-1] != ".":
        raise WrongError(f"no sentence: {said[:300]!r}")
    if name not in said:
        raise WrongError(f"does not name {name}: {said[:300]!r}")
    return _kind_of(said)


def _kind_of(line: str) -> str:
    """A sentence without what changes from input to input."""
    line = re.sub(r"'[^']*'|\"[^\"]*\"|\([^)]*\)", "_", line)
    line = re.sub(r"(/[^ :,]+)+|[0-9a-f]{8,}[^ ]*", "_", line)
    line = re.sub(r"[a-z_0-9-]+\.(csv|toml|jpg|png|json)|column \S+", "_", line)
    line = re.sub(r"<U\+[0-9A-F]+>|not \S+;|mean \S+\?", "_", line)
    return re.sub(r"[0-9]+", "0", line)[:90]
