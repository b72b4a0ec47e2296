"""The bytes of a handed-in file as a notebook: read with limits, and written again clean.

What students hand in went through editors, phones and learning platforms. A clean copy holds the
texts of the cells and nothing that could stop grading: no outputs, no kernel of another language,
no odd metadata, every cell with an id of its own.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from itertools import count
from typing import Any

from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.plain_text import id_in

MOST_CELLS = 2_000
LONGEST_WORD_CHARS = 6  # of what stands outside of quotes in a file: false, \\u00e4
_CELL_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")
_TYPES = ("code", "markdown", "raw")


def parsed_notebook(data: bytes) -> dict[str, Any]:
    """The notebook in these bytes; raises ValueError with a plain reason.

    UTF-8 and UTF-16 are read, with or without a byte order mark.

    >>> parsed_notebook('{"cells": [{"source": "a"}], "nbformat": 4}'.encode("utf-16"))["cells"]
    [{'source': 'a'}]
    >>> parsed_notebook(b'{"cells": [')
    Traceback (most recent call last):
        ...
    ValueError: it is not a notebook: it is cut off, as if saving or sending had stopped half-way
    """
    text = _decoded(data)
    if not text.strip(" \t\r\n\0"):
        raise ValueError("it is not a notebook: the file is empty")
    if text.lstrip().startswith("<"):
        raise ValueError("it is not a notebook: it is a web page; download the file itself")
    try:
        notebook = json.loads(text)
    except RecursionError:
        raise ValueError("it is not a notebook: it is nested too deeply") from None
    except ValueError as error:
        raise ValueError(f"it is not a notebook: {_why(error, text)}") from None
    if isinstance(notebook, dict) and notebook.get("nbformat") in (1, 2, 3):
        raise ValueError("it was saved in an old notebook format; open and save it in JupyterLab")
    cells = notebook.get("cells") if isinstance(notebook, dict) else None
    cells = [cell for cell in cells if isinstance(cell, dict)] if isinstance(cells, list) else []
    if not cells:
        raise ValueError("it is not a notebook: it has no cells")
    if len(cells) > MOST_CELLS:
        raise ValueError(f"it has {len(cells)} cells, and at most {MOST_CELLS} are read")
    return {**notebook, "cells": cells}


def _decoded(data: bytes) -> str:
    try:
        return data.decode(json.detect_encoding(data)).lstrip("\ufeff")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _why(error: ValueError, text: str) -> str:
    if isinstance(error, json.JSONDecodeError):
        left = len(text.rstrip(" \t\r\n\0")) - error.pos
        if error.msg.startswith("Unterminated") or left <= LONGEST_WORD_CHARS:
            return "it is cut off, as if saving or sending had stopped half-way"
    return "it was changed outside Jupyter"


def typed_id(notebook: Mapping[str, Any]) -> str | None:
    """The student id typed in a notebook, or None. Read, never run.

    >>> typed_id({"cells": [{"cell_type": "code", "source": "student_id = ada"}]})
    'ada'
    """
    for cell in sorted(notebook["cells"], key=lambda cell: label(cell) != "identity"):
        typed = id_in(source_of(cell))
        if typed is not None:
            return typed
    return None


def clean_copy(notebook: Mapping[str, Any]) -> bytes:
    """A notebook that nbgrader can read, with the same texts, types and labels of cells.

    >>> odd = {"cells": [{"cell_type": "code", "source": ["a = 1"], "outputs": "x"}], "nbformat": 9}
    >>> json.loads(clean_copy(odd))["cells"][0]["source"], json.loads(clean_copy(odd))["nbformat"]
    ('a = 1', 4)
    """
    taken: set[str] = set()
    cells = []
    for place, cell in enumerate(notebook["cells"]):
        cell_id = cell.get("id")
        if not isinstance(cell_id, str) or not _CELL_ID.fullmatch(cell_id) or cell_id in taken:
            free = (f"handed-in-{number}" for number in count(place))
            cell_id = next(each for each in free if each not in taken)
        taken.add(cell_id)
        cells.append({"id": cell_id, **_clean_cell(cell)})
    clean = {"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
    return json.dumps(clean, indent=1).encode("ascii")


def _clean_cell(cell: Mapping[str, Any]) -> dict[str, Any]:
    kind = cell.get("cell_type") if cell.get("cell_type") in _TYPES else "raw"
    # Halves of characters (surrogates) cannot be written as text.
    source = source_of(cell).encode("utf-8", "replace").decode("utf-8")
    clean = {"cell_type": kind, "metadata": _label_and_points(cell), "source": source}
    if kind == "code":
        return {**clean, "outputs": _results(cell) if label(cell) else [], "execution_count": None}
    pictures = _pictures(cell.get("attachments"))
    return {**clean, "attachments": pictures} if pictures else clean


def _label_and_points(cell: Mapping[str, Any]) -> dict[str, Any]:
    """What nbgrader wrote beside the cell: repairing says where it was changed."""
    if not label(cell):
        return {}
    ours = cell["metadata"]["nbgrader"]
    kept = {key: ours[key] for key in ("grade_id", "points") if key in ours}
    return {
        "nbgrader": {key: val for key, val in kept.items() if isinstance(val, (str, int, float))}
    }


def _results(cell: Mapping[str, Any]) -> list[dict[str, Any]]:
    """A value under the cell, which no check of ours gives: repairing says so, and drops it."""
    outputs = cell.get("outputs")
    kinds = [one.get("output_type") for one in outputs or () if isinstance(one, dict)]
    if "execute_result" not in kinds:
        return []
    data = {"text/plain": "a value"}
    return [
        {"output_type": "execute_result", "data": data, "metadata": {}, "execution_count": None}
    ]


def _pictures(attachments: object) -> dict[str, dict[str, str]]:
    """The pictures that a student put into a text, where they have the form of pictures."""
    if not isinstance(attachments, dict):
        return {}
    return {
        str(name): {kind: data}
        for name, kinds in attachments.items()
        if isinstance(kinds, dict)
        for kind, data in list(kinds.items())[:1]
        if isinstance(data, str)
    }
