"""The desk: where the records of many tablets become a decision."""

from __future__ import annotations

from walkapp.language import msg, tr
from walkapp.presenters.audits.findings import findings_row
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.desk.figures import FIGURES_ROW
from walkapp.presenters.desk.labels import LABELS_ROW
from walkapp.presenters.rows import ListRow

DESK_ROWS: tuple[ListRow, ...] = (
    ListRow(
        id="merge",
        title=msg("Merge"),
        subtitle=msg("Bring in the bundles of other tablets, and see what came in."),
    ),
    ListRow(
        id="reviews",
        title=msg("Review the concerns"),
        subtitle=msg("First bad station, station by station down to the single entry and picture."),
    ),
    ListRow(
        id="indicators",
        title=msg("Indicators"),
        subtitle=msg("What has to go right, which figure watches it, and what to do when it is off."),
    ),
    ListRow(
        id="ppm",
        title="PPM",
        subtitle=msg("Deliveries month by month, and how many parts of a million came back."),
    ),
    FIGURES_ROW,
    LABELS_ROW,
)
"""Each leads to the page that its id names (``presenters.pages``)."""


class DeskPage(BoardPage):
    """Presents what can be done at the desk, and what audits found and nobody has put right yet."""

    def row(self, section: str, row: str) -> None:
        """Open the page of a row; from the findings, which belong to the audits, "back" leads here."""
        if row == "findings":
            self.session.go(self.route.down(row))
        else:
            super().row(section, row)

    def _view(self) -> BoardState:
        return BoardState(
            title=tr("Desk"),
            subtitle=tr("Merge the tablets, look at all of it, drive it to closed, print one page."),
            sections=(Section(name="desk", rows=(*DESK_ROWS, findings_row(self.session.place))),),
        )
