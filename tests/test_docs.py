"""The README says what the program does, and the repository holds what was agreed."""

from __future__ import annotations

import argparse
import re
import subprocess
from pathlib import Path

import pytest

from walkapp.checklists import load_streams
from walkapp.cli import main
from walkapp.cli.commands import build_parser

REPOSITORY = Path(__file__).resolve().parent.parent
README = (REPOSITORY / "README.md").read_text(encoding="utf-8")
CHECKLISTS = REPOSITORY / "checklists"
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "walkapp", "tests", "checklists", "demo"}
OPTION = re.compile(r"--[a-z][a-z-]*")


def options_of(parser: argparse.ArgumentParser) -> set[str]:
    """Give the options of one call, without the help that every call has."""
    return {name for action in parser._actions for name in action.option_strings} - {"-h", "--help"}


def commands() -> dict[str, argparse.ArgumentParser]:
    (calls,) = (a for a in build_parser()._actions if isinstance(a, argparse._SubParsersAction))
    return dict(calls.choices)


def section(title: str) -> str:
    return README.split(f"\n## {title}\n")[1].split("\n## ")[0]


def row_of(call: str) -> str:
    """Give the row of the table of commands that begins with a call."""
    rows = [line for line in section("Every command").splitlines() if re.match(rf"\| `{call}[` ]", line)]
    return "\n".join(rows)


def test_the_first_paragraph_says_what_it_is_for():
    first = README.split("\n\n")[1]

    assert "first station at which the defect appears" in first


@pytest.mark.parametrize("command", sorted(commands()))
def test_the_readme_names_every_option_of_a_command(command):
    row = row_of(f"walkapp {command}")

    assert row, "the command has no row"
    assert options_of(commands()[command]) <= set(OPTION.findall(row))


def test_the_readme_names_every_option_of_the_call_without_a_command():
    assert options_of(build_parser()) <= set(OPTION.findall(section("Every command")))


def test_the_readme_names_no_command_or_option_that_is_not_there():
    told = section("Every command")
    known = set().union(*(options_of(parser) for parser in (build_parser(), *commands().values())))

    assert set(OPTION.findall(told)) <= known
    assert set(re.findall(r"`walkapp ([a-z]+)", told)) == set(commands())


def test_the_example_of_the_readme_prints_what_the_readme_says(tmp_path, capsys):
    printed = re.search(r"\$ printf '(.+)' > counts\.csv\n\$ walkapp locate counts\.csv\n(.+)\n", README)
    counts = tmp_path / "counts.csv"
    counts.write_text(printed[1].replace(r"\n", "\n"), encoding="utf-8")

    assert main(["locate", str(counts)]) == 0

    assert capsys.readouterr().out.splitlines()[0] == printed[2]


def test_every_file_that_the_readme_links_to_is_there():
    links = re.findall(r"\]\((?!https?:)([^)#]+)", README)

    assert not [link for link in links if not (REPOSITORY / link).exists()]


def test_every_folder_of_checklists_loads():
    folders = {folder.name for folder in CHECKLISTS.iterdir() if folder.is_dir()}

    assert {stream.id for stream in load_streams(CHECKLISTS)} == folders
    assert folders


@pytest.mark.skipif(not (REPOSITORY / ".git").exists(), reason="only a checkout knows its own files")
def test_the_top_of_the_repository_holds_what_was_agreed():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=REPOSITORY, capture_output=True, text=True, check=True
    ).stdout.splitlines()  # fmt: skip

    top = {name.split("/")[0] for name in listed}

    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL
