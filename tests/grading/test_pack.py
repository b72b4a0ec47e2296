"""The students' zip: the whole course, no key, and a newer one keeps what was typed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import house
import pytest
from grading_tools import ASSIGNMENT, class_with, run_lengthwise
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.course_zip import WAITING
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.pack import TOP, files_of_the_course, pack
from lengthwise.classroom.take_in import take_in, take_in_waiting


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    return class_with(ASSIGNMENT, tmp_path_factory.mktemp("pack"), course)


@pytest.fixture(scope="module")
def packed(taught: ClassFolder, course: Path) -> Path:
    return pack(taught, course, taught.assignments).path


def unpacked(packed: Path, where: Path) -> Path:
    with zipfile.ZipFile(packed) as archive:
        archive.extractall(where)
    return where / TOP


def secrets_in(packed: Path, taught: ClassFolder, course: Path) -> list[str]:
    """What of a student's zip tells an answer: names of files, and words of graded items."""
    with zipfile.ZipFile(packed) as archive:
        names = archive.namelist()
        texts = {name: archive.read(name).decode("utf-8", "replace") for name in names}
    hidden = ("/answers/", "/source/", "/items/", "secret", "/tests/", "/instructor_guide/")
    found = [name for name in names if any(part in f"/{name}" for part in hidden)]
    secret = (taught.root / "secret").read_bytes()
    found += [name for name, text in texts.items() if secret.hex() in text]
    key = json.loads(taught.answers_path(ASSIGNMENT).read_text(encoding="utf-8"))
    assert key["students"]
    return found + house.telling(texts, house.item_words(course / "items"))


def test_a_students_zip_holds_the_course_and_its_assignments_and_no_key(
    packed: Path, taught: ClassFolder, course: Path, tmp_path: Path
) -> None:
    with zipfile.ZipFile(packed) as archive:
        names = {name.removeprefix(f"{TOP}/") for name in archive.namelist()}
    lessons = {f"course/lessons/{path.name}" for path in (course / "lessons").glob("*.ipynb")}
    needed = {"README.md", "requirements.txt", "course/start.py", "course/index.ipynb",
              "lib/pyproject.toml", "lib/lengthwise/__init__.py", "datasets/teeth.csv",
              f"course/{WAITING}/{ASSIGNMENT}.zip"}  # fmt: skip
    assert needed | lessons <= names
    tracked = {path.relative_to(house.ROOT).as_posix() for path in house.project_files()}
    strange = {name for name in names - tracked if not name.startswith(f"course/{WAITING}/")}
    assert strange == set()
    assert secrets_in(packed, taught, course) == []

    leaking = tmp_path / "leaking.zip"
    items = course / "items" / f"{ASSIGNMENT}.toml"
    with zipfile.ZipFile(leaking, "w") as archive:
        archive.write(items, f"{TOP}/lib/notes.md")
        archive.write(taught.root / "secret", f"{TOP}/secret")
    assert len(secrets_in(leaking, taught, course)) >= 2


def test_every_file_of_the_library_travels(course: Path) -> None:
    travelling = {inside for inside, _ in files_of_the_course(course.parent)}
    tracked = {path.relative_to(house.ROOT).as_posix() for path in house.project_files()}
    wanted = {name for name in tracked if name.startswith(("lib/", "course/lessons/"))}
    wanted |= {name for name in tracked if name.startswith("datasets/") and "/make/" not in name}
    assert wanted - travelling == set()


