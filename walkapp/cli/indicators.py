"""The call that tells how the success factors of value streams stand."""

from __future__ import annotations

import argparse
import itertools

from walkapp.actions.desk import desk_facts, desk_streams
from walkapp.actions.indicators.board import indicator_board
from walkapp.actions.indicators.factors import factors_of
from walkapp.actions.indicators.telling import board_lines, board_to_json
from walkapp.actions.reading import all_concerns
from walkapp.analysis.indicators.words import NOTES
from walkapp.cli.machine import default_checklists
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, NEGATIVE, print_json, tell
from walkapp.language import tr


def run_indicators(call: argparse.Namespace) -> int:
    """Tell the success factors of a stream, or of every stream that has some, a sentence each.

    Returns
    -------
    int
        Good only when factors are stated and each is shown to be on target.
    """
    folder = call.checklists or default_checklists()
    with open_workplace(call.store, folder, writable=False) as place:
        concerns = all_concerns(place)
        streams = (call.stream,) if call.stream else desk_streams(place, concerns)
        desks = [desk_facts(place, stream, concerns) for stream in streams]
        wanted = [desk for desk in desks if factors_of(desk)] or desks
        boards = [indicator_board(place, desk, call.on) for desk in wanted]
    if call.json:
        print_json([board_to_json(board) for board in boards])
    else:
        told = (("", *board_lines(board)) for board in boards)
        tell([*itertools.islice(itertools.chain.from_iterable(told), 1, None), "", *map(tr, NOTES)])
    return GOOD if boards and all(board.are_all_on_target for board in boards) else NEGATIVE
