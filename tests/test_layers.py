"""The rules of the architecture, checked over the code itself."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parent.parent
KV_FILES = sorted((REPOSITORY / "walkapp").rglob("*.kv"))
HANDLER = re.compile(r"^\s*(on_\w+):(.*)$")

# What a handler in a layout may speak to: its own rule, the page, or the page's presenter.
RECEIVERS = {"root", "root.presenter", "root.page.presenter", "self.page.presenter"}


def test_every_import_contract_holds():
    command = Path(sys.executable).with_name("lint-imports")

    done = subprocess.run(
        [command, "--no-cache"], cwd=REPOSITORY, capture_output=True, text=True, timeout=120
    )  # fmt: skip

    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def test_commands_without_a_window_load_no_window_and_no_number_library(tmp_path):
    counts = tmp_path / "counts.csv"
    counts.write_text("station,checked,nok\nMoulding,20,0\nLeak test,20,9\n", encoding="utf-8")
    program = (
        "import sys\n"
        "from walkapp.cli import main\n"
        "statuses = [main(['validate']), main(['locate', sys.argv[1]])]\n"
        "heavy = {'kivy', 'matplotlib', 'numpy', 'scipy', 'pandas'} & set(sys.modules)\n"
        "sys.exit(f'{statuses} {sorted(heavy)}' if any(statuses) or heavy else 0)\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", program, str(counts)],
        cwd=REPOSITORY, capture_output=True, text=True, timeout=60,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr


def handlers_of(path: Path) -> list[tuple[int, str]]:
    """Give line number and code of every handler in a layout."""
    lines = path.read_text(encoding="utf-8").splitlines()
    found = [(number, HANDLER.match(line)) for number, line in enumerate(lines, start=1)]
    return [(number, match[2].strip()) for number, match in found if match]


def is_simple(code: str) -> bool:
    """Say whether a handler is one call without further calls in it, or sets one property."""
    try:
        body = ast.parse(code).body
    except SyntaxError:
        return False
    match body:
        case [ast.Expr(value=ast.Call(func=ast.Attribute(value=receiver), args=given, keywords=[]))]:
            allowed = ast.unparse(receiver) in RECEIVERS
        case [ast.Assign(targets=[ast.Attribute(value=receiver)], value=value)]:
            allowed, given = ast.unparse(receiver) in ("root", "self"), [value]
        case _:
            return False
    plain = (ast.Constant, ast.Name, ast.Attribute, ast.Subscript, ast.UnaryOp, ast.USub, ast.Load)
    return allowed and all(isinstance(node, plain) for argument in given for node in ast.walk(argument))


def test_there_are_layouts_with_handlers_to_check():
    assert len(KV_FILES) >= 6
    assert sum(len(handlers_of(path)) for path in KV_FILES) >= 30


@pytest.mark.parametrize("path", KV_FILES, ids=lambda path: path.name)
def test_a_handler_in_a_layout_is_one_call_or_sets_one_property(path):
    wrong = [f"line {number}: {code}" for number, code in handlers_of(path) if not is_simple(code)]

    assert not wrong


def test_no_text_is_read_as_markup():
    # A text from a bundle could otherwise hide words, or draw them in the colour of the paper.
    files = [*KV_FILES, *(REPOSITORY / "walkapp").rglob("*.py")]
    found = [path.name for path in files if "markup:" in (text := path.read_text(encoding="utf-8"))
             or "markup=" in text or "MarkupLabel" in text]  # fmt: skip

    assert found == []


@pytest.mark.parametrize("path", KV_FILES, ids=lambda path: path.name)
def test_a_plain_label_shows_nothing_that_a_person_wrote(path):
    """Only signs and numbers stand in a plain ``Label``; what was written stands in a ``SeenLabel``."""
    lines = path.read_text(encoding="utf-8").splitlines()
    plain = [n for n, line in enumerate(lines) if re.match(r"\s*Label:|<\w+@Label>:", line)]
    texts = [next((line for line in lines[n:] if line.strip().startswith("text:")), "") for n in plain]

    assert not [text for text in texts if re.search(r"\.(text|detail|name|words|caption|short)\b", text)]


@pytest.mark.parametrize("path", KV_FILES, ids=lambda path: path.name)
def test_no_layout_reaches_for_the_app(path):
    lines = path.read_text(encoding="utf-8").splitlines()

    assert not [
        f"line {number}: {line}" for number, line in enumerate(lines, 1) if re.search(r"\bapp\.", line)
    ]


@pytest.mark.parametrize(
    "code",
    [
        "",
        "root.presenter.a(); root.presenter.b()",
        "root.presenter.a() if self.x else None",
        "root.presenter.a(self.b())",
        "app.stop()",
        "root.presenter.session.go(args[1])",
        "root.x = self.y + 1",
        "root.a = root.b = self.c",
    ],
)
def test_the_check_of_handlers_finds_code_that_does_more(code):
    assert not is_simple(code)