def test_what_is_unpacked_runs_by_itself(packed: Path, tmp_path: Path) -> None:
    root = unpacked(packed, tmp_path)
    code = (
        "import lengthwise, lengthwise.reference.files as files\n"
        "from lengthwise.classroom.take_in import take_in_waiting\n"
        "print(lengthwise.__file__); print(files.dataset_folder())\n"
        "print(take_in_waiting()[0].assignment)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root / "course", capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": str(root / "lib")}, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    package, tables, assignment = done.stdout.split()
    assert Path(package).is_relative_to(root)
    assert Path(tables) == root / "datasets"
    assert assignment == ASSIGNMENT
    asked = subprocess.run(
        [sys.executable, root / "course" / "start.py", "--help"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert asked.returncode == 0


def test_unpacking_a_newer_zip_keeps_what_was_typed(packed: Path, tmp_path: Path) -> None:
    course = unpacked(packed, tmp_path) / "course"
    (first,) = take_in_waiting(course)
    assert "is here now" in first.sentence
    assert not list((course / WAITING).glob("*.zip"))
    notebook = course / ASSIGNMENT / f"{ASSIGNMENT}.ipynb"
    typed = notebook.read_text(encoding="utf-8").replace("foramen_mm = ...", "foramen_mm = 21.5")
    notebook.write_text(typed, encoding="utf-8")

    unpacked(packed, tmp_path)
    (again,) = take_in_waiting(course)
    assert "your answers are kept" in again.sentence
    assert notebook.read_text(encoding="utf-8") == typed
    assert take_in_waiting(course) == ()


def test_the_students_zip_given_to_the_button_brings_its_assignments(
    packed: Path, taught: ClassFolder, tmp_path: Path
) -> None:
    done = take_in(packed.read_bytes(), packed.name, tmp_path)
    assert done == (f"{ASSIGNMENT} is here now, for class {taught.name}.", ASSIGNMENT)
    assert {path.name for path in tmp_path.iterdir()} == {ASSIGNMENT}, "nothing else of the zip"

    with zipfile.ZipFile(packed) as whole, zipfile.ZipFile(tmp_path / "bare", "w") as bare:
        for name in whole.namelist():
            if WAITING not in name:
                bare.writestr(name, b"")
        bare.writestr("README.md", b"")
    refused = take_in((tmp_path / "bare").read_bytes(), "bare.zip", tmp_path)
    assert refused.assignment is None
    assert "bare.zip is the whole course, and no assignment is in it" in refused.sentence

    with zipfile.ZipFile(tmp_path / "bare", "a") as bare:
        bare.writestr(f"{TOP}/course/{WAITING}/a1_half.zip", b"PK half")
        bare.write(packed.parent / f"{ASSIGNMENT}.zip", f"{TOP}/course/{WAITING}/{ASSIGNMENT}.zip")
    some = take_in((tmp_path / "bare").read_bytes(), "some.zip", tmp_path)
    assert some.sentence.startswith("a1_half.zip in some.zip is cut off")
    assert some.assignment == ASSIGNMENT, "one bad zip does not keep the others out"


def test_a_zip_that_cannot_be_used_waits_and_says_so(tmp_path: Path) -> None:
    waiting = tmp_path / WAITING
    waiting.mkdir()
    (waiting / "a6_reconcile.zip").write_bytes(b"PK half")
    (one,) = take_in_waiting(tmp_path)
    assert one.assignment is None
    assert "a6_reconcile.zip is cut off" in one.sentence
    assert (waiting / "a6_reconcile.zip").exists()


def test_the_command_says_what_is_in_it_and_can_be_run_twice(
    taught: ClassFolder, course: Path
) -> None:
    for _ in range(2):
        done = run_lengthwise("pack", "--course", course, cwd=taught.root)
        assert done.returncode == 0, done.stderr
        assert f"holds the course and {ASSIGNMENT}" in done.stdout
        assert "Next: give it to every student, to unpack and start" in done.stdout


def test_an_assignment_that_the_class_does_not_have_is_named(
    taught: ClassFolder, course: Path
) -> None:
    with pytest.raises(ClassroomError, match="has no 'a9_nothing'; choose from a6_reconcile"):
        pack(taught, course, ("a9_nothing",))
    with pytest.raises(ClassroomError, match=r"requirements.txt is missing"):
        pack(taught, taught.root, taught.assignments)
