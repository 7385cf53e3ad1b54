"""The rows of a concern's page that lead to what is done about it."""

from __future__ import annotations

from collections.abc import Callable

from walkapp.actions.concerns import samples_in_words
from walkapp.actions.reading import ConcernFacts
from walkapp.actions.workplace import Workplace
from walkapp.language import tr
from walkapp.presenters.actions import actions_row
from walkapp.presenters.confirmations import confirmations_row
from walkapp.presenters.containment import containment_row
from walkapp.presenters.desk.figures import figures_row
from walkapp.presenters.desk.mailed import mailed_row
from walkapp.presenters.desk.review import review_row
from walkapp.presenters.desk.sheet import sheet_row
from walkapp.presenters.followed import followed_row
from walkapp.presenters.gallery import gallery_row
from walkapp.presenters.lessons import lessons_row
from walkapp.presenters.onset import onset_row
from walkapp.presenters.read_across import read_across_row
from walkapp.presenters.rows import ListRow
from walkapp.presenters.trials import trials_row


def judging_row(_place: Workplace, facts: ConcernFacts) -> ListRow:
    """Lead to the judging text and the limit samples."""
    samples = samples_in_words(facts)
    said = tr("Limit samples: {samples}", samples=samples) if samples else tr("No limit sample yet")
    return ListRow(id="judging", title=tr("How to judge"), subtitle=said)


PART_ROWS: tuple[Callable[[Workplace, ConcernFacts], ListRow], ...] = (
    judging_row,
    gallery_row,
    lambda _, facts: followed_row(facts),
    onset_row,
    containment_row,
    trials_row,
    lambda _, facts: confirmations_row(facts),
    actions_row,
    read_across_row,
    lessons_row,
    lambda _, facts: review_row(facts),
    figures_row,
    sheet_row,
    mailed_row,
)
"""Each makes one row; the row's id is the name of the page that it leads to (``presenters.pages``)."""


def part_rows(place: Workplace, facts: ConcernFacts) -> tuple[ListRow, ...]:
    """Make all rows, in the order in which the work is done."""
    return tuple(make_row(place, facts) for make_row in PART_ROWS)
