"""Which records hold, over all bundles: found out by the same code as on a tablet.

A record can be corrected or taken back by one in another bundle, and two tablets may have done so
differently. Only records that name another one, that are named, or of which two differ under one id can be
touched by that; they are few, and only they are fetched from the database. What holds of them is for
:func:`walkapp.model.standing.heads_of_chains` to say; the rest of the work is SQL.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from walkapp.errors import RecordError
from walkapp.model.ids import book_id, desk_book_id, is_book
from walkapp.model.records import KINDS, columns_of_kind, record_to_plain
from walkapp.model.standing import heads_of_chains
from walkapp.rollup.engine import Engine
from walkapp.rollup.tables import (
    ANSWER,
    READ,
    SEPARATOR,
    answer_select,
    content_of,
    header_select,
    held_select,
)

__all__ = ["settle"]

_DATED_IN_BOOKS = ("audit_start", "audit_missed")


@dataclass(frozen=True, slots=True)
class _Seen:
    """A record as far as it matters for what holds.

    Parameters
    ----------
    kind, id, replaces, walk
        Of its header.
    content
        Everything that it says, where two records of one id differ; else empty.
    """

    kind: str
    id: str
    replaces: str
    walk: str
    content: str


def settle(engine: Engine, kinds: Sequence[str] = (*READ, ANSWER)) -> None:
    """Make the tables of the records that hold out of the raw ones (:mod:`walkapp.rollup.tables`).

    Parameters
    ----------
    engine
        The database with ``bundles`` and all raw tables.
    kinds
        The kinds that have a raw table of their own, ``first_bad_station`` among them.

    Notes
    -----
    What belongs together is told by the concern that each record names, as in a store. What was recorded on
    a walk under the id of a book counts nowhere, as in a store.
    """
    records = [kind for kind in kinds if kind in READ]
    engine.name_view("header", header_select(records))
    engine.keep("repeated", "SELECT id, MIN(plant) AS plant FROM header GROUP BY id HAVING COUNT(*) > 1")
    found = engine.rows("SELECT DISTINCT h.kind FROM header h JOIN repeated t ON t.id = h.id")
    engine.keep("contents", _contents_select({kind for (kind,) in found}.intersection(records)))
    fallen = [(concern, *one) for concern, seen in _touched(engine) for one in _fallen(concern, seen)]
    engine.put("fallen", {"concern": str, "kind": str, "id": str, "content": str}, fallen)
    engine.keep(
        "special",
        "SELECT id, plant FROM repeated UNION ALL "
        "SELECT DISTINCT f.id, '' AS plant FROM fallen f "
        "LEFT JOIN repeated t ON t.id = f.id WHERE t.id IS NULL",
    )
    for kind in records:
        engine.name_view(f"held_{kind}", held_select(kind))
    if ANSWER in kinds:
        engine.name_view(f"rows_{ANSWER}", answer_select())
    engine.put("books", {"book": str, "stream": str, "month_begins": str}, sorted(_books(engine, kinds)))


def _books(engine: Engine, kinds: Collection[str]) -> Iterator[tuple[str, str, str]]:
    """Give the books in which records lie that belong there: id, stream and month (none for the desk's).

    Where every tablet looks for the records of a stream and month follows from a hash that SQL does not
    have.
    """
    said = [
        f"SELECT concern, stream, its_day FROM held_{kind}" for kind in _DATED_IN_BOOKS if kind in kinds
    ]
    if said:
        months = engine.rows(
            "SELECT DISTINCT concern, stream, CAST(date_trunc('month', its_day) AS DATE) "
            f"FROM ({' UNION '.join(said)}) s"
        )
        for book, stream, month in months:
            if book == book_id(stream, month):
                yield book, stream, month.isoformat()
    if "deliveries" in kinds:
        for book, stream in engine.rows("SELECT DISTINCT concern, stream FROM held_deliveries"):
            if book == desk_book_id(stream):
                yield book, stream, ""


def _contents_select(kinds: Collection[str]) -> str:
    """Write the query for the records of ids that are there several times, each different one once.

    Of the kinds that are read only those are looked through that have such ids at all.
    """
    header = "r.cell_concern AS concern, r.cell_id AS id, COALESCE(r.cell_replaces, '') AS replaces, "
    header += "COALESCE(r.cell_walk, '') AS walk"
    tables = [(f"'{kind}'", f"raw_{kind}", content_of(kind)) for kind in sorted(kinds)]
    return "\nUNION ALL\n".join(
        f"SELECT DISTINCT {kind} AS kind, {header}, {content} AS content "
        f"FROM {table} r JOIN repeated t ON t.id = r.cell_id"
        for kind, table, content in (*tables, ("r.kind", "raw_other", "''"))
    )


def _touched(engine: Engine) -> Iterator[tuple[str, list[_Seen]]]:
    """Give the records that can be touched by others, concern by concern."""
    seen: dict[str, dict[_Seen, None]] = defaultdict(dict)
    twins = engine.rows(
        "SELECT c.concern, c.kind, c.id, c.replaces, c.walk, c.content FROM contents c "
        "JOIN (SELECT concern, id FROM contents GROUP BY concern, id HAVING COUNT(*) > 1) t "
        "ON t.concern = c.concern AND t.id = c.id"
    )
    differing = {(row[0], row[2]) for row in twins}
    for concern, *fields in twins:
        seen[concern][_Seen(*fields)] = None
    linking = engine.rows(
        "SELECT DISTINCT concern, kind, id, replaces, walk FROM header WHERE replaces <> ''"
    )
    named = sorted({(row[0], other) for row in linking for other in row[3].split(" ")})
    engine.put("named", {"concern": str, "id": str}, named)
    linked = engine.rows(
        "SELECT DISTINCT h.concern, h.kind, h.id, h.replaces, h.walk FROM header h "
        "JOIN named n ON n.id = h.id AND n.concern = h.concern WHERE h.replaces = ''"
    )
    for concern, kind, record_id, replaces, walk in (*linking, *linked):
        if (concern, record_id) not in differing:
            seen[concern][_Seen(kind, record_id, replaces, walk, "")] = None
    for concern in sorted(seen):
        found = list(seen[concern])
        yield concern, [one for one in found if not one.walk] if is_book(concern) else found


def _fallen(concern: str, seen: list[_Seen]) -> Iterable[tuple[str, str, str]]:
    """Give kind, id and content of those that do not hold."""
    holding = _holding(seen)
    opened = [one for one in seen if one.kind == "concern"]
    if opened and not any(one in holding for one in opened):
        # A record of a walk may claim to replace the concern itself; that does not hide the concern.
        own = _holding([one for one in seen if not one.walk])
        holding |= own.intersection(opened)
    return [(one.kind, one.id, one.content) for one in seen if one not in holding]


def _holding(seen: Iterable[_Seen]) -> set[_Seen]:
    by_id: dict[str, list[_Seen]] = defaultdict(list)
    for one in seen:
        by_id[one.id].append(one)
    replaced = {
        record_id: {other for one in twins for other in one.replaces.split(" ") if other}
        for record_id, twins in by_id.items()
    }
    heads = ([one for record_id in ids for one in by_id[record_id]] for ids in heads_of_chains(replaced))
    return {max(of_chain, key=_order) if len(of_chain) > 1 else of_chain[0] for of_chain in heads}


def _order(one: _Seen) -> tuple[str, str]:
    """The order of :func:`walkapp.model.standing.standing_of`: by id, then by what the whole record
    says.
    """
    if not one.content:
        # Of these, no two of one kind are told apart: nothing that is read hangs on it.
        return one.id, f"{{'kind': {one.kind!r}, "
    columns = columns_of_kind(one.kind)
    cells = one.content.split(SEPARATOR)
    try:
        values = {name: columns[name].from_cell(cell) for name, cell in zip(columns, cells, strict=True)}
        return one.id, repr(record_to_plain(KINDS[one.kind](**values)))
    except RecordError:
        # Nothing of that kind is let in; if it were, the order would still be the same everywhere.
        return one.id, one.content
