"""Labels of the stations of a value stream, to be printed and hung up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from walkapp.actions.outputs import refuse_other_file, write_out
from walkapp.codes import qr_squares, station_text
from walkapp.errors import InputError
from walkapp.files import safe_name
from walkapp.language import msg, tr
from walkapp.model.checklist import Stream
from walkapp.paper.labels import LabelPaper, print_labels

HOW_LARGE = msg(
    "Made to be scanned at arm's length, about 0.6 m; print at 100 %, not fitted to the "
    "page, and hang them where light does not glare on them."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelFacts:
    """What was written.

    Parameters
    ----------
    path
        The PDF.
    labels, pages
        How many it has.
    """

    path: Path
    labels: int
    pages: int


def labels_of(stream: Stream) -> tuple[LabelPaper, ...]:
    """Give what stands on the labels of a stream, in stream order."""
    papers = []
    for station in stream.stations:
        text = station_text(stream.id, station.id)
        squares = qr_squares(text)
        papers.append(
            LabelPaper(
                station=station.name,
                order=station.order,
                stream=stream.name,
                text=text,
                side=squares.side,
                runs=squares.runs,
                note=tr("Invented, no real plant") if stream.invented else "",
            )
        )
    return tuple(papers)


def label_name(stream: str) -> str:
    """Name the file of the labels of a stream."""
    return f"labels-{safe_name(stream)}.pdf"


def write_labels(streams: Mapping[str, Stream], stream_id: str, out: Path) -> LabelFacts:
    """Write the labels of all stations of a value stream.

    Parameters
    ----------
    streams
        The value streams that there are, by id.
    stream_id
        The one whose stations get labels.
    out
        The PDF to write.

    Raises
    ------
    InputError
        If there is no such stream, something else than a PDF is there already, or it cannot be written.
    """
    if stream_id not in streams:
        names = ", ".join(sorted(streams)) or tr("none")
        raise InputError(
            tr(
                "There is no value stream {stream_id}; name one of: {names}.",
                stream_id=repr(stream_id),
                names=names,
            )
        )
    refuse_other_file(out, "pdf")
    stream = streams[stream_id]
    papers = labels_of(stream)
    pdf, pages = print_labels(papers, tr("Labels of the stations of {stream}", stream=stream.name))
    write_out(out, pdf, "pdf")
    return LabelFacts(path=out, labels=len(papers), pages=pages)
