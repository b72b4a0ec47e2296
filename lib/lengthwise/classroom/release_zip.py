"""Read the zip that an instructor hands out, and refuse everything else in plain words.

Nothing is unpacked: two entries are read into memory, within limits, and what is written later
never takes a path from the zip.
"""

from __future__ import annotations

import io
import json
import re
import zipfile
from dataclasses import dataclass
from typing import Any

from lengthwise.classroom.answers_so_far import IDENTITY, answer_cells, is_touched
from lengthwise.classroom.cells import is_check
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.notebook_file import parsed_notebook
from lengthwise.classroom.release import CASES, SCHEMA
from lengthwise.classroom.zip_entries import (
    DAMAGE,
    MOST_BYTES,
    is_link,
    is_locked,
    read_at_most,
    where_in_zip,
)

MOST_CASES_BYTES = 300_000_000
MOST_ENTRIES = 200
ASSIGNMENT_NAME = re.compile(r"a\d{1,2}_[a-z][a-z0-9_]{0,40}")
"""What an assignment is called; nothing of the course itself is called so."""

_OTHER = "Choose the zip file that your instructor handed out, such as a6_reconcile.zip."
_AGAIN = "Download it again and choose the new one."
_UNPACKED = (
    "Choose the zip as it came, not unpacked. If your browser unpacks by itself, compress the "
    "folder of the assignment again (on a Mac: right-click it, Compress) and choose that zip."
)


@dataclass(frozen=True)
class Release:
    """One assignment as it is handed out: the bytes of its two files, and what they say."""

    assignment: str
    class_name: str
    notebook_bytes: bytes
    cases_bytes: bytes
    notebook: dict[str, Any]
    cases: dict[str, Any]


def read_release(data: bytes, name: str = "the file") -> Release:
    """The release in the bytes of a zip called ``name``.

    Raises `ClassroomError` with a sentence for the student when it is anything else.

    >>> read_release(b'{"cells": []}', "a6_reconcile.ipynb")
    Traceback (most recent call last):
        ...
    lengthwise.classroom.errors.ClassroomError: a6_reconcile.ipynb is a notebook, not a zip file...
    """
    _refuse_other_kinds(data, name)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _release_in(archive, name)
    except DAMAGE as error:
        if isinstance(error, ClassroomError):
            raise
        raise ClassroomError(f"{name} is damaged or cut off. {_AGAIN}") from None


def _refuse_other_kinds(data: bytes, name: str) -> None:
    if not data.strip():
        raise ClassroomError(f"{name} is empty. {_AGAIN}")
    if zipfile.is_zipfile(io.BytesIO(data)):
        return
    start = data[:2000].lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith(b"PK"):
        raise ClassroomError(f"{name} is cut off: its end is missing. {_AGAIN}")
    if start.startswith(b"{"):
        raise ClassroomError(f"{name} is a notebook, not a zip file. {_UNPACKED}")
    if start[:15].lower().startswith((b"<!doctype", b"<html")):
        raise ClassroomError(
            f"{name} is a web page, not a zip file: perhaps you were logged out. Log in where "
            "your class keeps its files, and download it again."
        )
    raise ClassroomError(f"{name} is not a zip file. {_OTHER}")


def _release_in(archive: zipfile.ZipFile, name: str) -> Release:
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if len(entries) > MOST_ENTRIES:
        raise ClassroomError(f"{name} holds {len(entries)} files; an assignment has two. {_OTHER}")
    paths = {_parts(entry): entry for entry in entries if not _is_litter(entry)}
    if any(where_in_zip(entry)[1] or is_link(entry) for entry in entries):
        raise ClassroomError(
            f"{name} holds a link or a path that leads outside its folder, which no assignment "
            "does. It was not used; tell your instructor."
        )
    found = [
        parts
        for parts in paths
        if ASSIGNMENT_NAME.fullmatch(parts[-1].removesuffix(".ipynb"))
        and parts[-1].endswith(".ipynb")
        and (*parts[:-1], CASES) in paths
    ]
    if not found:
        raise ClassroomError(_nothing_in(name, [parts[-1] for parts in paths]))
    if len(found) > 1:
        several = ", ".join(sorted(parts[-1].removesuffix(".ipynb") for parts in found))
        raise ClassroomError(f"{name} holds {several}. Choose the zip of one of them at a time.")
    (parts,) = found
    notebook = _read(archive, paths[parts], MOST_BYTES, name)
    cases = _read(archive, paths[(*parts[:-1], CASES)], MOST_CASES_BYTES, name)
    return _understood(parts[-1].removesuffix(".ipynb"), notebook, cases, name)


def _parts(entry: zipfile.ZipInfo) -> tuple[str, ...]:
    return tuple(where_in_zip(entry)[0].split("/"))


def _is_litter(entry: zipfile.ZipInfo) -> bool:
    """What systems add by themselves when a folder is compressed."""
    parts = _parts(entry)
    return "__MACOSX" in parts or parts[-1] in (".DS_Store", "Thumbs.db", "desktop.ini")


def _nothing_in(name: str, inside: list[str]) -> str:
    zips = [one for one in inside if one.lower().endswith(".zip")]
    if zips:
        return (
            f"{name} holds further zip files ({', '.join(sorted(zips)[:3])}). Unpack it once, and "
            "choose the one of your assignment."
        )
    if CASES in inside:
        return f"{name} holds {CASES} without its notebook. {_AGAIN}"
    if any(ASSIGNMENT_NAME.match(one) for one in inside):
        return f"{name} holds a notebook without its {CASES}. {_OTHER}"
    return f"{name} holds no assignment of this course. {_OTHER}"


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int, name: str) -> bytes:
    if is_locked(entry):
        raise ClassroomError(
            f"{name} is locked with a password. Ask your instructor for one without."
        )
    data = read_at_most(archive, entry, most)
    if data is None:
        raise ClassroomError(
            f"{where_in_zip(entry)[0]} in {name} is larger than {most / 1e6:.0f} MB, which no "
            f"assignment is. {_OTHER}"
        )
    return data


def _understood(assignment: str, notebook_bytes: bytes, cases_bytes: bytes, name: str) -> Release:
    try:
        notebook = parsed_notebook(notebook_bytes)
        told = json.loads(cases_bytes)
        class_name, said, students = str(told["class"]), told["assignment"], told["students"]
        schema, target_mm = told["schema"], told["target_mm"]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise ClassroomError(f"{name} holds {assignment}, but it is damaged. {_AGAIN}") from None
    if schema != SCHEMA:
        raise ClassroomError(
            f"{name} was made by another version of this course. Ask your instructor which "
            "version the class uses, and get that one."
        )
    if (
        said != assignment
        or not isinstance(students, dict)
        or not isinstance(target_mm, (int, float))
    ):
        raise ClassroomError(
            f"{name} holds {assignment}, but its {CASES} does not belong to it. {_AGAIN}"
        )
    answers = answer_cells(notebook)
    if IDENTITY not in answers or len(answers) == 1:
        raise ClassroomError(f"{name} holds {assignment}, but without its questions. {_AGAIN}")
    if not any(map(is_check, notebook["cells"])):
        raise ClassroomError(f"{name} holds {assignment}, but without its checks. {_AGAIN}")
    if any(map(is_touched, answers.values())):
        raise ClassroomError(
            f"{name} holds {assignment} with answers typed in it: it is somebody's work, not "
            f"what was handed out. {_OTHER}"
        )
    return Release(assignment, class_name, notebook_bytes, cases_bytes, notebook, told)
