"""A distributed engine as a witness: the same SQL over the same Data Packages, read by its own CSV reader.

It runs in this machine alone and speaks to its own helper over the loopback; nothing of it is in the
program.
"""

from __future__ import annotations

import csv
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from walkapp.rollup.tables import ANSWER, HEADER_CELLS, READ, cells_of


class Spark:
    """Spark as an engine for the questions.

    Parameters
    ----------
    session
        A Spark session.
    """

    def __init__(self, session: Any) -> None:
        self._session = session

    def rows(self, select: str) -> list[tuple[Any, ...]]:
        return [tuple(row) for row in self._session.sql(select).collect()]

    def name_view(self, name: str, select: str) -> None:
        if name == "header":  # asked for again and again, over all tables
            self.keep(name, select)
        else:
            self._session.sql(select).createOrReplaceTempView(name)

    def keep(self, name: str, select: str) -> None:
        self._session.sql(select).localCheckpoint().createOrReplaceTempView(name)

    def put(self, name: str, columns: Mapping[str, type], rows: Iterable[Sequence[Any]]) -> None:
        types = ", ".join(f"{one} {'STRING' if kind is str else 'BIGINT'}" for one, kind in columns.items())
        frame = self._session.createDataFrame([tuple(row) for row in rows], types)
        frame.localCheckpoint().createOrReplaceTempView(name)

    def load(self, sources: Sequence[tuple[str, Path]], room: Path) -> None:
        """Unpack Data Packages, given by plant and path, and make the raw tables of their CSVs."""
        frames: dict[str, list[Any]] = {}
        bundles = []
        groups: dict[tuple[str, tuple[str, ...], int], list[Path]] = {}
        for number, (plant, path) in enumerate(sources):
            with zipfile.ZipFile(path) as packed:
                told = json.loads(packed.read("datapackage.json"))
                for name in _tables(told):
                    kind = name.removesuffix(".csv").split("-")[0]
                    # The number of the bundle stands in the file's name, where Spark can read it.
                    out = room / f"{number}-{name}"
                    out.write_bytes(packed.read(name))
                    with out.open(encoding="utf-8", newline="") as file:
                        header = tuple(next(csv.reader(file)))
                    groups.setdefault((kind, header, told["walkapp"]["format"]), []).append(out)
            bundles.append((number, plant, path.name, path.name))
        for (kind, header, number), paths in groups.items():
            table = kind if kind in (*READ, ANSWER) else "other"
            frames.setdefault(table, []).append(self._read(kind, header, number, paths))
        for table in (*READ, ANSWER, "other"):
            self._name(table, frames.get(table, []))
        columns = {"bundle": int, "plant": str, "name": str, "digest": str}
        self.put("bundles", columns, bundles)

    def _read(self, kind: str, header: Sequence[str], number: int, paths: Sequence[Path]) -> Any:
        from pyspark.sql import functions as F  # noqa: N812 - the usual name

        schema = ", ".join(f"cell_{name} STRING" for name in header)
        read = self._session.read.csv(
            [str(path) for path in paths], schema=schema, header=True, enforceSchema=True, multiLine=True,
            quote='"', escape='"', ignoreLeadingWhiteSpace=False, ignoreTrailingWhiteSpace=False,
            mode="FAILFAST",
        )  # fmt: skip
        bundle = F.regexp_extract(F.col("_metadata.file_name"), r"^(\d+)-", 1).cast("bigint")
        read = read.withColumn("bundle", bundle).withColumn("format", F.lit(number).cast("bigint"))
        return read.withColumn("kind", F.lit(kind))

    def _name(self, table: str, frames: Sequence[Any]) -> None:
        cells = (
            ("kind", *(f"cell_{name}" for name in HEADER_CELLS))
            if table == "other"
            else ("format", *cells_of(table))
        )
        whole = None
        for frame in frames:
            chosen = frame.select("bundle", *(cell for cell in cells if cell in frame.columns))
            whole = chosen if whole is None else whole.unionByName(chosen, allowMissingColumns=True)
        if whole is None:
            types = ", ".join(f"{cell} {'BIGINT' if cell == 'format' else 'STRING'}" for cell in cells)
            whole = self._session.createDataFrame([], f"bundle BIGINT, {types}")
        for cell in cells:
            if cell not in whole.columns:
                whole = whole.selectExpr("*", f"CAST(NULL AS STRING) AS {cell}")
        whole.localCheckpoint().createOrReplaceTempView(f"raw_{table}")


def _tables(descriptor: Mapping[str, Any]) -> Iterator[str]:
    for resource in descriptor["resources"]:
        if resource["path"].endswith(".csv"):
            yield resource["path"]
