"""The places of the tour that show what is done about a concern."""

from __future__ import annotations

from dataclasses import replace

from walkapp.actions.acting import actions_of
from walkapp.actions.confirmations import confirmations_of
from walkapp.actions.containment import containment_of
from walkapp.actions.days import today
from walkapp.actions.parts_followed import followed_of
from walkapp.actions.reading import concern_facts
from walkapp.actions.trials import trials_of
from walkapp.actions.workplace import Workplace
from walkapp.model.records import ChangePoint
from walkapp.presenters.route import Route

PLAIN = (
    "stages", "judging", "limit_ok", "correct_concern", "told", "trials", "new_trial",
    "confirmations", "new_confirmation", "containment", "suspect_range", "suspect_stock", "clean_point",
    "escape", "actions", "new_action",
)  # fmt: skip
"""Places that are about the concern as a whole."""

OF_ENTRY = {
    "change_point": ("change_point", "correct_change"),
    "trial": ("trial", "trial_run", "trial_result"),
    "confirmation": ("confirmation", "confirmation_turn"),
    "stock": ("stock", "correct_stock", "take_out_stock", "sorting"),
    "action": ("action", "correct_action", "action_done", "effect_check", "watch_question", "evidence"),
}
"""Places that are about one entry, by what the entry is."""


def fix_routes(place: Workplace, concern: str) -> dict[str, Route]:
    """Name every such place, on the records as they are.

    Parameters
    ----------
    place
        Where the records are: all of the demo's.
    concern
        Id of the demo's concern.
    """
    facts = concern_facts(place, concern)
    entries = {
        "change_point": next(r.id for r in facts.standing.current if isinstance(r, ChangePoint)),
        "trial": trials_of(facts)[-1].trial.id,
        "confirmation": confirmations_of(facts)[-1].record.id,
        "stock": containment_of(place, facts).stocks[0].stock.stock,
        "action": next(a.id for a in actions_of(facts, today(place)) if a.action.aim == "corrective"),
    }
    plain = {name: Route(screen=name, concern=concern) for name in PLAIN}
    about = {
        name.replace("_", "-"): Route(screen=name.replace("-", "_"), concern=concern, entry=entries[kind])
        for kind, names in OF_ENTRY.items()
        for name in names
    }
    for name in ("trial-run", "confirmation-turn"):
        about[name] = replace(about[name], number="1")
    late = actions_of(facts, today(place))[0]
    return {
        "part-followed": Route(
            screen="followed_part", concern=concern, entry=followed_of(facts).parts[0].key
        ),
        **{name.replace("_", "-"): route for name, route in plain.items()},
        **about,
        "action-overdue": Route(screen="action", concern=concern, entry=late.id),
    }
