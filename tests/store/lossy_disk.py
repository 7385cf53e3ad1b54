"""A model of the disk: what may be left of a folder when the program or the power stops.

:class:`LossyDisk` does the real operations below one folder and keeps beside them what the system has
promised. From that it builds *crash states*: every content of the folder that a next start may find.

What is promised, and no more:

* when a file's ``sync`` has returned, its bytes and its length are on the medium, but not its name;
* when a folder's ``sync`` has returned, the names in it are, but neither the content of the files nor
  the folder's own name;
* everything else may have reached the medium or not, in any order: each name alone, each 512-byte
  sector alone, whole, not at all or up to any byte; a file may have its old length, its new one or one
  between, and holds zeros, noise or what another file held where its own bytes did not arrive;
* renaming is one step for the new name (the old target or the new one, never nothing), but the old
  name may still be there, or be gone before the new one is there;
* after a failed ``sync`` the bytes that waited may be lost for good although later ones succeed
  (PostgreSQL wiki, "Fsync Errors"). A folder whose ``sync`` failed just keeps waiting: file systems
  write names through a log of their own that stops as a whole (our assumption);
* bytes that are the same before and after a change are not hurt by it, even in a torn sector (our
  assumption; a medium that destroys a sector while writing it is not in the model).

That programs lose data by assuming order, appends in one piece, or names without a folder's sync, is
the finding of Pillai and others (OSDI 2014; read as an abstract). The rules above are our own reading.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from random import Random
from typing import Literal

from tests.store.support import FailingDisk
from walkapp.files import Disk

SECTOR_BYTES = 512

Tree = dict[str, bytes | None]
"""A crash state: content by path from the root, ``None`` for a folder; sorted by path."""

Choice = Literal["old", "new", "any"]


class Stopped(BaseException):
    """The program was stopped here: nothing of it runs any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """What reached the medium of all that was not synced.

    Parameters
    ----------
    names, lengths, sectors
        The oldest that is possible, the newest, or any, drawn anew for each.
    fill
        What stands where a file is longer than what arrived of it.
    """

    names: Choice = "any"
    lengths: Choice = "any"
    sectors: Choice = "any"
    fill: Literal["zeros", "noise", "stale", "any"] = "any"


EVERYTHING = Arrival(names="new", lengths="new", sectors="new", fill="zeros")
"""The program stopped, the system did not: all that was done is there."""
NOTHING = Arrival(names="old", lengths="old", sectors="old", fill="zeros")
ANYTHING = Arrival()
MIXED = Arrival(names="new", lengths="new", sectors="any", fill="stale")
"""Lines of which a part arrived and the rest is what another file held there."""
EXTREMES = (
    NOTHING,
    Arrival(names="new", lengths="old", sectors="old", fill="zeros"),  # only the names
    Arrival(names="old", lengths="new", sectors="new", fill="zeros"),  # only the data
    Arrival(names="new", lengths="new", sectors="old", fill="zeros"),
    Arrival(names="new", lengths="new", sectors="old", fill="noise"),
    Arrival(names="new", lengths="new", sectors="old", fill="stale"),
)
"""Power cuts at the ends of what is possible."""


