"""``python -m tests.benchmarks.search``: searching many records, against reading every text.

Makes an invented store in which every record but the concerns has typed words, builds the index, and asks
many questions: common and rare words, beginnings of one and two letters, several words, words that are
nowhere. Prints the time of a question (as the search page waits for it, with the look whether all is
current), the time and memory of the build, and, in the same run, two peers on the same records: a plain
scan over the folded texts in memory, and a scan of the journals' bytes as ``grep`` does it.
"""

from __future__ import annotations

import argparse
import itertools
import random
import resource
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from statistics import median, quantiles

from tests.builders import SteppingClock, id_maker
from tests.fakes import CHECKLISTS, SAID
from tests.store.support import HastyDisk
from walkapp.actions.searching import Finder
from walkapp.actions.workplace import Workplace
from walkapp.model.records import Action, ChangePoint, Concern, Lesson, Note, WalkStart
from walkapp.search import asked_words
from walkapp.store import Store

SYLLABLES = (
    "ka", "le", "mo", "ri", "schwei", "ßen", "tor", "pin", "gau", "ge", "ö", "kel", "ban", "dix", "fe",
    "lo", "nu", "sa", "ver", "wa", "zy", "plat", "te", "rü", "cken",
)  # fmt: skip
COMMON = (
    "clamp", "pad", "seam", "ear", "crack", "whitened", "since", "night", "shift", "nest", "lot", "changed",
    "cavity", "checked", "harder", "part", "line", "oven", "heiß", "leak",
)  # fmt: skip
STATIONS = ("moulding", "degating", "welding", "leak-test", "pump-assembly", "packing")


class Writer:
    """Invented words: one in three from a few common ones, the others from 20,000."""

    def __init__(self, seed: int = 20260302) -> None:
        self.chance = random.Random(seed)
        self.rare = [
            "".join(self.chance.choices(SYLLABLES, k=self.chance.randrange(2, 5))) for _ in range(20_000)
        ]

    def words(self, count: int) -> str:
        chance = self.chance
        return " ".join(
            chance.choice(COMMON if chance.random() < 1 / 3 else self.rare) for _ in range(count)
        )


