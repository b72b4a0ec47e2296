"""Which assignment of the class is a notebook? Told by what only one of them holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lengthwise.classroom.cells import compact, holds_answer, source_of
from lengthwise.classroom.notebook_file import parsed_notebook

_ANSWER = re.compile(r"^\s*(\w+)\s*=(?!=)", re.MULTILINE)


def signs_of(released: Path) -> frozenset[str]:
    """What tells an assignment: its texts and the names of its answers; none if not released."""
    if not released.is_file():
        return frozenset()
    cells = parsed_notebook(released.read_bytes())["cells"]
    texts = {compact(source_of(cell)) for cell in cells if not holds_answer(cell)}
    return frozenset(texts | _answer_names(cells))


def looks_like(notebook: Mapping[str, Any], signs: Mapping[str, frozenset[str]]) -> str | None:
    r"""The assignment whose signs a notebook holds most of; None when it holds none of any.

    Signs that several assignments share (the cell with the student id) tell nothing; where only
    such ones are left, the notebook may be any of them and is taken for none.

    >>> signs = {"a1": frozenset({"=cej_mm", "=i1"}), "a6": frozenset({"=low_mm", "=i1"})}
    >>> looks_like({"cells": [{"cell_type": "code", "source": "low_mm = 24\ni1 = 'A'"}]}, signs)
    'a6'
    """
    held = {compact(source_of(cell)) for cell in notebook["cells"]}
    held |= _answer_names(notebook["cells"])
    alike = {one: len(held & _own(one, signs)) for one in signs}
    best = max(alike, key=lambda one: alike[one])
    return best if alike[best] else None


def _own(assignment: str, signs: Mapping[str, frozenset[str]]) -> frozenset[str]:
    shared = [others for one, others in signs.items() if one != assignment]
    return signs[assignment].difference(*shared)


def _answer_names(cells: list[dict[str, Any]]) -> set[str]:
    names = {name for cell in cells for name in _ANSWER.findall(source_of(cell))}
    return {f"={name}" for name in names if name != "student_id"}