@dataclass(slots=True, eq=False)
class File:
    """One file: what is certain of it, and its contents since then, oldest first."""

    settled: bytes = b""
    later: list[bytes] = field(default_factory=list)
    doubt: dict[int, list[bytes]] = field(default_factory=dict)
    doubted_lengths: list[int] = field(default_factory=list)
    cut_off: bytes = b""

    @property
    def now(self) -> bytes:
        """What a running program reads."""
        return self.later[-1] if self.later else self.settled

    def change(self, content: bytes) -> None:
        """Take a change into account that is not synced yet."""
        if len(content) < len(self.now):
            self.cut_off = self.now
        self.later.append(content)

    def settle(self) -> None:
        """A sync has returned: what was changed since the last one is certain now."""
        for sector in self._changed():
            self.doubt.pop(sector, None)
        if any(len(content) != len(self.settled) for content in self.later):
            self.doubted_lengths.clear()
        self.settled, self.later = self.now, []

    def doubt_all(self) -> None:
        """A sync has failed: what waited may be lost, and no later sync asks for it again."""
        for sector in self._changed():
            self.doubt[sector] = self.candidates(sector)
        if any(len(content) != len(self.settled) for content in self.later):
            self.doubted_lengths = self.lengths()
        self.settled, self.later = self.now, []

    def candidates(self, sector: int) -> list[bytes]:
        """What may stand in a sector, oldest first; short where the file ended in it."""
        at = slice(sector * SECTOR_BYTES, (sector + 1) * SECTOR_BYTES)
        found = [*self.doubt.get(sector, ()), *(content[at] for content in (self.settled, *self.later))]
        return list(dict.fromkeys(found))

    def lengths(self) -> list[int]:
        """Lengths that the file may have, oldest first."""
        found = [*self.doubted_lengths, *(len(content) for content in (self.settled, *self.later))]
        return list(dict.fromkeys(found))

    def is_certain(self) -> bool:
        """Whether there is only one content that a next start can find."""
        return not self.later and not self.doubt and not self.doubted_lengths

    def _changed(self) -> Iterator[int]:
        contents = (self.settled, *self.later)
        for sector in range(-(-max(map(len, contents)) // SECTOR_BYTES)):
            at = slice(sector * SECTOR_BYTES, (sector + 1) * SECTOR_BYTES)
            if len({content[at] for content in contents}) > 1:
                yield sector


@dataclass(slots=True, eq=False)
class Folder:
    """One folder: the names that are certain, and what each name has stood for since then."""

    settled: dict[str, File | Folder] = field(default_factory=dict)
    now: dict[str, File | Folder] = field(default_factory=dict)
    later: dict[str, list[File | Folder | None]] = field(default_factory=dict)

    def put(self, name: str, node: File | Folder | None) -> None:
        """Give a name to a file or folder, or take the name away."""
        self.later.setdefault(name, [self.settled.get(name)]).append(node)
        if node is None:
            self.now.pop(name, None)
        else:
            self.now[name] = node

    def settle(self) -> None:
        """A sync has returned: the names are certain now."""
        self.settled = dict(self.now)
        self.later.clear()

    def candidates(self) -> Iterator[tuple[str, list[File | Folder | None]]]:
        """Each name with what it may stand for, oldest first."""
        for name in sorted({*self.settled, *self.later}):
            yield name, self.later.get(name) or [self.settled[name]]


class LossyDisk(FailingDisk):
    """Does the operations below `root` and knows what of them would outlive a crash.

    Parameters
    ----------
    root
        A folder; what is in it now counts as being on the medium. Nothing outside may be changed.
    on_point
        Called with the name of the operation and ``False`` after each operation, also after one that
        failed; with ``True`` after each byte of a write that is still under way. Build crash states
        there.
    fails, halves
        Which operations fail, as for :class:`FailingDisk`.

    Notes
    -----
    Files that are made without this disk, as the lock is, are not seen and are in no crash state.
    """

    def __init__(
        self,
        root: Path,
        on_point: Callable[[str, bool], None] = lambda name, is_partial: None,
        fails: Callable[[str, int], int | None] = lambda name, count: None,
        *,
        halves: bool = False,
    ) -> None:
        super().__init__(fails, halves=halves)
        self._root = root
        self._on_point = on_point
        self._folder = _adopt(root)
        self._open: dict[int, File] = {}
        self._is_stopped = False
        self.stop_at: int | None = None
        self.stop_in_write = 0.0

    # The operations of a disk

    def open_append(self, path: Path) -> int:
        return self._opened("open_append", path, partial(Disk.open_append, self))

    def create(self, path: Path) -> int:
        return self._opened("create", path, partial(Disk.create, self))

    def create_private(self, path: Path) -> int:
        return self._opened("create_private", path, partial(Disk.create_private, self))

    def write(self, file: int, data: bytes) -> int:
        node = self._open[file]
        before = node.now
        start = os.lseek(file, 0, os.SEEK_CUR) if not self._appends(file) else len(before)
        try:
            self._step("write")
        except OSError:
            if self._halves:
                self._put(file, node, start, data[: len(data) // 2])
            self._on_point("write", False)
            raise
        except Stopped:
            self._put(file, node, start, data[: int(len(data) * self.stop_in_write)])
            raise
        for size in range(1, len(data)):
            node.change(_over(before, start, data[:size]))
            self._on_point("write", True)
            node.later.pop()
        self._put(file, node, start, data)
        self._on_point("write", False)
        return len(data)

    def sync(self, file: int) -> None:
        # The real file is only ever read by this machine, which does not lose power: nothing to wait for.
        try:
            self._step("sync")
        except OSError:
            self._open[file].doubt_all()
            self._on_point("sync", False)
            raise
        self._open[file].settle()
        self._on_point("sync", False)

    def truncate(self, file: int, size_bytes: int) -> None:
        self._begin("truncate")
        Disk.truncate(self, file, size_bytes)
        self._open[file].change(self._open[file].now[:size_bytes])
        self._on_point("truncate", False)

    def close(self, file: int) -> None:
        self._open.pop(file, None)
        super().close(file)

    def rename(self, source: Path, target: Path) -> None:
        self._begin("rename")
        Disk.rename(self, source, target)
        node = self._at(source.parent).now[source.name]
        self._at(target.parent).put(target.name, node)
        self._at(source.parent).put(source.name, None)
        self._on_point("rename", False)

    def remove(self, path: Path) -> None:
        self._begin("remove")
        Disk.remove(self, path)
        self._at(path.parent).put(path.name, None)
        self._on_point("remove", False)

    def make_folder(self, path: Path) -> None:
        self._begin("make_folder")
        Disk.make_folder(self, path)
        self._at(path.parent).put(path.name, Folder())
        self._on_point("make_folder", False)

    def sync_folder(self, path: Path) -> None:
        self._begin("sync_folder")
        if path == self._root or self._root in path.parents:
            self._at(path).settle()
        self._on_point("sync_folder", False)

    def reserve(self, path: Path, size_bytes: int) -> None:
        # The reserve holds nothing that is ever read: its name is enough.
        self._begin("reserve")
        path.write_bytes(b"")
        self._at(path.parent).put(path.name, File())
        self._on_point("reserve", False)

    # Stopping and looking

    def start_again(self) -> None:
        """Let a new program use the disk after :class:`Stopped`; what waited still waits."""
        self._is_stopped = False
        self.stop_at = None

    def crash_state(self, arrival: Arrival, chance: Random) -> Tree:
        """Build a content of the root that a next start may find now."""
        chosen: dict[int, bytes] = {}
        found: Tree = {}
        self._build(self._folder, "", arrival, chance, chosen, found)
        return found

    # Inside

    def _step(self, name: str) -> None:
        if self._is_stopped or (self.stop_at is not None and self.count + 1 >= self.stop_at):
            self._is_stopped = True
            raise Stopped
        super()._step(name)

    def _begin(self, name: str) -> None:
        try:
            self._step(name)
        except OSError:
            self._on_point(name, False)
            raise

    def _opened(self, name: str, path: Path, action: Callable[[Path], int]) -> int:
        self._begin(name)
        folder = self._at(path.parent)
        node = folder.now.get(path.name)
        file = action(path)
        if node is None:
            node = File()
            folder.put(path.name, node)
        elif name != "open_append":
            node.change(b"")
        self._open[file] = node
        self._on_point(name, False)
        return file

    @staticmethod
    def _appends(file: int) -> bool:
        import fcntl

        return bool(fcntl.fcntl(file, fcntl.F_GETFL) & os.O_APPEND)

    def _put(self, file: int, node: File, start: int, data: bytes) -> None:
        if data:
            os.write(file, data)
            node.change(_over(node.now, start, data))

    def _at(self, path: Path) -> Folder:
        folder = self._folder
        for name in path.relative_to(self._root).parts:
            folder = folder.now[name]
        return folder

    def _build(
        self, folder: Folder, where: str, arrival: Arrival, chance: Random, chosen: dict, found: Tree
    ) -> None:
        for name, candidates in folder.candidates():
            node = _pick(candidates, arrival.names, chance)
            if isinstance(node, Folder):
                found[where + name] = None
                self._build(node, f"{where}{name}/", arrival, chance, chosen, found)
            elif node is not None:
                if id(node) not in chosen:
                    chosen[id(node)] = self._content(node, arrival, chance)
                found[where + name] = chosen[id(node)]

    def _content(self, file: File, arrival: Arrival, chance: Random) -> bytes:
        if file.is_certain():
            return file.settled
        if arrival == EVERYTHING:
            return file.now
        if arrival == ANYTHING:
            # Without this nearly every state of a long file would be a mix.
            arrival = chance.choice((EVERYTHING, NOTHING, ANYTHING, ANYTHING, ANYTHING))
        lengths = file.lengths()
        size = _pick(lengths, arrival.lengths, chance)
        if arrival.lengths == "any" and chance.random() < 0.3:
            size = chance.randint(min(lengths), max(lengths))
        fill = self._filling(file, arrival, chance, size)
        pieces = []
        for start in range(0, size, SECTOR_BYTES):
            candidates = file.candidates(start // SECTOR_BYTES)
            wanted = min(SECTOR_BYTES, size - start)
            piece = _padded(_pick(candidates, arrival.sectors, chance), start, wanted, fill)
            if arrival.sectors == "any" and chance.random() < 0.25:
                torn = chance.randint(0, wanted)
                piece = piece[:torn] + _padded(chance.choice(candidates), start, wanted, fill)[torn:]
            pieces.append(piece)
        return b"".join(pieces)

    def _filling(self, file: File, arrival: Arrival, chance: Random, size: int) -> bytes:
        kind = chance.choice(("zeros", "noise", "stale")) if arrival.fill == "any" else arrival.fill
        if kind == "zeros":
            return bytes(size)
        if kind == "noise":
            return chance.randbytes(size)
        others = [file.cut_off, *(other.now for other in _files(self._folder) if other is not file)]
        long_ones = [content for content in others if len(content) > len(file.settled)]
        return _padded(chance.choice(long_ones or others), 0, size, bytes(size))


def restart_from(tree: Tree, root: Path) -> None:
    """Make a folder that holds a crash state; `root` must not be there yet."""
    root.mkdir()
    for name, content in tree.items():
        if content is None:
            (root / name).mkdir()
        else:
            (root / name).write_bytes(content)


def read_tree(root: Path) -> Tree:
    """Give the content of a folder as a crash state; without locks, which hold nothing."""
    return {
        path.relative_to(root).as_posix(): None if path.is_dir() else path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.name != "lock"
    }


def _adopt(path: Path) -> Folder:
    folder = Folder()
    for inside in path.iterdir():
        folder.put(inside.name, _adopt(inside) if inside.is_dir() else File(settled=inside.read_bytes()))
    folder.settle()
    return folder


def _files(folder: Folder) -> Iterator[File]:
    for _, node in sorted(folder.now.items()):
        if isinstance(node, Folder):
            yield from _files(node)
        else:
            yield node


def _pick(candidates: list, choice: Choice, chance: Random):
    if choice == "any":
        return chance.choice(candidates)
    return candidates[0 if choice == "old" else -1]


def _over(before: bytes, start: int, data: bytes) -> bytes:
    """Write `data` over a content from `start`; a gap before it holds zeros."""
    return before[:start].ljust(start, b"\0") + data + before[start + len(data) :]


def _padded(piece: bytes, start: int, size: int, fill: bytes) -> bytes:
    return piece[:size] + fill[start + len(piece) : start + size]
