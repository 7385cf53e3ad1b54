"""Photos and checklists: files that are kept under the SHA-256 of their content."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from walkapp.errors import PhotoError, StoreError
from walkapp.files import (
    Disk,
    is_safe_name,
    make_folder_durably,
    sha256_of,
    sha256_of_file,
    sha256_of_files,
    write_atomically,
    write_folder_atomically,
)
from walkapp.language import tr

_PHOTO = re.compile(r"[0-9a-f]{64}\.(jpg|png)", re.ASCII)
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)


class Attachments:
    """The photos and checklists of a store.

    Parameters
    ----------
    folder
        The store.
    disk
        Where to write.
    """

    def __init__(self, folder: Path, disk: Disk) -> None:
        self._photos = folder / "photos"
        self._checklists = folder / "checklists"
        self._aside = folder / "aside"
        self._disk = disk

    def add_photo(self, name: str, data: bytes) -> bool:
        """Keep a picture, durable when it returns; say whether it is new.

        Raises
        ------
        PhotoError
            If the content does not belong to the name.
        ValueError
            If the name is not a SHA-256 with ``.jpg`` or ``.png``.
        OSError
            If the system refuses.
        """
        checked_photo(name, data)
        if self.has_sound_photo(name):
            # An earlier try may have failed between giving the name and making it durable.
            self._disk.sync_folder(self._photos)
            return False
        self._set_damaged_aside(name)
        write_atomically(self._photos / name, data, self._disk)
        return True

    def has_sound_photo(self, name: str) -> bool:
        """Whether a picture is here and undamaged."""
        path = self.photo_path(name)
        return path is not None and sha256_of_file(path) == name[:64]

    def adopt_photos(self, paths: Iterable[Path]) -> None:
        """Move sound and durable picture files of the same medium in; durable when it returns.

        Raises
        ------
        OSError
            If the system refuses.
        """
        for path in paths:
            self._set_damaged_aside(path.name)
            self._disk.rename(path, self._photos / path.name)
        self._disk.sync_folder(self._photos)

    def _set_damaged_aside(self, name: str) -> None:
        """Keep a copy of the damaged picture that another one is about to replace."""
        path = self._photos / name
        if path.is_file():
            make_folder_durably(self._aside, self._disk)
            write_atomically(self._aside / f"damaged-{name}", path.read_bytes(), self._disk)

    def photo_path(self, name: str) -> Path | None:
        """Where a picture is; ``None`` when it is not here."""
        path = self._photos / name
        return path if _PHOTO.fullmatch(name) and path.is_file() else None

    def photo_names(self) -> tuple[str, ...]:
        """Names of all pictures, sorted."""
        return _names(self._photos, _PHOTO)

    def keep_checklist(self, digest: str, files: Mapping[str, bytes]) -> bool:
        """Keep a checklist folder, durable when it returns; say whether it is new.

        Raises
        ------
        StoreError
            If sound other content is kept under the same digest.
        ValueError
            If the digest or a file name is not allowed, or there are no files.
        OSError
            If the system refuses.
        """
        check_checklist(digest, files)
        kept = self.checklist(digest)
        if kept is not None:
            if kept == dict(files):
                self._disk.sync_folder(self._checklists)
                return False
            if sha256_of_files(kept) == digest:
                raise StoreError(
                    tr(
                        "The checklist {digest} is kept already with other content in "
                        "{checklists}: what arrived is damaged; get it again from where it came "
                        "from.",
                        digest=digest[:8],
                        checklists=self._checklists,
                    )
                )
            self._set_checklist_aside(digest)
        beside = self._checklists / f"incoming-{digest}"
        write_folder_atomically(self._checklists / digest, files, beside, self._disk)
        return True

    def _set_checklist_aside(self, digest: str) -> None:
        """Move a damaged checklist out of the way of a sound one."""
        make_folder_durably(self._aside, self._disk)
        target, count = self._aside / f"damaged-checklist-{digest}", 1
        while target.exists():
            count += 1
            target = self._aside / f"damaged-checklist-{digest}-{count}"
        self._disk.rename(self._checklists / digest, target)

    def checklist(self, digest: str) -> dict[str, bytes] | None:
        """Content of a kept checklist by file name; ``None`` when it is not here.

        Raises
        ------
        OSError
            If it cannot be read.
        """
        folder = self._checklists / digest
        if not _DIGEST.fullmatch(digest) or not folder.is_dir():
            return None
        return {path.name: self._disk.read(path) for path in sorted(folder.iterdir()) if path.is_file()}

    def checklist_digests(self) -> tuple[str, ...]:
        """Digests of all kept checklists, sorted."""
        return _names(self._checklists, _DIGEST)


def checked_photo(name: str, data: bytes) -> bytes:
    """Give the bytes of a picture that are what its name says.

    Raises
    ------
    PhotoError
        If they do not belong to the name.
    ValueError
        If the name is not a SHA-256 with ``.jpg`` or ``.png``.
    """
    if not _PHOTO.fullmatch(name):
        raise ValueError(f"{name!r} is not the name of a photo")
    if sha256_of(data) != name[:64]:
        raise PhotoError(
            tr("The picture {name} was changed on the way: take or copy it once more.", name=name)
        )
    return data


def check_checklist(digest: str, files: Mapping[str, bytes]) -> None:
    """Make sure that a checklist can be kept.

    Raises
    ------
    ValueError
        If the digest or a file name is not allowed, or there are no files.
    """
    if not _DIGEST.fullmatch(digest) or not files:
        raise ValueError(f"{digest!r} with {len(files)} files is not a checklist")
    for name in files:
        if not is_safe_name(name):
            raise ValueError(f"{name!r} is not a safe file name")


def _names(folder: Path, pattern: re.Pattern[str]) -> tuple[str, ...]:
    if not folder.is_dir():
        return ()
    return tuple(sorted(path.name for path in folder.iterdir() if pattern.fullmatch(path.name)))
