"""Generated records of every kind, made from the schema itself.

The strategies give only what the schema allows, and lean towards what is awkward: texts that look
like formulas, quotes, line breaks, letters outside the Basic Multilingual Plane, the ends of every
range, ids that repeat, times in odd offsets.

* :func:`records` gives any record of a known kind, :func:`records_of_kind` those of one kind;
* :func:`carried_records` gives records of kinds that this version does not know;
* :func:`first_bad_rows` gives rows of the computed answer;
* :func:`values` gives what one column may hold.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

from walkapp.bundle import FirstBadRow
from walkapp.model.boxes import Box, boxes_to_text
from walkapp.model.drawings import (
    LEAST_LETTERS,
    LONGEST_WORDS,
    MOST_LETTERS,
    MOST_POINTS,
    SHAPES,
    Drawing,
    Point,
    points_to_text,
)
from walkapp.model.ids import compose_uuid7
from walkapp.model.records import KINDS, CarriedRecord, Record, columns_of_kind
from walkapp.model.schema import Column, columns_of

AWKWARD_TEXTS = (
    "=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\nx", "'", "''", "'=1", "＝1", "－1", "＋1", "＠1", '"', '""',
    ",",
    ";=1", "x;=1", "x;'=1", 'x;"=1', "x\t@1", "x\n- y", "a,'b'",
    "a,b", 'say "no"', "two\nlines", "n/a", "NA", "null", "None", "007", "1e5", "TRUE",
    " led", "trailed ",
    " ", "\u2028", "\u202etxt", "\ufeffbom", "e\u0301", "é", "🔧", "Ω±0,5 mm", "\\N", "#", "sep=;",
    "\n", "\t",
)  # fmt: skip

# Every letter that the schema lets through: no control characters but line feed and tab.
_LETTERS = st.one_of(st.characters(exclude_categories=("Cc", "Cs")), st.sampled_from("\n\t"))
_KEY_LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789-"


def ids() -> st.SearchStrategy[str]:
    """Ids, some of them from a handful so that records meet."""
    few = st.integers(1, 8).map(lambda number: compose_uuid7(1_772_000_000_000 + number, 0, number))
    any_id = st.builds(
        compose_uuid7, st.integers(0, 2**48 - 1), st.integers(0, 4095), st.integers(0, 2**62 - 1)
    )
    return st.one_of(few, any_id)


def texts(longest: int) -> st.SearchStrategy[str]:
    """Free texts of 1 to `longest` characters."""
    awkward = st.sampled_from(AWKWARD_TEXTS)
    joined = st.builds(str.__add__, awkward, st.text(_LETTERS, max_size=20)).map(lambda t: t[:longest])
    full = _LETTERS.map(lambda letter: letter * longest)
    return st.one_of(awkward.filter(lambda t: len(t) <= longest), joined, full)


def keys() -> st.SearchStrategy[str]:
    """Short names as checklist files have them."""
    rest = st.text(_KEY_LETTERS, max_size=39)
    return st.builds(lambda first, more: first + more, st.sampled_from(_KEY_LETTERS[:26]), rest)


def moments() -> st.SearchStrategy[str]:
    """Times with offset; in the years 1 and 9999 too."""
    offsets = st.integers(-23 * 60 - 59, 23 * 60 + 59).map(lambda m: timezone(timedelta(minutes=m)))
    times = st.datetimes(timezones=offsets).map(datetime.isoformat)
    return st.one_of(times, times.filter(lambda t: t.endswith("+00:00")).map(lambda t: t[:-6] + "Z"))


def decimals() -> st.SearchStrategy[str]:
    """Decimal numbers as they are typed."""
    return st.from_regex(r"-?[0-9]{1,12}(\.[0-9]{1,9})?", fullmatch=True, alphabet="-.0123456789")


def values(column: Column) -> st.SearchStrategy[Any]:
    """What a column may hold, "no value" included where the column allows it."""
    match column.form:
        case "text":
            found: st.SearchStrategy[Any] = texts(column.longest)
        case "key":
            found = keys()
        case "choice":
            found = st.sampled_from(column.choices)
        case "whole":
            ends = st.sampled_from((column.least, column.most))
            found = st.one_of(ends, st.integers(column.least, column.most))
            return found if column.required else st.none() | found
        case "decimal":
            found = decimals()
        case "flag":
            return st.booleans()
        case "day":
            found = st.dates().map(date.isoformat)
        case "moment":
            found = moments()
        case "record_id":
            found = ids()
        case "record_ids":
            return st.lists(ids(), max_size=3).map(tuple)
        case "digest":
            found = st.integers(0, 2**256 - 1).map(lambda number: f"{number:064x}")
        case _:
            raise ValueError(f"no strategy for the column form {column.form!r}")
    return found if column.required else st.just("") | found


@st.composite
def records_of_kind(draw: st.DrawFn, kind: str) -> Record:
    """Records of one known kind."""
    fields = {name: draw(values(column)) for name, column in columns_of_kind(kind).items()}
    return KINDS[kind](**_agreeing(draw, kind, fields))


def records(*kinds: str) -> st.SearchStrategy[Record]:
    """Records of any known kind, or of those named."""
    return st.sampled_from(kinds or tuple(KINDS)).flatmap(records_of_kind)


def _agreeing(draw: st.DrawFn, kind: str, fields: dict[str, Any]) -> dict[str, Any]:
    """Mend what single columns cannot know: rules that join several fields."""
    if kind == "withdrawal" and not fields["replaces"]:
        fields["replaces"] = (draw(ids()),)
    if fields["replaces"] and not fields["why"]:
        fields["why"] = draw(texts(400))
    if fields["walk"] == fields["concern"]:
        fields["walk"] = ""
    if kind == "concern":
        low, high = sorted(draw(st.sets(st.integers(0, 999), min_size=2, max_size=2)))
        both = (f"{low / 1000}", f"{high / 1000}")
        shares = draw(st.sampled_from((("", ""), (both[0], ""), ("", f"0.{high:03}"), both)))
        fields["share_low"], fields["share_high"] = shares
    if kind == "sample" and not fields["lot"]:
        fields["lot"] = draw(texts(60))
    if kind == "answer" and not fields["reason"]:
        fields["reason"] = draw(texts(400)) if fields["answer"] == "not_applicable" else ""
    if kind in ("count", "dated_count"):
        fields["nok"] = min(fields["nok"], fields["checked"])
    if kind == "photo_copy":
        fields |= _agreeing_copy(draw, fields)
    if kind == "station_weight":
        fields["weight"] = str(draw(st.integers(0, 1000)))
    if kind == "rates_chosen":
        for names in (("false_alarm", "detection"), ("false_alarm_high", "detection_low")):
            pair = sorted(draw(st.sets(st.integers(1, 10**9 - 1), min_size=2, max_size=2)))
            fields |= {name: f"0.{number:09}" for name, number in zip(names, pair, strict=True)}
    if mend := _MENDERS.get(kind):
        mend(draw, fields)
    return fields


def _mend_concern_days(_draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["made_from"], fields["made_to"] = _in_order(fields["made_from"], fields["made_to"])


def _in_order(first: str, last: str) -> tuple[str, str]:
    return (min(first, last), max(first, last)) if first and last else (first, last)


def _mend_photo(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if not (fields["station"] or fields["limit"] or fields["about"]):
        fields["station"] = draw(keys())


def _mend_part_seen(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if not (fields["part"] or fields["lot"]):
        fields["part"] = draw(texts(40))


def _mend_stock(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["station"] = (fields["station"] or draw(keys())) if fields["place"] == "station" else ""


def _mend_sorting(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    checked = fields["checked"]
    fields["nok"] = draw(st.integers(0, checked))
    fields["reworked"] = draw(st.integers(0, fields["nok"]))
    fields["released"] = draw(st.integers(0, checked - fields["nok"] + fields["reworked"]))
    fields["scrapped"] = draw(st.integers(0, checked - fields["released"]))
    if not checked:
        fields["scrapped_unsorted"] = max(1, fields["scrapped_unsorted"])


def _mend_clean_point(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if not (fields["lot"] or fields["serial"] or fields["made_on"]):
        fields["lot"] = draw(texts(60))
    if fields["lot_size"] is not None:
        fields["lot_size"] = max(fields["lot_size"], fields["checked"])


def _mend_escape(_draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["made_on"], fields["found_on"] = _in_order(fields["made_on"], fields["found_on"])


def _mend_trial(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if fields["response"] == "nok":
        fields["parts"] = draw(st.integers(1, 10_000))
    else:
        fields["parts"], fields["measured"] = None, fields["measured"] or draw(texts(80))


def _mend_factor(_draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if fields["low"] == fields["high"]:
        fields["low"], fields["high"] = "low", "high"


def _mend_confirmation(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if fields["on"] == fields["off"]:
        fields["on"], fields["off"] = "hard", "soft"
    if fields["response"] == "value" and not fields["measured"]:
        fields["measured"] = draw(texts(80))


def _mend_outcome(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    """A count or a value, never both."""
    fields["checked"] = fields["nok"] = None
    fields["value"] = ""
    if draw(st.booleans()):
        fields["checked"] = draw(st.integers(1, 10_000))
        fields["nok"] = draw(st.integers(0, fields["checked"]))
    else:
        fields["value"] = draw(decimals())


def _mend_action(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["due_on"], fields["check_on"] = _in_order(fields["due_on"], fields["check_on"])
    fields["at_most"] = draw(st.sampled_from(("", "0", "0.005")))


def _mend_effect_check(_draw: st.DrawFn, fields: dict[str, Any]) -> None:
    for when in ("before", "after"):
        fields[f"{when}_nok"] = min(fields[f"{when}_nok"], fields[f"{when}_checked"])


def _mend_watch_question(_draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["from_on"], fields["until_on"] = _in_order(fields["from_on"], fields["until_on"])


def _mend_read_across(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if fields["status"] != "to_check" and not fields["words"]:
        fields["words"] = draw(texts(400))


def _mend_lesson(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if not (fields["worked"] or fields["did_not_work"] or fields["to_change"]):
        fields["to_change"] = draw(texts(400))


def _mend_audit_start(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    said = ("paper_by", "paper_from", "paper_until")
    if any(fields[name] for name in said):
        fields["paper_by"] = fields["paper_by"] or draw(texts(40))
        for name in said[1:]:
            fields[name] = fields[name] or draw(moments())


def _mend_audit_answer(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if bool(fields["question"]) == bool(fields["watch"]):
        is_watch = draw(st.booleans())
        fields["question"] = "" if is_watch else draw(keys())
        fields["watch"] = draw(ids()) if is_watch else ""
    if not fields["reason"]:
        fields["reason"] = draw(texts(400)) if fields["answer"] == "not_applicable" else ""


def _mend_audit_reaction(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    if fields["reaction"] != "corrected":
        fields["owner"] = fields["owner"] or draw(texts(40))
        fields["due_on"] = fields["due_on"] or draw(st.dates().map(date.isoformat))


def _mend_deliveries(_draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["month"] = f"{fields['month'][:-2]}01"


def _mend_picture_mark(draw: st.DrawFn, fields: dict[str, Any]) -> None:
    fields["walk"] = ""
    drawn = draw(drawings())
    fields |= {"shape": drawn.shape, "points": points_to_text(drawn.points), "words": drawn.words}
    fields["letters"] = drawn.letters or None


def shares() -> st.SearchStrategy[float]:
    """Shares of a picture as a record can write them, its edges among them."""
    return st.integers(0, 10_000).map(lambda share: share / 10_000)


@st.composite
def drawings(draw: st.DrawFn) -> Drawing:
    """What can be drawn over a picture."""
    points = st.builds(Point, shares(), shares())
    match draw(st.sampled_from(SHAPES)):
        case "arrow":
            ends = draw(st.lists(points, min_size=2, max_size=2, unique=True))
            return Drawing("arrow", tuple(ends))
        case "ring":
            sides = [sorted(draw(st.sets(shares(), min_size=2, max_size=2))) for _ in range(2)]
            return Drawing("ring", tuple(Point(*corner) for corner in zip(*sides, strict=True)))
        case "line":
            full = points.map(lambda point: [point] * MOST_POINTS)
            return Drawing("line", tuple(draw(st.lists(points, min_size=2, max_size=8) | full)))
        case _:
            letters = draw(st.integers(LEAST_LETTERS, MOST_LETTERS))
            return Drawing("words", (draw(points),), draw(texts(LONGEST_WORDS)), letters)


_MENDERS = {
    "audit_start": _mend_audit_start,
    "audit_answer": _mend_audit_answer,
    "audit_reaction": _mend_audit_reaction,
    "concern": _mend_concern_days,
    "deliveries": _mend_deliveries,
    "part_seen": _mend_part_seen,
    "photo": _mend_photo,
    "picture_mark": _mend_picture_mark,
    "suspect_range": _mend_concern_days,
    "suspect_stock": _mend_stock,
    "sorting": _mend_sorting,
    "clean_point": _mend_clean_point,
    "escape": _mend_escape,
    "trial": _mend_trial,
    "trial_factor": _mend_factor,
    "trial_run": _mend_outcome,
    "confirmation": _mend_confirmation,
    "confirmation_turn": _mend_outcome,
    "action": _mend_action,
    "effect_check": _mend_effect_check,
    "watch_question": _mend_watch_question,
    "read_across": _mend_read_across,
    "lesson": _mend_lesson,
}
"""What joins several fields of the newer kinds."""


def _agreeing_copy(draw: st.DrawFn, fields: dict[str, Any]) -> dict[str, Any]:
    width, height = fields["width_px"], fields["height_px"]
    sides = st.tuples(
        *(st.integers(0, min(side, 999_999)) for side in (width, height, width, height))
    )  # fmt: skip
    boxes = draw(st.lists(sides.map(lambda s: Box(*s)), max_size=4, unique=True))
    fitting = [box for box in boxes if box.fits(width, height)]
    other = f"{int(fields['photo'], 16) ^ 1:064x}"
    return {
        "covered": boxes_to_text(fitting),
        "sha256": other if fields["sha256"] == fields["photo"] else fields["sha256"],
    }


def cells() -> st.SearchStrategy[str]:
    """CSV cells of a newer version: text or number, with nothing that no text may hold."""
    return st.one_of(st.just(""), texts(200), decimals())


@st.composite
def carried_records(draw: st.DrawFn) -> CarriedRecord:
    """Records of kinds that this version does not know."""
    fields = {name: draw(values(column)) for name, column in columns_of(Record).items()}
    fields = _agreeing(draw, "", fields)
    names = draw(
        st.lists(st.sampled_from(("shape", "remark", "size_mm", "seen_by", "x")), max_size=3, unique=True)
    )
    return CarriedRecord(
        **fields,
        carried_kind=draw(st.sampled_from(("marking", "weld_scan", "x9"))),
        cells=tuple((name, draw(cells())) for name in names),
    )


def first_bad_rows() -> st.SearchStrategy[FirstBadRow]:
    """Rows of the computed answer."""
    number = st.none() | st.floats(0, 1)
    columns = {name: values(column) for name, column in columns_of(FirstBadRow).items()}
    return st.builds(
        FirstBadRow, share=number, low95=number, high95=number, probability_origin=number, **columns
    )


def twin_of(record: Record) -> Record:
    """Give another record with the same id: what a damaged or cloned tablet makes."""
    return replace(record, by="SL-XX" if record.by != "SL-XX" else "SL-YY")


__all__ = [
    "AWKWARD_TEXTS", "carried_records", "cells", "decimals", "drawings", "first_bad_rows", "ids", "keys",
    "moments", "records", "records_of_kind", "shares", "texts", "twin_of", "values",
]  # fmt: skip
