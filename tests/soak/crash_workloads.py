"""What is going on when the program or the power stops: each kind of writing that the store does.

The only files that are ever rewritten are ``store.json``, ``place.json`` and the index for searching,
which is a cache; journals grow, photos, checklists and merges appear whole.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.bundle.samples import sample_photos, write_sample
from tests.soak.crash_hand import BUNDLE, CHECKLISTS, PICTURES, Hand, Ledger
from tests.store.support import (
    DEVICE,
    OTHER_DEVICE,
    OTHER_WALK,
    WALK,
    HastyDisk,
    concern,
    make_id,
    note,
    open_store,
    own_journal,
    walk_start,
)
from walkapp.model.records import Record

NEW_WALK = make_id(4)
Make = Callable[..., Record]
Step = Callable[[Hand], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Workload:
    """One kind of work, step by step.

    Parameters
    ----------
    name
        What to call it in the table.
    steps
        What is done; after a stop the app is started again and goes on with the step under way.
    prepare
        Makes what is on the medium before, in a root that is there, and says what was promised.
    """

    name: str
    steps: tuple[Step, ...]
    prepare: Callable[[Path], Ledger]
    needs_store: bool = True


def say(words: str, walk: str = WALK) -> Make:
    """A note of a walk."""
    return lambda number, key: note(number, words, walk=walk, key=key)


def save(*makes: Make) -> Step:
    """Save records in one call."""
    return lambda hand: hand.save(*makes)


def failing(*steps: str) -> Step:
    """Let coming operations fail, see :meth:`Hand.break_next`."""
    return lambda hand: hand.break_next(*steps)


def nothing(root: Path) -> Ledger:
    """No store yet."""
    (root / "out").mkdir()
    return Ledger()


def two_walks(root: Path) -> Ledger:
    """A store with two walks whose journals are alike, byte for byte, but for ids and words."""
    nothing(root)
    records = [
        concern(1),
        walk_start(2),
        walk_start(3, key=3, walk=OTHER_WALK),
        *(
            note(number, f"{'one' if number % 2 else 'two'} of station {number:02}",
                 walk=WALK if number % 2 else OTHER_WALK)
            for number in range(4, 8)
        ),
    ]  # fmt: skip
    with open_store(root / "store", disk=HastyDisk()) as store:
        for record in records:
            store.append(record)
        store.remember({"by": "QE-AB"})
    return Ledger(
        promised=set(records), tried=set(records), device=DEVICE, places=[{"by": "QE-AB"}]
    )  # fmt: skip


def torn_ends(root: Path) -> Ledger:
    """Two walks whose journals end in rubbish, a third of which only rubbish is there."""
    ledger = two_walks(root)
    for walk, rubbish in (
        (WALK, b'1234abcd {"kind":"note","words":"half a li'),
        (OTHER_WALK, bytes(300) + b"\n12345678 {}\n" + b"\xff" * 400),
        (NEW_WALK, b"no header\n\0\0\0"),
    ):
        with own_journal(root / "store", walk).open("ab") as file:
            file.write(rubbish)
    return ledger


def old_bundle(root: Path) -> Ledger:
    """No store, but a bundle under the name that will be written."""
    nothing(root)
    pictures = root / "pictures"
    pictures.mkdir()
    write_sample(root / BUNDLE, photos=sample_photos(pictures), disk=HastyDisk())
    new = (root / BUNDLE).read_bytes()
    shutil.rmtree(pictures)
    (root / BUNDLE).write_bytes(b"an older bundle " * 40)
    return Ledger(bundles=[b"an older bundle " * 40, new])


def _others(first: int, *, device: str = OTHER_DEVICE) -> list[Record]:
    walks = (WALK, OTHER_WALK, NEW_WALK)
    return [
        note(first + n, f"from afar {first + n:03}", device=device, key=5000 + first + n, walk=walks[n % 3])
        for n in range(5)
    ]


_ONE, _TWO = sorted(PICTURES)
_FIRST, _SECOND = sorted(CHECKLISTS)

WORKLOADS = (
    Workload(
        name="first records of a store and of a walk",
        prepare=nothing,
        steps=(
            save(lambda number, key: concern(number, key=1)),
            save(lambda number, key: walk_start(number, key=key)),
            save(say("pads look new")),
            save(say("pads look worn")),
        ),
    ),
    Workload(
        name="later records",
        prepare=two_walks,
        steps=(
            save(say("third bay, warm")),
            save(say("third bay, cold", OTHER_WALK)),
            save(say("a longer one " * 60)),
            save(say("another walk", NEW_WALK)),
            save(say("and back again")),
        ),
    ),
    Workload(
        name="several journals at once",
        prepare=two_walks,
        steps=(
            save(say("of this"), say("of that", OTHER_WALK), say("of this too")),
            failing("-sync", "sync", "-sync", "sync"),
            save(say("undone here"), say("undone there", OTHER_WALK), say("undone too", NEW_WALK)),
            save(say("said there", OTHER_WALK), say("said here")),
            save(say("the end")),
        ),
    ),
    Workload(
        name="next journal after a failure",
        prepare=two_walks,
        steps=(
            failing("sync"),
            save(say("first try fails")),
            failing("sync", "sync", "sync", "sync"),
            save(say("refused")),
            save(say("with its number", OTHER_WALK)),
            failing("write", "truncate", "write", "truncate"),
            save(say("cannot be taken back")),
            save(say("instead of it")),
            failing("sync", "sync"),
            save(say("first of its walk, refused", NEW_WALK)),
            save(say("another with its number", OTHER_WALK)),
            save(say("the walk after all", NEW_WALK)),
        ),
    ),
    Workload(
        name="rewriting store.json",
        prepare=two_walks,
        steps=(
            lambda hand: hand.merge(_others(20, device=DEVICE)),
            save(say("counted on")),
            lambda hand: hand.merge(_others(40, device=DEVICE)),
            save(say("and on", OTHER_WALK)),
        ),
    ),
    Workload(
        name="rewriting place.json",
        prepare=two_walks,
        steps=(
            lambda hand: hand.remember(by="QE-AB", station="welding"),
            save(say("pads look new")),
            lambda hand: hand.remember(by="QE-AB", station="leak-test", draft="x" * 700),
            lambda hand: hand.remember(by="QE-CD"),
        ),
    ),
    Workload(
        name="rewriting the index for searching",
        prepare=two_walks,
        steps=(
            lambda hand: hand.keep_index("one"),
            save(say("pads look new")),
            failing("write", "write"),
            lambda hand: hand.keep_index("two"),
            save(say("pads look worn")),
        ),
    ),
    Workload(
        name="taking photos in",
        prepare=two_walks,
        steps=(
            lambda hand: hand.take_photo(_ONE),
            lambda hand: hand.take_photo(_TWO, OTHER_WALK),
            lambda hand: hand.take_photo(_ONE),
            save(say("as in the pictures")),
        ),
    ),
    Workload(
        name="keeping checklists",
        prepare=two_walks,
        steps=(
            lambda hand: hand.keep_checklist(_FIRST),
            lambda hand: hand.keep_checklist(_SECOND),
            lambda hand: hand.keep_checklist(_FIRST),
            save(say("by the list")),
        ),
    ),
    Workload(
        name="merging",
        prepare=two_walks,
        steps=(
            lambda hand: hand.merge(_others(100), with_files=True),
            save(say("after the merge")),
            lambda hand: hand.merge(_others(200)),
            lambda hand: hand.merge(_others(100)),
        ),
    ),
    Workload(
        name="recovery at opening",
        prepare=torn_ends,
        steps=(
            save(say("made again")),
            save(say("made again too", OTHER_WALK)),
            lambda hand: (hand.leave(), hand.open()),
            save(say("the walk begins", NEW_WALK)),
        ),
    ),
    Workload(name="writing a bundle", prepare=old_bundle, needs_store=False, steps=(Hand.write_bundle,)),
)
