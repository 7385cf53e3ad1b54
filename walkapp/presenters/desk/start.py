"""The desk: where the records of many tablets become a decision."""

from __future__ import annotations

from walkapp.language import msg, tr
from walkapp.presenters.audits.findings import findings_row
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow

DESK_ROWS = (
    ("merge", msg("Merge"), msg("Bring in the bundles of other tablets, and see what came in.")),
    (
        "reviews",
        msg("Review the concerns"),
        msg("First bad station, station by station down to the single entry and picture."),
    ),
    (
        "indicators",
        msg("Indicators"),
        msg("What has to go right, which figure watches it, and what to do when it is off."),
    ),
    ("ppm", msg("PPM"), msg("Deliveries month by month, and how many parts of a million came back.")),
    ("all_figures", msg("Figures"), msg("Of a value stream or a concern: to look at, to print")),
    (
        "labels",
        msg("Labels of stations"),
        msg("Codes to print and hang up; scanning one opens the station."),
    ),
)
"""The page that a row leads to (``presenters.pages``), and its two lines."""


class DeskPage(BoardPage):
    """Presents what can be done at the desk, and what audits found and nobody has put right yet."""

    def row(self, section: str, row: str) -> None:
        """Open the page of a row; from the findings, which belong to the audits, "back" leads here."""
        if row == "findings":
            self.session.go(self.route.down(row))
        else:
            super().row(section, row)

    def _view(self) -> BoardState:
        rows = [ListRow(id=page, title=tr(title), subtitle=tr(words)) for page, title, words in DESK_ROWS]
        return BoardState(
            title=tr("Desk"),
            subtitle=tr("Merge the tablets, look at all of it, drive it to closed, print one page."),
            sections=(Section(name="desk", rows=(*rows, findings_row(self.session.place))),),
        )
