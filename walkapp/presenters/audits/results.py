"""What the audits of a stream say: done or missed, conformity, what came back, what to go and see."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from walkapp.actions.audits.figures import WEEKS, AuditFigures, audit_figures, last_weeks
from walkapp.actions.audits.telling import (
    GO_AND_SEE,
    HERE_ONLY,
    ageing_words,
    completion_notes,
    completion_words,
    conformity_words,
    findings_words,
    headline,
    least_visited,
    middle_words,
    not_applicable_lines,
    question_words,
    repeat_words,
    repeats_words,
    visits_words,
)
from walkapp.actions.workplace import Workplace
from walkapp.analysis.audits.completion import CENSUS, Completion
from walkapp.analysis.audits.conformity import INTERVAL_NOTE
from walkapp.analysis.audits.facts import Prompt
from walkapp.analysis.audits.findings import Ageing, Repeat
from walkapp.analysis.wording import in_one_line
from walkapp.errors import InputError
from walkapp.language import msg, tr, tr_choices, trn
from walkapp.presenters.board import BoardButton, BoardPage, BoardState, Section
from walkapp.presenters.route import Route
from walkapp.presenters.rows import ListRow
from walkapp.visible import in_short

SPANS = (("4", msg("4 weeks")), ("8", msg("8 weeks")), ("26", msg("Half a year")))
"""Weeks up to today that can be chosen, and their words."""

MOST_STATIONS = 5
MOST_QUESTIONS = 8
MOST_REPEATS = 6
MOST_PROMPTS = 10
"""Lines and rows of a section that are shown; the command tells all."""


class AuditResultsPage(BoardPage):
    """Presents what the audits of a stream say over the last weeks."""

    def press(self, button: str) -> None:
        """Show other weeks."""
        self.session.go(replace(self.route, number=button))

    def row(self, section: str, row: str) -> None:
        """Go to the findings of the stream, or to how a prompt was worked out."""
        if section in ("prompts", "disagreements"):
            self.session.go(self.route.down("audit_prompt", entry=row))
        else:
            self.session.go(self.route.down("findings", number=""))

    def _view(self) -> BoardState:
        return results_state(figures_of(self.session.place, self.route))


class AuditPromptPage(BoardPage):
    """Presents one thing that is worth going to see: what stands out, and how it was worked out."""

    def _view(self) -> BoardState:
        found = figures_of(self.session.place, self.route)
        prompts = {_prompt_id(one): one for one in (*found.prompts, *found.disagreements)}
        prompt = prompts.get(self.route.entry)
        if prompt is None:
            raise InputError(tr("This stands out no longer; go back to the results."))
        return BoardState(
            title=tr(prompt.kind),
            subtitle=tr(
                "{stream}, {first} to {last}",
                stream=found.stream.name,
                first=found.span.first,
                last=found.span.last,
            ),
            mark="undecided",
            sentence=in_one_line(prompt.sentence),
            lines=(tr("Where: {where}", where=in_one_line(prompt.where)),),
            sections=(
                Section(name="how", words="\n".join(f"• {in_one_line(line)}" for line in prompt.lines)),
            ),
            notes=(tr(GO_AND_SEE),),
        )


def figures_of(place: Workplace, route: Route) -> AuditFigures:
    """Work out the figures of the stream and the weeks of a page.

    Raises
    ------
    InputError
        If there is no such stream, or it has no audits.
    """
    stream = place.stream(route.stream)
    place.audit_plan(stream)  # refuses one without audits
    weeks = int(route.number) if route.number in dict(SPANS) else WEEKS
    return audit_figures(place, stream, last_weeks(place, stream, weeks))


def results_state(found: AuditFigures) -> BoardState:
    """Put the figures of a stream into words, the sentence that matters most first."""
    counted = found.completion.all
    return BoardState(
        title=tr("Audit results"),
        subtitle=tr(
            "{stream}, {first} to {last}",
            stream=found.stream.name,
            first=found.span.first,
            last=found.span.last,
        ),
        mark=_mark(counted),
        sentence=f"{headline(counted, found.span)}.",
        lines=(*completion_notes(found), tr(HERE_ONLY), *_below(found)),
        sections=tuple(s for s in _sections(found) if s.words or s.rows),
        notes=(tr(CENSUS), tr(INTERVAL_NOTE)),
        buttons=tuple(
            BoardButton(
                name=weeks, text=words, tone="strong" if weeks == f"{found.span.weeks}" else "plain"
            )
            for weeks, words in tr_choices(SPANS)
        ),
    )


def _sections(found: AuditFigures) -> Iterator[Section]:
    by_layer = found.completion.by_layer
    yield _lines_section(
        "completion",
        tr("Completion by layer"),
        [
            f"{found.layer_names.get(layer, layer)}: {completion_words(by_layer[layer])}"
            for layer in by_layer
        ],
    )
    yield _lines_section(
        "stations",
        tr("Stations least audited"),
        [f"{found.station_name(one.station)}: {visits_words(one)}" for one in least_visited(found)],
        MOST_STATIONS,
    )
    yield _lines_section(
        "conformity",
        tr("Conformity, lowest first"),
        [
            f"{conformity_words(one.conformity)}: {question_words(found, one)}"
            for one in found.conformity.by_question
        ],
        MOST_QUESTIONS,
        before=tr(
            "OK of OK and NOK (share; 95 % interval). All: {conformity}",
            conformity=conformity_words(found.conformity.all),
        ),
    )
    yield _lines_section("not_applicable", tr("Often N/A"), not_applicable_lines(found), MOST_QUESTIONS)
    if found.findings.found:
        repeats = found.repeats
        yield Section(
            name="repeats",
            title=tr("Repeat findings"),
            words=f"{repeats_words(repeats)}.{_more(len(repeats.each), MOST_REPEATS)}",
            rows=tuple(_repeat_row(found, one) for one in repeats.each[:MOST_REPEATS]),
        )
    yield Section(
        name="open",
        title=tr("Open findings"),
        words=tr("Of these weeks: {findings}.", findings=findings_words(found.findings))
        if found.findings.found
        else "",
        rows=(_open_row(found.ageing),),
    )
    yield _prompt_section("prompts", tr("Worth going to see"), found.prompts)
    yield _prompt_section("disagreements", tr("Layers that disagree"), found.disagreements, tells_kind=True)


def _below(found: AuditFigures) -> Iterator[str]:
    if many := len(found.prompts) + len(found.disagreements):
        yield trn("Worth going to see: {count}, below.", "Worth going to see: {count}, below.", many)


def _lines_section(
    name: str, title: str, lines: Iterable[str], most: int = MOST_PROMPTS, *, before: str = ""
) -> Section:
    """Make a section of lines; of many the first are shown, and that is said. Without lines it is empty."""
    every = list(lines)
    if not every:
        return Section(name=name)
    told = [before] if before else []
    told += [f"• {line}" for line in every[:most]]
    return Section(name=name, title=title, words="\n".join(told) + _more(len(every), most))


def _more(many: int, most: int) -> str:
    words = tr("The first {most} of {many}; 'walkapp audits' tells all.", most=most, many=many)
    return f"\n{words}" if many > most else ""


def _repeat_row(found: AuditFigures, repeat: Repeat) -> ListRow:
    return ListRow(
        id="findings",
        title=f"{found.station_name(repeat.station)}: {in_one_line(in_short(repeat.asked))}",
        subtitle=repeat_words(found, repeat),
        mark="bad" if any(one.is_open for one in repeat.findings) else "caution",
    )


def _open_row(found: Ageing) -> ListRow:
    return ListRow(
        id="findings",
        title=ageing_words(found),
        subtitle=middle_words(found) or tr("See all findings."),
        mark="bad" if found.overdue else "undecided" if found.open else "clean",
    )


def _prompt_section(
    name: str, title: str, prompts: Sequence[Prompt], *, tells_kind: bool = False
) -> Section:
    """Make a section of prompts; `tells_kind` says whether its title tells of which kind they all are."""
    return Section(
        name=name,
        title=title,
        words=tr(GO_AND_SEE) + _more(len(prompts), MOST_PROMPTS) if prompts else "",
        rows=tuple(
            ListRow(
                id=_prompt_id(one),
                title=in_one_line(in_short(one.where if tells_kind else f"{one.where}: {tr(one.kind)}")),
                subtitle=in_one_line(one.sentence),
                mark="undecided",
            )
            for one in prompts[:MOST_PROMPTS]
        ),
    )


def _prompt_id(prompt: Prompt) -> str:
    return f"{prompt.kind}: {prompt.where}"


def _mark(counted: Completion) -> str:
    if not counted.over:
        return "not_visited"
    if counted.missed or counted.not_finished:
        return "bad"
    return "clean" if counted.over_in_time == counted.over else "caution"
