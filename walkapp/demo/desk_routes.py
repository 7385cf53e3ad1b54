"""The places of the tour that show the desk: merging, reviewing, figures, the sheet, indicators and ppm."""

from __future__ import annotations

from walkapp.actions.desk import desk_facts
from walkapp.actions.indicators.factors import factors_of
from walkapp.actions.reading import concern_facts
from walkapp.actions.review import filter_values
from walkapp.actions.review_evidence import station_evidence
from walkapp.actions.workplace import Workplace
from walkapp.analysis.filtering import RecordFilter
from walkapp.demo.tablets import SCENARIO
from walkapp.presenters.route import Route

FIGURES = {
    "share-by-station": "concern",
    "measured-by-station-ear-wall": "concern",
    "defects-over-time": "concern",
    "p-chart": "concern",
    "value-chart-moulding-ear-wall": "concern",
    "pareto-by-station": "concern",
    "action-ageing": "concern",
    "ppm-by-month": "stream",
    "audit-completion": "stream",
    "audit-conformity": "stream",
}
"""Figures of the tour, and whether they are of the concern or of its stream."""

DRAWN = {"sheet": "preview", "sheet-look": "drawing", **{f"figure-{name}": "drawing" for name in FIGURES}}
"""Places that show something drawn on a worker that no tap waits for, and the widget that shows it."""


def desk_routes(place: Workplace, concern: str) -> dict[str, Route]:
    """Name every such place, on the records as they are.

    Parameters
    ----------
    place
        Where the records are: all of the demo's.
    concern
        Id of the demo's concern.
    """
    facts = concern_facts(place, concern)
    group = station_evidence(facts, "leak-test").groups[0]
    part = RecordFilter(tablet=filter_values(facts).tablets[0].value).to_text()
    factor = factors_of(desk_facts(place, SCENARIO))[0].id
    review = Route(screen="review", concern=concern)
    here = {"concern": concern, "station": "leak-test"}
    entries = {**here, "check": group.check}
    of_stream = {"stream": SCENARIO}
    about = {"concern": {"concern": concern}, "stream": of_stream}
    return {
        "desk": Route(screen="desk"),
        "labels": Route(screen="labels", stream=SCENARIO),
        "merge": Route(screen="merge"),
        "merge-report": Route(screen="merge_report"),
        "reviews": Route(screen="reviews"),
        "review": review,
        "review-of-a-part": Route(screen="review", concern=concern, filter=part),
        "review-filter": Route(screen="review_filter", concern=concern),
        "review-station": Route(screen="review_station", **here),
        "review-entries": Route(screen="review_entries", entry=group.tablet, **entries),
        "review-entry": Route(
            screen="review_entry", entry=group.entries[0].record.id, layer=group.tablet, **entries
        ),
        "pictures-of-a-station": Route(screen="gallery", through="concern review review_station", **here),
        "figures-to-choose": Route(screen="all_figures"),
        "figures": Route(screen="figures", concern=concern),
        "sheet": Route(screen="sheet", concern=concern),
        "sheet-look": Route(screen="sheet_look", concern=concern, through="concern sheet"),
        "page-to-mail": Route(screen="mailed", concern=concern),
        "indicators": Route(screen="indicators", **of_stream),
        "factor": Route(screen="factor", layer=factor, **of_stream),
        "choose-indicator": Route(screen="choose_indicator", **of_stream),
        "new-factor": Route(screen="new_factor", check="days-to-contain", **of_stream),
        "ppm": Route(screen="ppm", **of_stream),
        "ppm-month": Route(screen="ppm_month", day="2026-02-01", **of_stream),
        "deliveries": Route(screen="deliveries", **of_stream),
        "deliveries-file": Route(screen="deliveries_file", **of_stream),
        **{
            f"figure-{name}": Route(screen="figure", entry=name, **about[of])
            for name, of in FIGURES.items()
        },
    }
