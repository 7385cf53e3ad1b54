"""Texts for people that no catalogue can know: they stand in the source as they are.

What is no text for people is told by its place (a programmer's mistake, a column of a record, a name that
is compared) or by a comment: ``# no text: why``, at the end of its line, in the line above it, or in the
line above the assignment that it is part of.
"""

from __future__ import annotations

import ast
import re

SAID = {"tr", "trc", "trn", "msg", "msgn"}
MISTAKES = {
    "ValueError", "TypeError", "LookupError", "KeyError", "AssertionError", "RuntimeError",
    "NotImplementedError", "AttributeError", "ArithmeticError",
}  # fmt: skip
TECHNICAL = {
    "getattr", "setattr", "hasattr", "compile", "strftime", "strptime", "encode", "decode", "startswith",
    "endswith", "removesuffix", "removeprefix", "replace", "split", "partition", "rpartition", "get", "pop",
    "getenv", "register", "format_map", "fromhex", "translate", "sub", "match", "search", "fullmatch",
    "finditer", "execute", "resolve_name", "down", "find", "index", "TypeVar", "Callable",
}  # fmt: skip
"""Calls whose texts are for the program."""

NAMES = {
    "class_",
    "test_name",
    "kind",
    "form",
    "tone",
    "encoding",
    "mode",
    "screen",
    "word",
    "media",
    "thread_name_prefix",
}
"""Parameters whose values are names."""

PLACEHOLDER = "\x00"


def unmarked(source: str) -> list[tuple[int, str]]:
    """Give line and text of each text for people that is not marked."""
    tree = ast.parse(source)
    _link(tree)
    exempt = {number for number, line in enumerate(source.splitlines(), start=1) if "# no text:" in line}
    found = []
    for node in ast.walk(tree):
        text = _text(node)
        if text is None or not for_people(text) or _is_for_the_program(node):
            continue
        if exempt & {_assignment(node).lineno - 1, *range(node.lineno - 1, node.end_lineno + 1)}:
            continue
        found.append((node.lineno, text.replace(PLACEHOLDER, "{}")))
    return sorted(found)


def _assignment(node: ast.AST) -> ast.AST:
    """Give the assignment that a text is part of; the text itself where it is part of none."""
    at = node
    while not isinstance(at, ast.stmt | ast.mod):
        at = at.above
    return at if isinstance(at, ast.Assign | ast.AnnAssign) else node


def for_people(text: str) -> bool:
    """Whether a text reads like one for people: a word with a capital, or several words."""
    plain = text.replace(PLACEHOLDER, " 0 ")
    if re.fullmatch(r"[A-Z][a-z]+[.:?!]?", text):
        return True
    return bool(re.search(r"[^\W\d_]{2,}", plain)) and " " in text.strip() and not _is_code(text)


def _is_code(text: str) -> bool:
    """Whether a text of several words is a query, a pattern or a list of names."""
    return bool(
        re.match(r"(SELECT|INSERT|CREATE|PRAGMA|WITH|DROP|DELETE|UPDATE|ATTACH|COPY)\b", text.lstrip())
    )


def _text(node: ast.AST) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            part.value if isinstance(part, ast.Constant) else PLACEHOLDER for part in node.values
        )
    return None


def _link(tree: ast.AST) -> None:
    for node in ast.walk(tree):
        for child in ast.iter_child_nodes(node):
            child.above = node


def _is_for_the_program(node: ast.AST) -> bool:
    above = node.above
    if isinstance(above, ast.Expr | ast.Compare | ast.MatchValue | ast.Subscript | ast.JoinedStr):
        return True
    if isinstance(above, ast.Dict) and any(node is key for key in above.keys):
        return True
    if isinstance(above, ast.Tuple) and isinstance(above.above, ast.Subscript):
        return True  # a type in quotes
    if isinstance(above, ast.keyword) and above.arg in NAMES:
        return True
    at = node
    while not isinstance(above, ast.stmt | ast.mod):
        if (
            isinstance(above, ast.Call)
            and at is not above.func
            and (_called(above) in SAID | MISTAKES | TECHNICAL and not _makes_anew(above))
        ):
            # Values that are put into a text are texts of their own.
            return not (_called(above) in SAID and isinstance(at, ast.keyword))
        if isinstance(above, ast.JoinedStr):
            return True
        at, above = above, above.above
    if isinstance(above, ast.Assign) and any(getattr(t, "id", "") == "__all__" for t in above.targets):
        return True
    return at is getattr(above, "annotation", None) or at is getattr(above, "returns", None)


def _makes_anew(call: ast.Call) -> bool:
    """Whether it is ``dataclasses.replace``, which shares its name with the method of texts."""
    return getattr(call.func, "id", "") == "replace"


def _called(call: ast.Call) -> str:
    return getattr(call.func, "id", "") or getattr(call.func, "attr", "")
