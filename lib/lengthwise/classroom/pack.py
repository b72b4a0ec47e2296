"""Pack one zip for the students of a class: the course, and assignments as they are handed out.

Only what is named here gets in. Sources, item keys, tests, guides and everything of a class but its
releases stay out. The assignments travel as the zips that they are handed out in, and the start
page takes them in (`take_in.take_in_waiting`): so unpacking a newer zip over an older one never
writes over a student's notebook.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.course_zip import WAITING
from lengthwise.classroom.errors import ClassroomError
from lengthwise.whole_file import making

TOP = "lengthwise"
"""The folder in the zip: always the same, so that a newer zip unpacks over an older one."""

TRAVELS = {
    "requirements.txt": ("",),
    "course/start.py": ("",),
    "course/opening": (".py",),
    "course/index.ipynb": ("",),
    "course/lessons": (".ipynb", ".toml", ".csv"),
    "course/practice": (".ipynb", ".toml", ".csv"),
    "lib/LICENSE": ("",),
    "lib/pyproject.toml": ("",),
    "lib/hatch_build.py": ("",),
    "lib/lengthwise": (".py", ".typed", ".mplstyle", ".css", ".html", ".j2", ".json", ".js"),
    "datasets": (".csv", ".json", ".md"),
}
"""What travels, by folder the endings of its files; a single file stands for itself."""

_MAY_BE_MISSING = ("course/practice",)
_NOT_BELOW = {"datasets/make"}

README = """\
# How long is this root canal?

A course on one decision. You need Python 3.11 or later (https://www.python.org/downloads/), and the
internet for the first start.

1. Unpack this zip into a folder of your own.
2. Open a terminal in the folder `{top}` and type `python3 course/start.py`
   (on Windows `py course\\start.py`). The first start takes a few minutes.
3. The start page opens in your browser. Your assignments are on it: {assignments}.

When you get a newer zip, unpack it to the same place and let it replace what is there. What you
typed in an assignment is kept; so is your practice. In a lesson nothing of yours is stored: if you
write notes into one, save it under another name first.

This is a teaching simulation, not a medical device. Decisions belong to a licensed practitioner
under local rules; students work under supervision. All cases are invented.
"""


@dataclass(frozen=True)
class Packed:
    """The zip that was made, how many files it holds, and the assignments among them."""

    path: Path
    files: int
    assignments: tuple[str, ...]


def pack(taught: ClassFolder, course: Path, assignments: tuple[str, ...]) -> Packed:
    """Write the zip for the students of a class into its ``release`` folder; again replaces it.

    Raises `ClassroomError` when an assignment is not one of the class, is not released yet, or the
    course is not whole.
    """
    for name in assignments:
        if name not in taught.assignments:
            raise ClassroomError(
                f"Class {taught.name} has no '{name}'; choose from {', '.join(taught.assignments)}."
            )
        if not taught.release_folder(name).with_suffix(".zip").is_file():
            raise ClassroomError(
                f"{name} is not in the class's release folder; put it back from a copy of the "
                "class, or generate it again in the form view."
            )
    files = dict(files_of_the_course(course.resolve().parent))
    for name in assignments:
        inside = f"course/{WAITING}/{name}.zip"
        files[inside] = taught.release_folder(name).with_suffix(".zip")
    readme = README.format(top=TOP, assignments=", ".join(assignments) or "none yet")
    target = taught.root / "release" / f"{TOP}-{taught.name}.zip"
    with making(target) as path, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(f"{TOP}/README.md", readme)
        for inside, file in sorted(files.items()):
            archive.write(file, f"{TOP}/{inside}")
    return Packed(target, len(files) + 1, assignments)


def files_of_the_course(clone: Path) -> Iterator[tuple[str, Path]]:
    """Every file of the course that students get: its place in the zip, and where it lies."""
    for place, endings in TRAVELS.items():
        path = clone / place
        if path.is_file():
            yield place, path
        elif path.is_dir():
            yield from _below(path, place, endings)
        elif place not in _MAY_BE_MISSING:
            raise ClassroomError(
                f"{place} is missing beside the course in {clone}: pack from a whole copy of it."
            )


def _below(folder: Path, place: str, endings: tuple[str, ...]) -> Iterator[tuple[str, Path]]:
    for path in sorted(folder.iterdir()):
        inside = f"{place}/{path.name}"
        if path.is_symlink() or path.name.startswith((".", "__pycache__")) or inside in _NOT_BELOW:
            continue
        if path.is_dir():
            yield from _below(path, inside, endings)
        elif path.suffix in endings:
            yield inside, path
