"""Classes for the grading tests: a small one, and the demo class graded from the command line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import nbgrader.api
import pytest
from grading_tools import ASSIGNMENT, SMALL_CLASS, GradedDemo, run_lengthwise
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.roster import Student


@pytest.fixture(scope="session")
def course(repo_root: Path) -> Path:
    return repo_root / "course"


@pytest.fixture(scope="session", autouse=True)
def newest_gradebook_known() -> Iterator[None]:
    """nbgrader starts a program for every new gradebook, to ask which form of it is the newest."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(nbgrader.api, "get_alembic_version", cache(nbgrader.api.get_alembic_version))
        yield


@pytest.fixture(scope="session")
def source_notebook(course: Path) -> dict[str, Any]:
    path = course / "source" / ASSIGNMENT / f"{ASSIGNMENT}.ipynb"
    return dict(json.loads(path.read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def small_class(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    """Six students, released; tests do not change it."""
    return make_class(
        "small",
        (Student("ada", "Ada", "", "ada@example.org"), *map(Student, SMALL_CLASS[1:])),
        target_mm=0.5,
        where=tmp_path_factory.mktemp("small"),
        course=course,
        assignments=(ASSIGNMENT,),
        secret=b"of the tests",
    )


@pytest.fixture(scope="session")
def graded_demo(tmp_path_factory: pytest.TempPathFactory, course: Path) -> GradedDemo:
    root = tmp_path_factory.mktemp("demo") / "demo"
    said = {}
    made = run_lengthwise("demo", root, "--course", course, cwd=root.parent)
    assert made.returncode == 0, made.stderr
    said["demo"] = made.stdout
    folder = root / "demo-class"
    for command in (["collect", "../handed_in"], ["grade"], ["marks"], ["feedback"]):
        done = run_lengthwise(*command, cwd=folder)
        assert done.returncode == 0, done.stdout + done.stderr
        said[command[0]] = done.stdout
    return GradedDemo(root, open_class(folder), said)
