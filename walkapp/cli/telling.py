"""Results in words, for a terminal."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Self, TextIO

from walkapp.actions.disputes import dispute_lines
from walkapp.actions.merging import Merged, merge_minds
from walkapp.actions.summaries import Summary
from walkapp.actions.trust import origin_text
from walkapp.analysis.results import OriginAnswer
from walkapp.analysis.simulate import SimulatedRow
from walkapp.analysis.wording import parts_in_words, percent, plans_in_words, share_range
from walkapp.language import decimal_text, tr, trn, whole_text
from walkapp.model.checklist import Stream
from walkapp.visible import visible, visible_json

GOOD, NEGATIVE = 0, 1
"""Exit status of a call that did what it should, and of one whose answer is "not found"."""


def tell(lines: Iterable[str]) -> None:
    """Print lines for people: each stays one line, and no text in it reaches the terminal as a command."""
    print("\n".join(visible(line) for line in lines))


def print_json(value: object) -> None:
    """Print a value as JSON for people and programs."""
    print(visible_json(json.dumps(value, ensure_ascii=False, indent=2)))


def answer_lines(answer: OriginAnswer) -> Iterator[str]:
    """Tell an answer: the sentence first, then a table, then what to do and what to mind."""
    yield answer.sentence
    plain = answer.plain_rule_station or tr("no NOK was seen")
    yield tr("Plain rule (first station where any NOK was seen): {plain}.", plain=plain)
    yield ""
    yield from _table(answer)
    yield ""
    if answer.next is not None:
        parts = trn("{count} part", "{count} parts", answer.next.parts)
        yield (
            tr(
                "Next: {station}, check {parts} (about {minutes} min; {chance_sure} that one answer is "
                "sure then). {why}",
                station=answer.next.station,
                parts=parts,
                minutes=f"{answer.next.minutes:.0f}",
                chance_sure=percent(answer.next.chance_sure),
                why=answer.next.why,
            )
        )
        yield tr("Chance to be sure after {plans}.", plans=plans_in_words(answer.next.plans))
    if answer.beyond is not None:
        yield (
            tr(
                "Sure enough to name it, wrong in at most 1 of 20 such answers. To reach 99 %: "
                "check {parts} at {station}.",
                parts=parts_in_words(answer.beyond.parts),
                station=answer.beyond.station,
            )
        )
    yield from _proofs(answer)
    for warning in answer.warnings:
        yield tr("Mind: {warning}", warning=warning)
    taken = answer.assumptions
    yield (
        tr(
            "Taken for granted: {detection} of truly defective parts and {false_alarm} of good "
            "parts are called NOK.",
            detection=percent(taken.detection),
            false_alarm=percent(taken.false_alarm),
        )
    )
    if answer.sensitivity is not None:
        yield answer.sensitivity.sentence


def _table(answer: OriginAnswer) -> Iterator[str]:
    """Tell the stations in columns, as wide as they are at least or as their headings are."""
    headings = tr("NOK of checked"), tr("exact 95 % interval"), tr("starts here")
    widths = [max(least, len(heading)) for least, heading in zip((15, 20, 12), headings, strict=True)]
    name = tr("station")
    names = max(map(len, (name, *(v.station for v in answer.stations))))

    def line(order: str, name: str, cells: Iterable[str], verdict: str) -> str:
        return f"{order:>3} {name:<{names}} {_aligned(cells, widths)}  {verdict}"

    yield line("", name, headings, tr("verdict"))
    for v in answer.stations:
        counts = tr("{nok} of {checked}", nok=v.nok, checked=v.checked) if v.checked else "-"
        interval = share_range(v.interval.low, v.interval.high) if v.interval else "-"
        cells = counts, interval, percent(v.probability_origin)
        yield line(str(v.order), v.station, cells, tr(v.verdict))
    nowhere = tr("not present in this stream")
    before = names + sum(widths[:2]) + 2
    yield f"    {nowhere:<{before}} {percent(answer.none_probability):>{widths[2]}}"


def _proofs(answer: OriginAnswer) -> Iterator[str]:
    """Tell how many more OK parts would show the stations to be clean that are not shown so yet."""
    taken = answer.assumptions
    missing = [f"{v.station} {v.parts_to_prove_clean}" for v in answer.stations if v.parts_to_prove_clean]
    if missing:
        yield (
            tr(
                "More OK parts that would show that fewer than {clean_share} are affected "
                "({clean_confidence} confidence): {missing}.",
                clean_share=percent(taken.clean_share),
                clean_confidence=percent(taken.clean_confidence),
                missing=", ".join(missing),
            )
        )


def simulation_lines(rows: Sequence[SimulatedRow], seed: int) -> Iterator[str]:
    """Tell what simulated walks came to."""
    many = rows[0].walks
    yield (
        tr(
            "Invented walks on this stream, {many} for each affected share, seed {seed}: the "
            "defect starts at a station drawn at random.",
            many=many,
            seed=seed,
        )
    )
    yield (
        tr(
            "Guided: a walk that goes where the guide says until one answer has at least 95 %. "
            "Of those that named a station, so many named the right one (exact 95 % interval):"
        )
    )
    yield ""
    fixed = rows[0].everywhere_parts
    everywhere = trn("{count} part, the same everywhere:", "{count} parts, the same everywhere:", fixed)
    guided = tr("affected"), tr("named"), tr("right"), tr("interval"), tr("parts"), tr("minutes")
    others = tr("named"), tr("right"), tr("plain rule right")
    left = [max(least, len(heading)) for least, heading in zip((8, 7, 7, 16, 7, 8), guided, strict=True)]
    right = [max(least, len(heading)) for least, heading in zip((6, 6, 17), others, strict=True)]
    yield f"{_aligned(guided, left)}  | {everywhere}{_aligned(others, right)}"
    for row in rows:
        interval = row.right_interval
        told = share_range(interval.low, interval.high) if interval else "-"
        cells = (
            decimal_text(f"{row.share:.0%}"),
            _share(row.named, many),
            _share(row.right, row.named),
            told,
            f"{row.parts:.0f}",
            f"{row.minutes:.0f}",
        )
        other_cells = (
            _share(row.everywhere_named, many),
            _share(row.everywhere_right, row.everywhere_named),
            _share(row.plain_right, many),
        )
        yield f"{_aligned(cells, left)}  | {'':{len(everywhere)}}{_aligned(other_cells, right)}"


def _aligned(cells: Iterable[str], widths: Iterable[int]) -> str:
    return " ".join(f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True))


def _share(part: int, whole: int) -> str:
    return decimal_text(f"{part / whole:.1%}") if whole else "-"


def summary_lines(summary: Summary) -> Iterator[str]:
    """Tell one concern and its answer."""
    concern = summary.facts.concern
    yield f"{concern.what} ({', '.join(filter(None, (concern.part_name, concern.part_number)))})"
    walks = len(summary.facts.walks)
    yield trn(
        "concern {concern}, {count} walk",
        "concern {concern}, {count} walks",
        walks,
        concern=concern.concern,
    )
    if summary.facts.needs_escalation:
        yield tr("Mind: safety or regulatory class, and it is not recorded who was told.")
    if summary.answer is None:
        yield summary.trouble
    else:
        yield from answer_lines(summary.answer)
    yield from dispute_lines(summary.disputes)


def merge_lines(merged: Merged) -> Iterator[str]:
    """Tell what one bundle brought."""
    report = merged.report
    yield (
        tr(
            "{path}: {new} new, {known} already known, {photos}, {checklists}. {origin}",
            path=merged.path,
            new=whole_text(report.new),
            known=whole_text(report.known),
            photos=trn("{count} photo", "{count} photos", report.photos),
            checklists=trn("{count} checklist", "{count} checklists", report.checklists),
            origin=origin_text(merged.origin),
        )
    )
    yield from (tr("Mind: {words}", words=words) for words in merge_minds(merged))
    yield from dispute_lines(merged.disputes)


def stream_line(stream: Stream) -> str:
    """Tell that a value stream was read, and what is in it."""
    checks = sum(len(station.checks) for station in stream.stations)
    return tr(
        "{id}: {stream}, version {version}, {stations}, {checks}, {defects}: no mistakes",
        id=stream.id,
        stream=stream.name,
        version=stream.version,
        stations=trn("{count} station", "{count} stations", len(stream.stations)),
        checks=trn("{count} check", "{count} checks", checks),
        defects=trn("{count} defect", "{count} defects", len(stream.defects)),
    )


class ProgressBar:
    """A bar on one line of a terminal; silent when the output is no terminal.

    Parameters
    ----------
    out
        Where to draw.
    label
        What is being done.
    """

    WIDTH = 30

    def __init__(self, out: TextIO, label: str) -> None:
        self._out = out
        self._label = label
        self._is_shown = out.isatty()
        self._drawn = ""

    def show(self, done: int, total: int) -> None:
        """Draw the bar at `done` of `total`."""
        if self._is_shown and total:
            full = self.WIDTH * done // total
            drawn = f"\r{self._label} [{'#' * full}{'.' * (self.WIDTH - full)}] {100 * done // total} %"
            if drawn != self._drawn:  # a merge tells of every record
                self._drawn = drawn
                self._out.write(drawn)
                self._out.flush()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._is_shown:
            self._out.write("\n")
