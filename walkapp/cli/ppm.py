"""The calls on deliveries: what came back of a million parts, and reading deliveries from a table."""

from __future__ import annotations

import argparse
import itertools

from walkapp.actions.days import today
from walkapp.actions.deliveries_tables import load_deliveries, plan_import, plan_lines
from walkapp.actions.desk import desk_facts, desk_streams
from walkapp.actions.ppm import ppm_of
from walkapp.actions.ppm_json import ppm_to_json
from walkapp.actions.ppm_telling import ppm_lines
from walkapp.actions.reading import all_concerns
from walkapp.cli.machine import default_checklists
from walkapp.cli.records import open_workplace
from walkapp.cli.telling import GOOD, NEGATIVE, print_json, tell
from walkapp.language import tr


def run_ppm(call: argparse.Namespace) -> int:
    """Tell the ppm of a stream, or of all streams; the status says whether there is one at all."""
    folder = call.checklists or default_checklists()
    with open_workplace(call.store, folder, writable=False) as place:
        concerns = all_concerns(place)
        streams = (call.stream,) if call.stream else desk_streams(place, concerns)
        found = [
            ppm_of(
                desk_facts(place, stream, concerns),
                today(place),
                part_number=call.part_number,
                months=call.months,
            )
            for stream in streams
        ]
        told = [one for one in found if call.stream or one.has_records]
        if call.json:
            print_json([ppm_to_json(one, call.target) for one in told])
        elif told:
            lines = (("", *ppm_lines(one, call.target)) for one in told)
            tell(itertools.islice(itertools.chain.from_iterable(lines), 1, None))
        else:
            tell([tr("No deliveries and no concerns are recorded here yet.")])
    return GOOD if any(one.year and one.year.rate for one in told) else NEGATIVE


def run_deliveries(call: argparse.Namespace) -> int:
    """Read the deliveries of a stream from a table, or only say what that would do."""
    folder = call.checklists or default_checklists()
    with open_workplace(call.store, folder, writable=not call.dry_run) as place:
        facts = desk_facts(place, call.stream)
        plan = plan_import(facts, call.table, today(place))
        if not call.dry_run:
            load_deliveries(place, facts, plan)
    values = {"table": call.table, "counted": plan.counted}
    would = (
        tr("{table}: nothing is recorded yet; reading it {counted}.", **values)
        if call.dry_run
        else tr("{table}: recorded; it {counted}.", **values)
    )
    tell([would, *plan_lines(plan)])
    return GOOD
