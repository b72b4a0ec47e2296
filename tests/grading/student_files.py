"""A release made by hand: the real notebook of an assignment, and cases of two students."""

from __future__ import annotations

import copy
import io
import json
import zipfile
from collections.abc import Mapping
from typing import Any

from lengthwise.classroom.demo_class import filled_in
from lengthwise.marking.casebook import case_key

Notebook = dict[str, Any]
Entries = Mapping[str, bytes]

OPTIONS = {"A": "one", "B": "two", "C": "three", "D": "four"}
LENGTHS = "foramen_mm = 24.5\nworking_length_mm = 24.0\nlow_mm = 24.0\nhigh_mm = 25.0\n"
DONE = {
    "identity": 'student_id = "s012"',
    "q1": LENGTHS + 'next_step = "confirm"',
    "q2": LENGTHS + 'next_step = "confirm"',
    "q3": 'foramen_mm = ...\nnext_step = "film"',
    **{name: f'{name} = "B"' for name in ("i1", "i2", "i3", "i4")},
    "reason": "The reading came early, so I gave it little weight.",
}


def cases_json(
    assignment: str = "a6_reconcile", *, class_name: str = "spring", drawn: str = "first"
) -> dict[str, Any]:
    """The cases of two students; ``drawn`` stands for what a secret makes of them."""
    mine = {
        "cases": {name: {"tooth": "13", "drawn": drawn} for name in ("q1", "q2", "q3")},
        "items": {f"i{n}": {"stem": "Which?", "options": OPTIONS} for n in (1, 2, 3, 4)},
    }
    return {
        "schema": "lengthwise/cases/1",
        "class": class_name,
        "assignment": assignment,
        "target_mm": 0.5,
        "students": {case_key(class_name, assignment, one): mine for one in ("s011", "s012")},
    }


def zipped(entries: Entries) -> bytes:
    """A zip of these entries."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return made.getvalue()


def release_entries(notebook: Notebook, cases: Mapping[str, Any] | None = None) -> dict[str, bytes]:
    """What an instructor hands out, by name."""
    return {
        "a6_reconcile/a6_reconcile.ipynb": json.dumps(notebook).encode(),
        "a6_reconcile/cases.json": json.dumps(cases or cases_json()).encode(),
    }


def release_zip(notebook: Notebook, cases: Mapping[str, Any] | None = None) -> bytes:
    """What an instructor hands out."""
    return zipped(release_entries(notebook, cases))


def typed_in(notebook: Notebook, **changed: str) -> Notebook:
    """The notebook of a student who has answered everything, but for what is changed."""
    return filled_in(notebook, {**DONE, **changed})


def with_new_text(notebook: Notebook) -> Notebook:
    """The release of somebody who has put a sentence right."""
    changed = copy.deepcopy(notebook)
    changed["cells"][0]["source"] = "# Putting it on one ruler\n\nA sentence that was put right."
    return changed
