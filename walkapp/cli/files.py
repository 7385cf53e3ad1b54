"""The calls that need no store: a table of counts, a folder of checklists."""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict

from walkapp.actions.audits.due_telling import promise_lines
from walkapp.analysis.counts import parse_counts
from walkapp.analysis.locate import answer_to_json, locate
from walkapp.analysis.results import StationTally
from walkapp.analysis.simulate import simulate_walks
from walkapp.checklists import load_streams, load_translations
from walkapp.cli.machine import default_checklists, now
from walkapp.cli.telling import (
    GOOD,
    NEGATIVE,
    ProgressBar,
    answer_lines,
    print_json,
    simulation_lines,
    stream_line,
    tell,
)
from walkapp.errors import InputError
from walkapp.files import read_text
from walkapp.language import code_for_people, decimal_text, tr, trn

LARGEST_COUNTS_BYTES = 5_000_000


def run_validate(call: argparse.Namespace) -> int:
    """Check the checklists and tell each stream."""
    folder = call.folder or call.checklists or default_checklists()
    today = now().date()
    streams = load_streams(folder, language=code_for_people())
    missing = load_translations(folder)
    for stream in streams:
        tell([stream_line(stream), *promise_lines(stream, today), *_translation_lines(missing[stream.id])])
    return GOOD


def _translation_lines(missing: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """Say what each further language of a checklist lacks."""
    for name, texts in missing.items():
        if texts:
            yield trn(
                "  {name}: {count} text has no translation: “{first}”",
                "  {name}: {count} texts have no translation, the first: “{first}”",
                len(texts),
                name=name,
                first=texts[0],
            )
        else:
            yield tr("  {name}: every text is translated", name=name)


def run_locate(call: argparse.Namespace) -> int:
    """Work out the first bad station of a table of counts."""
    if call.false_alarm >= call.detection:
        raise InputError(
            tr(
                "--false-alarm ({false_alarm}) must be below --detection ({detection}); a check "
                "that calls good parts NOK as often as bad ones finds nothing.",
                false_alarm=decimal_text(f"{call.false_alarm:g}"),
                detection=decimal_text(f"{call.detection:g}"),
            )
        )
    text = read_text(call.counts, most_bytes=LARGEST_COUNTS_BYTES)
    stations = parse_counts(
        text,
        str(call.counts),
        detection=call.detection,
        false_alarm=call.false_alarm,
        incoming=call.incoming,
    )
    if call.simulate:
        return _simulate(stations, walks=call.walks, seed=call.seed, as_json=call.json)
    answer = locate(stations, clean_share=call.clean_share, clean_confidence=call.confidence)
    if call.json:
        print_json(answer_to_json(answer))
    else:
        tell(answer_lines(answer))
    return GOOD if answer.first_bad_station is not None else NEGATIVE


def _simulate(stations: Sequence[StationTally], *, walks: int, seed: int, as_json: bool) -> int:
    with ProgressBar(sys.stderr, tr("simulating")) as bar:
        rows = simulate_walks(stations, chance=random.Random(seed), walks=walks, progress=bar.show)
    if as_json:
        print_json([asdict(row) for row in rows])
    else:
        tell(simulation_lines(rows, seed))
    return GOOD
