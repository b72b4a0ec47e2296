"""Find the notebooks in what students handed in: a folder, or the zip of a learning platform.

Only regular ``.ipynb`` files of at most 5 MB are looked at, also inside a zip that a student handed
in. Links are never followed and nothing is unpacked to disk.
"""

from __future__ import annotations

import os
import re
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.zip_entries import DAMAGE, MOST_BYTES, read_entry, too_large, where_in_zip

MOST_FILES = 10_000
MOST_FILES_OF_ONE = 100
MOST_BYTES_IN_ALL = 1_000_000_000
NOT_A_NOTEBOOK = "it is not a notebook (its name does not end in .ipynb)"
_SKIPPED = {".ipynb_checkpoints", "__MACOSX"}
_NOTEBOOK = re.compile(r"\.ipynb(?:\.(?:txt|json))?$", re.IGNORECASE)
_A_LINK = "it is a link, not a file"
_FLAGS = sum(getattr(os, flag, 0) for flag in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY"))


@dataclass(frozen=True)
class Found:
    """One file: where it was, its bytes, or why it was not admitted.

    ``stamp`` is the time of handing in, where the system of a hub knows it.
    """

    where: str
    data: bytes = b""
    refused: str = ""
    stamp: str = ""


def notebooks_in(place: Path) -> Iterator[Found]:
    """Every file in a folder (at any depth) or in a zip, in order of their names.

    Notebooks come with their bytes; everything else is refused with a reason. Raises
    `ClassroomError` where ``place`` is neither folder nor zip, or holds more than a class hands in.
    """
    if place.is_symlink() or not place.exists():
        raise ClassroomError(f"{place} is not a folder; name the folder of the handed-in files.")
    if not place.is_dir() and not zipfile.is_zipfile(place):
        raise ClassroomError(
            f"{place} is neither a folder nor a zip; name the folder of the handed-in files."
        )
    total = 0
    found = _in_folder(place) if place.is_dir() else _in_zip(place)
    for number, one in enumerate(found, 1):
        total += len(one.data)
        if number > MOST_FILES or total > MOST_BYTES_IN_ALL:
            raise ClassroomError(
                f"{place} holds more than {MOST_FILES} files or {MOST_BYTES_IN_ALL / 1e9:g} GB; "
                "name the files of one class."
            )
        yield one


def _in_folder(folder: Path) -> Iterator[Found]:
    for path, shut in _files_below(folder):
        where = printable(path.relative_to(folder).as_posix())
        if shut:
            yield Found(where, refused=shut)
        elif path.suffix.lower() == ".zip":
            packed = read_regular(path, where)
            yield from [packed] if packed.refused else _in_students_zip(packed)
        elif _NOTEBOOK.search(path.name) or path.is_symlink():
            yield read_regular(path, where)
        else:
            yield Found(where, refused=NOT_A_NOTEBOOK)


def _files_below(folder: Path) -> list[tuple[Path, str]]:
    """Files and links below a folder, by name; a folder that is a link is not entered.

    A folder that cannot be opened stands among them, with the reason.
    """
    files: list[tuple[Path, str]] = []
    folders = [folder]
    while folders:
        here = folders.pop()
        try:
            for path in here.iterdir():
                if len(files) + len(folders) > MOST_FILES:
                    raise ClassroomError(
                        f"{folder} holds more than {MOST_FILES} files; name one class's."
                    )
                if path.name in _SKIPPED:
                    continue
                if path.is_dir() and not path.is_symlink():
                    folders.append(path)
                else:
                    files.append((path, ""))
        except OSError as error:
            if here == folder:
                raise ClassroomError(f"{folder}: {cannot_be_opened(error)}.") from None
            files.append((here, cannot_be_opened(error)))
    return sorted(files)


def cannot_be_opened(error: OSError) -> str:
    """Why a file or a folder is left, from what the system said."""
    return f"it cannot be opened ({error.strerror or error})"


def read_regular(path: Path, where: str) -> Found:
    """The bytes of a regular file of at most 5 MB, or why it is refused. Follows no link."""
    try:
        refused = _odd(path.lstat())
        if refused:
            return Found(where, refused=refused)
        handle = os.open(path, os.O_RDONLY | _FLAGS)
        with os.fdopen(handle, "rb") as stream:
            refused = _odd(os.fstat(handle))  # another file may have been put there just now
            data = b"" if refused else stream.read(MOST_BYTES + 1)
    except OSError as error:
        return Found(where, refused=cannot_be_opened(error))
    if len(data) > MOST_BYTES:
        refused = too_large(len(data))
    return Found(where, refused=refused) if refused else Found(where, data)


def _odd(status: os.stat_result) -> str:
    """Why a file with this status is not admitted, or an empty text."""
    if stat.S_ISLNK(status.st_mode):
        return _A_LINK
    if not stat.S_ISREG(status.st_mode):
        return "it is not a regular file"
    if status.st_nlink > 1:
        return "it is one file under several names (a hard link); copy it and collect again"
    return too_large(status.st_size) if status.st_size > MOST_BYTES else ""


def _in_zip(place: Path) -> Iterator[Found]:
    try:
        archive = zipfile.ZipFile(place)
    except DAMAGE:
        raise ClassroomError(f"{place} is damaged or cut off; download it again.") from None
    with archive:
        if len(archive.infolist()) > MOST_FILES:
            raise ClassroomError(f"{place} holds more than {MOST_FILES} files; name one class's.")
        for one in _entries(archive, ""):
            is_zip = one.where.lower().endswith(".zip")
            yield from _in_students_zip(one) if is_zip and not one.refused else [one]


def _in_students_zip(packed: Found) -> Iterator[Found]:
    """What is in a zip that a student handed in; a zip inside of it is not opened."""
    try:
        with zipfile.ZipFile(BytesIO(packed.data)) as archive:
            if len(archive.infolist()) > MOST_FILES_OF_ONE:
                yield Found(packed.where, refused="the zip holds far too many files")
                return
            left = MOST_BYTES
            for one in _entries(archive, f"{packed.where}/"):
                left -= len(one.data)
                if left < 0:
                    yield Found(packed.where, refused=f"unpacked, {too_large(MOST_BYTES - left)}")
                    return
                nested = one.where.lower().endswith(".zip") and not one.refused
                yield Found(one.where, refused="it is a zip inside a zip") if nested else one
    except DAMAGE:
        yield Found(packed.where, refused="the zip is damaged")


def _entries(archive: zipfile.ZipFile, prefix: str) -> Iterator[Found]:
    for entry in sorted(archive.infolist(), key=lambda one: one.filename):
        name, outside = where_in_zip(entry)
        where = prefix + printable(name)
        if entry.is_dir() or _SKIPPED & set(name.split("/")):
            continue
        if not (_NOTEBOOK.search(name) or name.lower().endswith(".zip")):
            yield Found(where, refused=NOT_A_NOTEBOOK)
        elif outside:
            yield Found(where, refused="its name in the zip points outside of the zip")
        else:
            data, refused = read_entry(archive, entry)
            yield Found(where, data, refused)


def printable(text: str) -> str:
    r"""A name that cannot move the cursor, start a line or turn letters round on a screen.

    >>> printable("ada\n  ben  new.ipynb"), printable("a\x1b[2J\u202eb")
    ('ada?  ben  new.ipynb', 'a?[2J?b')
    """
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def refuse_odd_files(folder: Path) -> None:
    """Raise `ClassroomError` when a submission holds a link or anything too large for a notebook.

    nbgrader would follow a link and copy what it points to.
    """
    for path, shut in _files_below(folder):
        refused = shut or _odd(path.lstat())
        if refused:
            raise ClassroomError(f"{printable(path.name)} in the submission: {refused}.")
