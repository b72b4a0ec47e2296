"""The form of an assignment's source, and that its release holds no answers."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from lengthwise.classroom.answer_form import FIELDS
from lengthwise.classroom.cells import holds_answer, is_check, label, source_of
from lengthwise.classroom.read_answers import read_cell

Notebook = dict[str, Any]
ASSIGNMENT = "a6_reconcile"


def faults_of_form(notebook: Notebook) -> list[str]:
    """What keeps a source from being read, marked and released safely."""
    faults = []
    cells = notebook["cells"]
    labels = [label(cell) for cell in cells]
    if len(set(labels)) < len(labels) or "" in labels:
        faults.append("every cell has a label of its own")
    for place, cell in enumerate(cells):
        text = source_of(cell)
        if cell.get("outputs") or cell.get("execution_count"):
            faults.append(f"{labels[place]}: a source has no outputs")
        if re.search(r"widget|interact|anywidget", text, re.IGNORECASE):
            faults.append(f"{labels[place]}: no widgets in an assignment")
        if "SOLUTION" in text or "HIDDEN" in text:
            faults.append(f"{labels[place]}: a source holds no solutions and no hidden tests")
        if holds_answer(cell) and cell["cell_type"] == "code":
            reading = read_cell(text)
            if reading.unread or any(value is not ... for value in reading.values.values()):
                faults.append(f"{labels[place]}: an answer starts as three dots")
        if is_check(cell):
            name = labels[place].removesuffix("_check")
            if labels[place] != f"{name}_check" or labels[place - 1] != name:
                faults.append(f"{labels[place]}: a check follows its answer and is named after it")
            if not re.fullmatch(r'check(_item|_rounds|_values)?\(\s*"\w+"(,\s+\w+)+\s*\)', text):
                faults.append(f"{labels[place]}: a check is one call and nothing else")
        if not holds_answer(cell) and not cell["metadata"]["nbgrader"]["locked"]:
            faults.append(f"{labels[place]}: what is not an answer is locked")
    headings = [
        len(found.group(1))
        for cell in cells
        if cell["cell_type"] == "markdown"
        for found in re.finditer(r"^(#+) ", source_of(cell), re.MULTILINE)
    ]
    if headings.count(1) != 1 or any(b - a > 1 for a, b in pairwise(headings)):
        faults.append("one first heading, no rank skipped")
    return faults


def _cell(notebook: Notebook, name: str) -> dict[str, Any]:
    return next(cell for cell in notebook["cells"] if label(cell) == name)


def _with_source(name: str, text: str) -> Callable[[Notebook], None]:
    return lambda notebook: _cell(notebook, name).update(source=text)


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (_with_source("q1", "foramen_mm = 25.1"), "three dots"),
        (_with_source("q1", "foramen_mm = len('x')"), "three dots"),
        (_with_source("open", "import ipywidgets"), "no widgets"),
        (_with_source("q1_check", "assert foramen_mm == 25"), "one call"),
        (_with_source("your_id", "# A second title"), "one first heading"),
        (_with_source("your_id", "#### Skipped"), "no rank skipped"),
        (_with_source("reason", "### BEGIN SOLUTION"), "no solutions"),
        (lambda nb: _cell(nb, "q1_case").update(outputs=[{"output_type": "stream"}]), "outputs"),
        (lambda nb: nb["cells"].append(copy.deepcopy(_cell(nb, "q1"))), "label of its own"),
        (lambda nb: nb["cells"].remove(_cell(nb, "q2")), "follows its answer"),
        (lambda nb: _cell(nb, "open")["metadata"]["nbgrader"].update(locked=False), "locked"),
    ],
)
def test_a_source_in_another_form_is_noticed(
    source_notebook: Notebook, spoil: Callable[[Notebook], None], says: str
) -> None:
    notebook = copy.deepcopy(source_notebook)
    spoil(notebook)
    assert any(says in fault for fault in faults_of_form(notebook)), faults_of_form(notebook)


def test_every_determination_asks_for_the_same_five_answers(source_notebook: Notebook) -> None:
    for name in ("q1", "q2", "q3"):
        assert tuple(read_cell(source_of(_cell(source_notebook, name))).values) == FIELDS
        call = f'check("{name}", {", ".join(FIELDS)})'
        assert source_of(_cell(source_notebook, f"{name}_check")) == call
