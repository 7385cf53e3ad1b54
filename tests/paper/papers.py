"""Descriptions of printed audits: short ones, endless ones, and made-up ones. All invented."""

from __future__ import annotations

from hypothesis import strategies as st

from walkapp.paper.audit_page import AuditPaper, PaperQuestion, PaperStation

POLISH = "Zażółć gęślą jaźń"
GERMAN = "Maße größer als Prüfmaß"
GREEK = "Έλεγχος στεγανότητας"
CYRILLIC = "Щит закрыт, ёлка"

LETTERS = st.sampled_from(
    "abcdefghijk ßäöüąęłżźćαβγδέЖщыё$\\_^{}%#&~\"'<>-.,;:0123456789W   "
) | st.sampled_from("中\u202e\x1bא\n😀\u00ad")


def question(number=1, ask="Guards closed?", **more) -> PaperQuestion:
    return PaperQuestion(number=number, ask=ask, **more)


def station(name="Moulding", hazards=("Hot parts.",), questions=()) -> PaperStation:
    return PaperStation(name=name, hazards=hazards, questions=tuple(questions) or (question(),))


def paper(*stations, **more) -> AuditPaper:
    said = {
        "title": "Layered audit on paper: Shift lead",
        "which": "Shift lead, early shift, Monday 2026-03-09; check number 614 926",
        "facts": (("Audit of", "early shift"), ("Belongs to", "stream line, layer shift-lead")),
        "begun": ("Begun on (date)", "at (time)"),
        "cautions": ("Keep to the walkways.",),
        "notes": ("Cross one box for each question.",),
        "beyond": ("Asked beyond the plan:", "question 2, +4821: NOK on 2026-03-04"),
        "answers": ("OK", "NOK", "N/A"),
        "found": "NOK: what was found and done. N/A: why",
        "reactions": ("corrected on the spot", "contained", "escalated"),
        "left_to_do": ("Owner", "Until"),
        "signing": (("Role and initials, never a name", "Signed on (date)", "at (time)"),),
    }
    return AuditPaper(**{**said, "stations": stations or (station(),), **more})


def endless() -> AuditPaper:
    """Twenty stations with sixty questions, as long as a checklist allows, in four alphabets."""
    texts = [
        "Maßprüfung größer Übergabe " * 30,
        "Zażółć gęślą jaźń " * 40,
        "Έλεγχος στεγανότητας " * 40,
        "Щитпроверкагерметичности" * 30,
    ]
    stations = [
        station(
            name=f"Station {n}: {texts[n % 4][:60]}",
            hazards=tuple(f"{n}.{h} {texts[h % 4][:90]}" for h in range(2)),
            questions=[
                question(
                    number=3 * n + q + 1,
                    ask=texts[(n + q) % 4][:200],
                    how=texts[(n + q + 1) % 4][:600],
                    notes=("Special characteristic.", f"+{n:04}, beyond the plan: NOK on 2026-03-04."),
                )
                for q in range(3)
            ],
        )
        for n in range(20)
    ]
    return paper(*stations, which=f"{'W' * 40}, {'M' * 20} shift, {texts[1][:120]}")


@st.composite
def made_up(draw) -> AuditPaper:
    """Any texts, as long as a checklist allows."""

    def text(longest):
        return draw(st.text(LETTERS, max_size=longest))

    def texts(most, longest):
        return tuple(text(longest) for _ in range(draw(st.integers(0, most))))

    number = 0
    stations = []
    for _ in range(draw(st.integers(1, 2))):
        questions = []
        for _ in range(draw(st.integers(1, 2))):
            number += 1
            questions.append(question(number=number, ask=text(200), how=text(600), notes=texts(2, 100)))
        stations.append(station(name=text(60), hazards=texts(3, 200), questions=questions))
    return paper(
        *stations,
        title=text(80),
        which=text(160),
        facts=tuple(("To be signed", words) for words in texts(4, 200)),
        cautions=texts(4, 300),
        beyond=texts(4, 120),
    )
