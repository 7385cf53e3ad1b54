"""Labels of stations: which value streams there are, and the way to paper."""

from __future__ import annotations

from dataclasses import replace

from walkapp.actions.labels import HOW_LARGE, LabelFacts, label_name, write_labels
from walkapp.actions.outputs import make_folder
from walkapp.analysis.wording import counted
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow

LABELS_ROW = ListRow(
    id="labels",
    title="Labels of stations",
    subtitle="Codes to print and hang up; scanning one opens the station.",
)


class LabelsPage(BoardPage):
    """Presents the value streams; a tap writes the labels of all stations of one."""

    def row(self, section: str, row: str) -> None:
        """Write the labels of a stream."""
        waiting = "Writing the labels; the first time this takes some seconds."
        self._show(replace(self.state, problem="", saved="", sentence=waiting))
        self.session.aside(lambda: self._write(row), self._written, self.fail)

    def _write(self, stream: str) -> LabelFacts:
        make_folder(self.session.bundles)
        return write_labels(self.session.place.streams(), stream, self.session.bundles / label_name(stream))

    def _written(self, facts: LabelFacts) -> None:
        pages = counted(facts.pages, "page")
        saved = f"On disk: {facts.path.name}, {counted(facts.labels, 'label')} on {pages}."
        self.session.run_later(lambda: replace(self._look(), saved=saved), self._show, self.fail)

    def _view(self) -> BoardState:
        streams = self.session.place.streams()
        rows = tuple(
            ListRow(id=one.id, title=one.name, subtitle=counted(len(one.stations), "station"))
            for one in streams.values()
        )
        return BoardState(
            title="Labels of stations",
            subtitle="One label for each station of a value stream, four on an A4 sheet",
            sentence="Tap a value stream to write the labels of its stations."
            if rows
            else "There is no value stream in the checklists folder.",
            lines=(f"The PDF is written into {self.session.bundles}.",),
            sections=(Section(name="streams", rows=rows),),
            notes=(
                HOW_LARGE,
                "A label only opens a page: it says which station it is, and nothing secret.",
                "Where the checklist gets other stations, print the labels again.",
            ),
        )
