"""Pages to be mailed, made of invented sheets; and what a parser of the standard library finds in one."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from html.parser import HTMLParser

from hypothesis import strategies as st

from tests.paper import sheets
from walkapp.paper.mailed.content import MailConcern, MailDispute, MailPage, MailSide, MailStation
from walkapp.paper.sheet_content import SheetContent

HOSTILE = (
    "<script>document.title='hacked'</script>",
    '"><img src=x onerror="document.title=1">',
    "' onmouseover='alert(1)",
    "</style><script>parent.hacked=1</script>",
    "</svg></table></title></textarea><iframe src=https://example.invalid/>",
    "<!-- --><!DOCTYPE html><base href='https://example.invalid/'>",
    "]]><![CDATA[<b>",
    "javascript:alert(1)",
    "{id} url(https://example.invalid/x.png) @import 'https://example.invalid/x.css'",
    "&lt;b&gt; &amp; &#60;script&#62; &nbsp;",
    "=HYPERLINK(\"https://example.invalid\";\"here\") $\\sqrt{x}$",
    "\u202edab\u202c \u2066x\u2069 \u200b\ufeff",
    "\x00\x07\x1b[2J\x7f\x85\u2028\ud800",
    "שלום 3 of 5 مرحبا",
    "W" * 4000,
    "a\nb\r\nc\td",
)  # fmt: skip
"""Texts that would do harm where somebody forgot to escape, break or show them."""

texts = st.sampled_from(HOSTILE) | st.text(min_size=1, max_size=40).filter(lambda text: text.strip())


def concern(content: SheetContent | None = None, **more) -> MailConcern:
    """Give a concern of a page; its figure is that of the sheet."""
    content = content or sheets.content()
    said = {
        "content": content,
        "stations": tuple(
            MailStation(share="15.0 %", limits="3 % to 38 %", starts_here="98 %") for _ in content.stations
        ),
        "elsewhere": "<0.1 %" if content.stations else "",
        "figures": (content.shares,) if content.shares else (),
        "figures_note": (),
        "disputes": (),
        "disputes_left_out": 0,
        "must_escalate": False,
    }
    return MailConcern(**{**said, **more})


def dispute(*values: str, about="Count at Leak test", **more) -> MailDispute:
    sides = [
        MailSide(value=one, source="tablet 7c9ec7, QE-RT", counts=not n) for n, one in enumerate(values)
    ]
    return MailDispute(about=about, sides=tuple(sides), **more)


def page(*concerns: MailConcern, **more) -> MailPage:
    said = {
        "title": "Cracked mounting ears (invented)",
        "made": ("Made on 2026-03-20 with walkapp.",),
        "warnings": (),
        "concerns": concerns or (concern(),),
        "left_out": (),
    }
    return MailPage(**{**said, **more})


KEPT = frozenset(
    {
        "state",
        "answer_state",
        "data",
        "mark",
        "verdict",
        "share",
        "limits",
        "starts_here",
        "elsewhere",
    }
)
"""Fields that hold words of our own, not texts from outside."""


def with_texts(thing, say):
    """Give the same page with every text from outside said by `say`; figures stay as they are."""
    if isinstance(thing, str):
        return say(thing)
    if isinstance(thing, tuple):
        return tuple(with_texts(one, say) for one in thing)
    if is_dataclass(thing) and type(thing).__module__.startswith(
        ("walkapp.paper.mailed", "walkapp.paper.sheet")
    ):
        said = {
            field.name: with_texts(getattr(thing, field.name), say)
            for field in fields(thing)
            if field.name not in KEPT
        }
        return replace(thing, **said)
    return thing


class Read(HTMLParser):
    """What a parser finds: elements and the names of their attributes in order, texts, and styles."""

    def __init__(self, data: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.structure: list[tuple[str, ...]] = []
        self.values: list[tuple[str, str, str]] = []
        self.pieces: list[tuple[str, str]] = []
        self.comments: list[str] = []
        self._open: list[str] = []
        self.feed(data.decode())
        self.close()

    def handle_starttag(self, tag, attrs):
        self.structure.append((tag, *(name for name, _ in attrs)))
        self.values += [(tag, name, value or "") for name, value in attrs]
        if tag not in ("meta", "img", "br"):
            self._open.append(tag)

    def handle_endtag(self, tag):
        self.structure.append((f"/{tag}",))
        assert self._open.pop() == tag, "an element is closed that was not opened last"

    def handle_data(self, data):
        self.pieces.append((self._open[-1] if self._open else "", data))

    def handle_comment(self, data):
        self.comments.append(data)

    def close(self):
        super().close()
        assert self._open == []

    @property
    def texts(self) -> list[str]:
        """Texts that are seen, without the style."""
        return [text for tag, text in self.pieces if tag != "style" and text.strip()]
