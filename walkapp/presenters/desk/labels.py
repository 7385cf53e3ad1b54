"""Labels of stations: which value streams there are, and the way to paper."""

from __future__ import annotations

from dataclasses import replace

from walkapp.actions.labels import HOW_LARGE, LabelFacts, label_name, write_labels
from walkapp.actions.outputs import make_folder
from walkapp.language import tr, trn
from walkapp.presenters.board import BoardPage, BoardState, Section
from walkapp.presenters.rows import ListRow


class LabelsPage(BoardPage):
    """Presents the value streams; a tap writes the labels of all stations of one."""

    def row(self, section: str, row: str) -> None:
        """Write the labels of a stream."""
        waiting = tr("Writing the labels; the first time this takes some seconds.")
        self._show(replace(self.state, problem="", saved="", sentence=waiting))
        self.session.aside(lambda: self._write(row), self._written, self.fail)

    def _write(self, stream: str) -> LabelFacts:
        make_folder(self.session.bundles)
        return write_labels(self.session.place.streams(), stream, self.session.bundles / label_name(stream))

    def _written(self, facts: LabelFacts) -> None:
        pages = trn("{count} page", "{count} pages", facts.pages)
        saved = tr(
            "On disk: {path}, {labels} on {pages}.",
            path=facts.path.name,
            labels=trn("{count} label", "{count} labels", facts.labels),
            pages=pages,
        )
        self.session.run_later(lambda: replace(self._look(), saved=saved), self._show, self.fail)

    def _view(self) -> BoardState:
        streams = self.session.place.streams()
        rows = tuple(
            ListRow(
                id=one.id,
                title=one.name,
                subtitle=trn("{count} station", "{count} stations", len(one.stations)),
            )
            for one in streams.values()
        )
        return BoardState(
            title=tr("Labels of stations"),
            subtitle=tr("One label for each station of a value stream, four on an A4 sheet"),
            sentence=tr("Tap a value stream to write the labels of its stations.")
            if rows
            else tr("There is no value stream in the checklists folder."),
            lines=(tr("The PDF is written into {bundles}.", bundles=self.session.bundles),),
            sections=(Section(name="streams", rows=rows),),
            notes=(
                tr(HOW_LARGE),
                tr("A label only opens a page: it says which station it is, and nothing secret."),
                tr("Where the checklist gets other stations, print the labels again."),
            ),
        )
