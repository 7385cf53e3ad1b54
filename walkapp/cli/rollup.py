"""The call that asks the bundles of many plants."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable

from walkapp.actions.rollup import roll_up
from walkapp.actions.rollup_telling import (
    answer_to_csv,
    left_out_lines,
    question_lines,
    questions_to_json,
    rollup_lines,
    rollup_to_json,
    write_result,
)
from walkapp.cli.machine import now
from walkapp.cli.telling import GOOD, NEGATIVE, ProgressBar, print_json, tell
from walkapp.errors import InputError
from walkapp.language import tr, trn, whole_text
from walkapp.rollup import questions
from walkapp.visible import visible, visible_json


def run_rollup(call: argparse.Namespace) -> int:
    """Put questions to the bundles below a folder; the status says when some were left out."""
    if call.questions:
        _list_questions(as_json=call.json)
        return GOOD
    if call.folder is None:
        raise InputError(tr("Name the folder that holds the bundles of the plants."))
    if call.csv and len(call.question) != 1:
        raise InputError(tr("A CSV holds one table: name one question with --question NAME."))
    values = {"on": call.on or now().date(), "within": call.within}
    with ProgressBar(sys.stderr, tr("rolling up")) as bar:
        found = roll_up(
            call.folder,
            call.question,
            values=values,
            check_hashes=not call.no_hash_check,
            progress=bar.show,
        )
    if call.csv:
        data = answer_to_csv(found.answers[0])
        _warn([*(tr("Caution: {one}", one=one) for one in found.cautions), *left_out_lines(found)])
    elif call.json:
        data = f"{visible_json(json.dumps(rollup_to_json(found), ensure_ascii=False, indent=2))}\n".encode()
    else:
        data = "".join(f"{visible(line)}\n" for line in rollup_lines(found)).encode()
    if call.out is not None:
        write_result(call.out, data)
        tell(
            [
                trn(
                    "{out}: {data} bytes, of {count} bundle.",
                    "{out}: {data} bytes, of {count} bundles.",
                    found.bundles,
                    out=call.out,
                    data=whole_text(len(data)),
                )
            ]
        )
        if not call.csv:
            _warn(left_out_lines(found))
    else:
        lines = data.decode("utf-8").splitlines() if call.csv else data.decode("utf-8").split("\n")[:-1]
        tell(lines) if sys.stdout.isatty() else print("\n".join(lines))
    return NEGATIVE if found.left_out else GOOD


def _list_questions(*, as_json: bool) -> None:
    if as_json:
        print_json(questions_to_json(questions().values()))
    else:
        tell(question_lines(questions().values()))


def _warn(lines: Iterable[str]) -> None:
    for line in lines:
        sys.stderr.write(f"{visible(line)}\n")
