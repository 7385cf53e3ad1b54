"""The calls on records: a store, or bundles of one."""

from __future__ import annotations

import argparse
import itertools
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

from walkapp import __version__
from walkapp.actions.audits.due import audits_due, count_due, kept_streams
from walkapp.actions.audits.due_telling import due_lines, due_to_json
from walkapp.actions.bundling import bundle_concerns
from walkapp.actions.checking import check_lines, check_store, check_to_json
from walkapp.actions.keys import written_text
from walkapp.actions.merging import (
    Merged,
    MergeStoppedError,
    bundle_as_store,
    merge_bundles,
)
from walkapp.actions.parts import part_lines, parts_to_json
from walkapp.actions.searching import Finder, search_lines, search_to_json
from walkapp.actions.summaries import Summary, summarise, summary_to_json
from walkapp.actions.trust import signature_text
from walkapp.actions.workplace import Workplace, refuse_practice_folder
from walkapp.cli.machine import default_checklists, id_maker, now
from walkapp.cli.telling import GOOD, NEGATIVE, ProgressBar, merge_lines, print_json, summary_lines, tell
from walkapp.errors import InputError
from walkapp.language import tr, trn, whole_text
from walkapp.store import Store
from walkapp.visible import visible


@contextmanager
def open_workplace(
    store: Path, checklists: Path | None, *, writable: bool, tells: bool = True
) -> Iterator[Workplace]:
    """Open a store for a command; what it has to say goes to standard error, unless `tells` is off."""
    with suppress(OSError):  # The store says itself why it cannot be looked at.
        if not writable and not store.exists():
            raise InputError(
                tr(
                    "{store}: there is no such store; name a folder that holds one with --store.",
                    store=store,
                )
            )
    refuse_practice_folder(store)
    new_id = id_maker()
    with Store(
        store, now=now, new_id=new_id, app=tr("walkapp {version}", version=__version__), writable=writable
    ) as opened:
        for notice in opened.notices if tells else ():
            sys.stderr.write(f"{visible(notice)}\n")
        yield Workplace(store=opened, checklists=checklists, now=now, new_id=new_id)


def run_bundle(call: argparse.Namespace) -> int:
    """Write a bundle."""
    with open_workplace(call.store, None, writable=False) as place:
        facts = bundle_concerns(
            place,
            call.out,
            concern=call.concern,
            audits_of=call.audits,
            since=call.since,
            originals=call.originals,
        )
        about_key = written_text(place.store, facts)
    told = tr(
        "{path}: {records}, {photos}, {size_bytes} bytes; compare these 8 digits where it is merged: "
        "{digest}",
        path=facts.path,
        records=trn("{count} record", "{count} records", facts.record_count),
        photos=trn("{count} photo", "{count} photos", facts.photo_count),
        size_bytes=whole_text(facts.size_bytes),
        digest=facts.digest[:8],
    )
    tell(filter(None, (told, about_key, *(tr("Mind: {note}", note=note) for note in facts.photo_notes))))
    return GOOD


def run_merge(call: argparse.Namespace) -> int:
    """Merge bundles."""
    try:
        with (
            open_workplace(call.store, None, writable=True) as place,
            ProgressBar(sys.stderr, tr("merging")) as bar,
        ):
            merged = merge_bundles(place, call.bundles, trust=call.trust, progress=bar.show)
    except MergeStoppedError as stopped:
        _tell_merged(stopped.merged)
        raise
    _tell_merged(merged)
    return GOOD


def _tell_merged(merged: Sequence[Merged]) -> None:
    for one in merged:
        tell(merge_lines(one))


def run_check(call: argparse.Namespace) -> int:
    """Check a whole store; it may be open in the app meanwhile."""
    with (
        open_workplace(call.store, None, writable=False, tells=False) as place,
        ProgressBar(sys.stderr, tr("checking")) as bar,
    ):
        report = check_store(place, progress=bar.show)
    if call.json:
        print_json(check_to_json(report))
    else:
        tell(check_lines(report))
    return GOOD if report.is_sound else NEGATIVE


def run_search(call: argparse.Namespace) -> int:
    """Find a text in all concerns."""
    question = " ".join(call.words)
    with (
        open_workplace(call.store, call.checklists, writable=False) as place,
        ProgressBar(sys.stderr, tr("reading")) as bar,
    ):
        finder = Finder(place)
        finder.update(bar.show)
        answer = finder.find(question)
    if call.json:
        print_json(search_to_json(question, answer))
    else:
        tell(search_lines(answer))
    return GOOD if answer.total else NEGATIVE


def with_plan(place: Workplace) -> Workplace:
    """Plan by the ready-made checklists, as in the app, where no folder is named and nobody audited yet."""
    if place.checklists is None and not kept_streams(place):
        return replace(place, checklists=default_checklists())
    return place


def run_due(call: argparse.Namespace) -> int:
    """Tell which audits are due on a day; the store may be open in the app meanwhile."""
    with open_workplace(call.store, call.checklists, writable=False) as place:
        found = audits_due(with_plan(place), call.on, stream=call.stream, layer=call.layer)
        if call.json:
            print_json(due_to_json(found))
        else:
            tell(due_lines(found))
    return GOOD if count_due(found) else NEGATIVE


def run_summary(call: argparse.Namespace) -> int:
    """Tell where the defect of each concern starts."""
    if (call.bundle is None) == (call.store is None):
        raise InputError(tr("Name either a store with --store DIR or one BUNDLE.zip, and not both."))
    if call.html is not None:
        # Late, as what follows: nobody else waits for the code of pages and audits.
        from walkapp.cli.page import run_page

        return run_page(call)
    if call.bundle is not None:
        return tell_bundle(call.bundle, call.checklists, as_json=call.json, concern=call.concern)
    from walkapp.actions.audits.summary import audit_summary_lines

    with open_workplace(call.store, call.checklists, writable=False) as place:
        status = _tell(place, summarise(place, concern=call.concern), as_json=call.json)
        # JSON stays a list of concerns; 'walkapp audits --json' has the figures.
        if not call.json and not call.concern and (lines := tuple(audit_summary_lines(place))):
            tell(["", *lines])
        return status


def tell_bundle(bundle: Path, checklists: Path | None, *, as_json: bool = False, concern: str = "") -> int:
    """Tell what a bundle says, without a store; like stations are looked for in `checklists`."""
    app = tr("walkapp {version}", version=__version__)
    with bundle_as_store(bundle, now=now, new_id=id_maker(), app=app) as seen:
        if not as_json:
            tell([signature_text(seen.signed), ""])
        place = replace(seen.place, checklists=checklists)
        return _tell(place, summarise(place, concern=concern), as_json=as_json)


def _tell(place: Workplace, summaries: Sequence[Summary], *, as_json: bool) -> int:
    if as_json:
        print_json([{**summary_to_json(summary), **parts_to_json(place, summary)} for summary in summaries])
    elif summaries:
        told = (("", *summary_lines(summary), *part_lines(place, summary)) for summary in summaries)
        tell(itertools.islice(itertools.chain.from_iterable(told), 1, None))
    else:
        tell([tr("No concern is recorded here yet.")])
    found = any(s.answer is not None and s.answer.first_bad_station for s in summaries)
    return GOOD if found else NEGATIVE
