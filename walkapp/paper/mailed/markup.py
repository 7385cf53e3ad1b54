"""Elements of a page for a browser, in which no text can become markup.

A text is a ``str`` and is always escaped; what is markup already is :class:`Markup` and nothing else. So a
text cannot get into a page unescaped by being forgotten.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from walkapp.visible import visible

_EMPTY = frozenset({"meta", "img", "br"})
"""Elements that hold nothing and are not closed (HTML Living Standard, void elements)."""


@dataclass(frozen=True, slots=True)
class Markup:
    """Markup that is complete in itself.

    Parameters
    ----------
    code
        As it stands in the file.
    """

    code: str

    def __bool__(self) -> bool:
        """Whether there is any."""
        return bool(self.code)


Inside = Markup | str

NOTHING = Markup("")
"""What stands where there is nothing to say."""


def shown(text: str) -> str:
    """Give a text as it is seen: nothing in it hides or reorders anything; line feeds stay."""
    return visible(text, keep="\n")


def element(tag: str, *inside: Inside, **attributes: str) -> Markup:
    r"""Make an element.

    Parameters
    ----------
    tag
        Its name; never a text from outside.
    inside
        What it holds, in order: texts, which are escaped, and markup.
    attributes
        Values are texts and are escaped. In a name, a line below stands for a dash, and one at the end
        is left out. One with the value ``""`` is written without a value.

    Examples
    --------
    >>> element("p", "a < b ", element("b", "c"), class_="x", aria_label='"').code
    '<p class="x" aria-label="&quot;">a &lt; b <b>c</b></p>'
    >>> element("p", "</p><script>\u202e").code
    '<p>&lt;/p&gt;&lt;script&gt;&lt;U+202E&gt;</p>'
    """
    named = "".join(
        f" {name.rstrip('_').replace('_', '-')}" + (f'="{escape(shown(value))}"' if value else "")
        for name, value in attributes.items()
    )
    if tag in _EMPTY:
        return Markup(f"<{tag}{named}>")
    return Markup(f"<{tag}{named}>{joined(*inside).code}</{tag}>")


def joined(*inside: Inside) -> Markup:
    """Put texts and markup one behind the other."""
    return Markup(
        "".join(one.code if isinstance(one, Markup) else escape(shown(one), quote=False) for one in inside)
    )