def fill(folder: Path, records: int, concerns: int) -> None:
    """Make the store; not waiting for the disk."""
    writer, clock, new_id = Writer(), SteppingClock(), id_maker()
    store = Store(folder, now=clock, new_id=new_id, app="benchmark", disk=HastyDisk())
    with store:
        place = Workplace(store=store, checklists=CHECKLISTS, now=clock, new_id=new_id, by="QE-RT")
        digest = place.keep_checklist(SAID["stream"])
        for number in range(concerns):
            concern, walk = new_id(), new_id()
            begun = {"stream": SAID["stream"], "concern": concern}
            place.add(Concern, **{**SAID, **begun, "id": concern, "what": f"Concern {number} (invented)"})
            place.add(WalkStart, **begun, id=walk, walk=walk, checklist=digest, direction="down")
            place.add_all([entry(writer, n, concern, walk) for n in range(records // concerns)])


def entry(writer: Writer, number: int, concern: str, walk: str):
    """Make one record with words; most are notes of a walk."""
    station = {"station": writer.chance.choice(STATIONS)}
    in_walk = {"concern": concern, "walk": walk, **station}
    match number % 10:
        case 0:
            return Lesson, {"concern": concern, "worked": writer.words(20), "to_change": writer.words(15)}
        case 1:
            said = {"action": concern, "aim": "corrective", "what": writer.words(8), "due_on": "2026-04-01"}
            return Action, {"concern": concern, **station, **said, "owner": "TL-AH"}
        case 2:
            said = {"what": writer.words(6), "change": "machine", "customer_told": "no", "changed_on": ""}
            return ChangePoint, {**in_walk, **said, "reason": writer.words(4)}
        case _:
            return Note, {**in_walk, "words": writer.words(writer.chance.randrange(3, 25))}


def questions(count: int) -> dict[str, list[str]]:
    """Give questions of each sort."""
    writer = Writer()
    rare, chance = writer.rare, random.Random(7)
    every = count // 6
    return {
        "one common word": [chance.choice(COMMON) for _ in range(every)],
        "one rare word": [chance.choice(rare) for _ in range(every)],
        "one letter": [chance.choice("abcdefghiklmnoprstvwz") for _ in range(every)],
        "two letters": [chance.choice(rare)[:2] for _ in range(every)],
        "three words": [" ".join(chance.choices(COMMON, k=3)) for _ in range(every)],
        "nowhere": [f"qx{chance.randrange(10**6)}" for _ in range(every)],
    }


def timed(call: Callable[[], object]) -> float:
    begin = time.perf_counter()
    call()
    return 1000 * (time.perf_counter() - begin)


def tell(name: str, milliseconds: list[float]) -> None:
    """Print the middle, the 95 % and the longest."""
    high = quantiles(milliseconds, n=20)[18] if len(milliseconds) > 1 else milliseconds[0]
    print(f"{name:<34} median {median(milliseconds):7.2f} ms, 95 % below {high:7.2f} ms, "
          f"longest {max(milliseconds):7.2f} ms ({len(milliseconds)})")  # fmt: skip


def main() -> int:
    """Fill, build, ask, and tell."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.search", description=__doc__.split("\n")[0]
    )
    parser.add_argument("--records", type=int, default=100_000, help="records (default %(default)s)")
    parser.add_argument("--concerns", type=int, default=40, help="concerns (default %(default)s)")
    parser.add_argument("--questions", type=int, default=1_200, help="questions (default %(default)s)")
    call = parser.parse_args()
    with tempfile.TemporaryDirectory() as root:
        folder = Path(root) / "store"
        fill(folder, call.records, call.concerns)
        clock, new_id = SteppingClock(), id_maker(1)
        store = Store(folder, now=clock, new_id=new_id, app="benchmark", disk=HastyDisk())
        with store:
            place = Workplace(store=store, checklists=CHECKLISTS, now=clock, new_id=new_id, by="QE-RT")
            records = sum(1 for concern in store.concerns() for scope in (concern, *store.walks(concern))
                          for _ in store.records(scope))  # fmt: skip
            size = sum(path.stat().st_size for path in journals(folder))
            print(f"{records} records, {size / 2**20:.1f} MB of journals")
            finder, before = Finder(place), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
            pieces = []
            update = finder.begin_update()
            begin = time.perf_counter()
            while True:
                started = time.perf_counter()
                has_more = update.step()
                pieces.append(time.perf_counter() - started)
                if not has_more:
                    break
            grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
            print(
                f"built and written in {time.perf_counter() - begin:.1f} s, longest piece "
                f"{max(pieces):.2f} s; file {store.search_file.stat().st_size / 2**20:.1f} MB; peak memory "
                f"grew by {grown:.0f} MB"
            )
            finder.close()
            first = timed(lambda: finder.find("pad"))
            print(f"first question after a start, index read from its file: {first:.0f} ms")
            asked = questions(call.questions)
            everything = list(itertools.chain.from_iterable(asked.values()))
            finder.find("warm")
            all_ms = []
            for name, some in asked.items():
                spent = [timed(lambda one=one: finder.find(one)) for one in some]
                all_ms += spent
                tell(name, spent)
            tell("all questions", all_ms)
            with_plain(place, everything, all_ms)
            with_grep(folder, everything, all_ms)
            one_more(place, finder)
    return 0


def with_plain(place: Workplace, everything: list[str], all_ms: list[float]) -> None:
    """The same questions with a scan over the folded texts in memory; the same must be found."""
    plain, finder = Finder(place, with_fts=False), Finder(place)
    plain.update()
    sample = everything[:: max(1, len(everything) // 120)]
    for one in sample:
        assert plain.find(one).total == finder.find(one).total, one
    spent = [timed(lambda one=one: plain.find(one)) for one in sample]
    tell("peer: plain scan in memory", spent)
    print(f"    ratio of the medians, index to plain scan: {median(all_ms) / median(spent):.3f}")


def journals(folder: Path) -> list[Path]:
    return sorted((folder / "journals").rglob("*.journal"))


def with_grep(folder: Path, everything: list[str], all_ms: list[float]) -> None:
    """Read every byte of the journals and look for the lines that have the words, accents and all."""

    def scan(question: str) -> int:
        words = [word.encode() for word in asked_words(question)[0]]
        return sum(
            all(word in line for word in words)
            for path in journals(folder)
            for line in path.read_bytes().lower().split(b"\n")
        )

    spent = [timed(lambda one=one: scan(one)) for one in everything[:: max(1, len(everything) // 12)]]
    tell("peer: scan of the journals", spent)
    print(f"    ratio of the medians, index to scan: {median(all_ms) / median(spent):.4f}")


def one_more(place: Workplace, finder: Finder) -> None:
    """Bring the index up to date after one more record."""
    concern = place.store.concerns()[0]
    place.add(Lesson, concern=concern, worked="Onemoreword")
    print(f"up to date after one more record: {timed(finder.update):.0f} ms")
    assert finder.find("onemoreword").total == 1
    tracemalloc.start()
    finder.find("pad")
    print(f"memory that one question takes: {tracemalloc.get_traced_memory()[1] / 2**10:.0f} kB")


if __name__ == "__main__":
    raise SystemExit(main())
