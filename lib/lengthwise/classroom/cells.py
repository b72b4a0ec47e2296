"""Cells of a notebook as plain dictionaries, as in their JSON: label, text, purpose."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

Cell = dict[str, Any]
_TAG_START = re.compile(r"<(?=[A-Za-z/!?])")


def label(cell: Mapping[str, Any]) -> str:
    """A cell's label (nbgrader's grade id), or an empty text."""
    metadata = cell.get("metadata")
    ours = metadata.get("nbgrader") if isinstance(metadata, Mapping) else None
    found = ours.get("grade_id") if isinstance(ours, Mapping) else None
    return found if isinstance(found, str) else ""


def holds_answer(cell: Mapping[str, Any]) -> bool:
    """Whether a cell of the release is one that the student fills in."""
    return bool(label(cell)) and bool(cell["metadata"]["nbgrader"].get("solution"))


def is_check(cell: Mapping[str, Any]) -> bool:
    """Whether a cell of the release is a locked check that carries points."""
    if not label(cell):
        return False
    ours = cell["metadata"]["nbgrader"]
    return bool(ours.get("grade")) and not ours.get("solution")


def source_of(cell: Mapping[str, Any]) -> str:
    """A cell's text, whichever way its JSON spells it.

    >>> source_of({"source": ["a = 1", "b = 2"]})
    'a = 1b = 2'
    """
    source = cell.get("source", "")
    if isinstance(source, list):
        source = "".join(part for part in source if isinstance(part, str))
    return source if isinstance(source, str) else ""


def compact(text: str) -> str:
    r"""A text in which spaces and line ends make no difference.

    >>> compact(" a = 1\r\n") == compact("a =  1")
    True
    """
    return " ".join(text.split())


def harmless(text: str) -> str:
    """A student's text with HTML switched off: it is shown in the instructor's browser.

    >>> harmless("low < high <script>")
    'low < high &lt;script>'
    """
    return _TAG_START.sub("&lt;", text)
