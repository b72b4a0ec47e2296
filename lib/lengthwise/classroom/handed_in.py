"""Find the notebooks in what students handed in: a folder, or the zip of a learning platform.

Only regular ``.ipynb`` files of at most 5 MB are looked at; links are never followed and nothing
is unpacked to disk. Whose file it is comes from a folder or file name that holds an id of the
class list, and from the id typed in the notebook.
"""

from __future__ import annotations

import json
import re
import stat
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.read_answers import read_cell
from lengthwise.classroom.repair import label, source_of

MOST_BYTES = 5_000_000
MOST_FILES = 10_000
_SKIPPED = {".ipynb_checkpoints", "__MACOSX"}


@dataclass(frozen=True)
class Found:
    """One file: where it was, its bytes, or why it was not admitted."""

    where: str
    data: bytes = b""
    refused: str = ""


def notebooks_in(place: Path) -> Iterator[Found]:
    """Every notebook in a folder (at any depth) or in a zip, in order of their names."""
    if place.is_symlink() or not place.exists():
        raise ClassroomError(f"{place} is not a folder; name the folder of the handed-in files.")
    if place.is_dir():
        yield from _in_folder(place)
    elif zipfile.is_zipfile(place):
        yield from _in_zip(place)
    else:
        raise ClassroomError(
            f"{place} is neither a folder nor a zip; name the folder of the handed-in files."
        )


def _in_folder(folder: Path) -> Iterator[Found]:
    for number, path in enumerate(sorted(_files_below(folder))):
        if number >= MOST_FILES:
            raise ClassroomError(f"{folder} holds more than {MOST_FILES} files; name one class's.")
        where = path.relative_to(folder).as_posix()
        if path.suffix.lower() != ".ipynb":
            continue
        status = path.lstat()
        if stat.S_ISLNK(status.st_mode):
            yield Found(where, refused="it is a link, not a file")
        elif not stat.S_ISREG(status.st_mode):
            yield Found(where, refused="it is not a regular file")
        elif status.st_size > MOST_BYTES:
            yield Found(where, refused=_too_large(status.st_size))
        else:
            yield Found(where, path.read_bytes())


def _files_below(folder: Path) -> Iterator[Path]:
    """Files and links below a folder; a folder that is a link is not entered."""
    for path in folder.iterdir():
        if path.name in _SKIPPED:
            continue
        if path.is_dir() and not path.is_symlink():
            yield from _files_below(path)
        else:
            yield path


def _in_zip(place: Path) -> Iterator[Found]:
    with zipfile.ZipFile(place) as archive:
        entries = archive.infolist()
        if len(entries) > MOST_FILES:
            raise ClassroomError(f"{place} holds more than {MOST_FILES} files; name one class's.")
        for entry in sorted(entries, key=lambda one: one.filename):
            parts = entry.filename.replace("\\", "/").split("/")
            if _SKIPPED & set(parts) or not entry.filename.lower().endswith(".ipynb"):
                continue
            where = "/".join(parts)
            if stat.S_ISLNK(entry.external_attr >> 16):
                yield Found(where, refused="it is a link, not a file")
            elif entry.file_size > MOST_BYTES:
                yield Found(where, refused=_too_large(entry.file_size))
            else:
                yield _unpacked(archive, entry, where)


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, where: str) -> Found:
    try:
        with archive.open(entry) as stream:
            data = stream.read(MOST_BYTES + 1)
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError, EOFError):
        return Found(where, refused="it is damaged in the zip, or locked with a password")
    return (
        Found(where, refused=_too_large(len(data)))
        if len(data) > MOST_BYTES
        else Found(where, data)
    )


def _too_large(size: int) -> str:
    return f"it has {size / 1e6:.1f} MB, and at most {MOST_BYTES / 1e6:g} MB are read"


def parsed_notebook(data: bytes) -> dict[str, Any]:
    """The notebook in these bytes; raises ValueError with a plain reason."""
    try:
        notebook = json.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        raise ValueError("it is not a notebook (cut off, or changed outside Jupyter)") from None
    cells = notebook.get("cells") if isinstance(notebook, dict) else None
    if not isinstance(cells, list) or not all(isinstance(cell, dict) for cell in cells):
        raise ValueError("it is not a notebook (it has no cells)")
    if notebook.get("nbformat") != 4:
        raise ValueError("it was saved in an old notebook format; open and save it in JupyterLab")
    return dict(notebook)


def typed_id(notebook: dict[str, Any]) -> str | None:
    """The student id typed in the notebook, or None. Read, never run."""
    cells = sorted(notebook["cells"], key=lambda cell: label(cell) != "identity")
    for cell in cells:
        if cell.get("cell_type") != "code":
            continue
        value = read_cell(source_of(cell)).values.get("student_id")
        if isinstance(value, int):
            value = str(value)
        if isinstance(value, str) and value.strip():
            return value.strip()
    return None


def named_id(where: str, students: Iterable[str]) -> str | None:
    """The id that the folder's or file's name holds, or None. The longest id wins.

    >>> named_id("student-11/a6_reconcile (1).ipynb", ["student-1", "student-11"])
    'student-11'
    >>> named_id("Ada_student-1_late.ipynb", ["student-1", "student-11"])
    'student-1'
    >>> named_id("a6_reconcile.ipynb", ["student-1"]) is None
    True
    """
    folded = {student.casefold(): student for student in students}
    parts = [part.casefold() for part in Path(where).with_suffix("").parts]
    for part in reversed(parts):
        if part in folded:
            return folded[part]
    for part in reversed(parts):
        for student in sorted(folded, key=len, reverse=True):
            if re.search(rf"(?<![^\W_]){re.escape(student)}(?![^\W_])", part):
                return folded[student]
    return None


def refuse_odd_files(folder: Path) -> None:
    """Raise ValueError when a submission holds a link or anything too large to be a notebook.

    nbgrader would follow a link and copy what it points to.
    """
    for path in _files_below(folder):
        status = path.lstat()
        if not stat.S_ISREG(status.st_mode):
            raise ClassroomError(f"{path.name} in the submission is a link, not a file.")
        if status.st_size > MOST_BYTES:
            raise ClassroomError(f"{path.name} in the submission: {_too_large(status.st_size)}.")
