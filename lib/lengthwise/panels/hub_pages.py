"""The start page and the lessons as a school's hub serves them, made from those of the course.

There is one text of each page. What the start page says of a computer of one's own, of choosing a
zip file and of handing a file in is not so on a hub: there assignments come by themselves, the
button hands in, and the feedback is on the page.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any
from urllib.parse import quote

from ipywidgets import HTML

from lengthwise.panels.student_desk import plain_link
from lengthwise.whole_file import making

START = "index.ipynb"
ON_A_HUB = {
    "Everything here runs on this computer.": (
        "Everything here runs on your school's computer and is kept there, in a folder of your own."
        " Where others use the same device, [log out](../../../../hub/logout) when you leave."
    ),
    "Press *Get an assignment* below and choose the zip file from your instructor. It stays on this"
    " computer.": (
        "Your assignments come by themselves when your class hands them out. If one is missing "
        "below, load this page anew."
    ),
}
"""Sentences of the start page, and what stands in their place on every hub."""

HANDS_IN = {
    "It says what is still missing, and gives you one file. Hand that file in the way your class "
    "does.": (
        "It says what is still missing, and hands in what you saved, to the graders of your class. "
        "You may hand in again: the last one counts."
    ),
    "Nothing in it is run, and nothing is sent anywhere.": (
        "Nothing in it is run. It goes to the graders of your class and to nobody else."
    ),
}
"""The same where work is handed in through the hub, and not by another way of the class."""

NOT_FOR_STUDENTS = ("| leading a workshop |", "| an instructor |")
"""Rows of the start page that speak to those who have the whole course before them."""

FEEDBACK = "### Your feedback\n\nWhen your class gives feedback, it is listed here."
_SHOW_FEEDBACK = """from lengthwise.classroom.hub_desk import fetch_pages
from lengthwise.panels.hub_pages import feedback_list

feedback_list(fetch_pages())"""
_NONE_YET = "No feedback is here yet. Load this page anew to look again."


def write_pages(course: Path, folder: Path, sentences: Mapping[str, str]) -> None:
    """Write start page, lessons and practice into a student's folder, in place of earlier ones.

    They cannot be written to, so nothing that a student typed in one is lost by the next renewal:
    who wants to keep a lesson with their own words saves it under another name.
    """
    for source in [course / START, *course.glob("lessons/*"), *course.glob("practice/*")]:
        if source.is_dir() or source.name.startswith("."):
            continue
        target = folder / source.relative_to(course)
        target.parent.mkdir(exist_ok=True)
        page = source.read_bytes()
        if source.name == START:
            page = json.dumps(hub_start(json.loads(page), sentences), indent=1).encode()
        with making(target) as draft:
            draft.write_bytes(page)
        target.chmod(0o400)


def hub_start(page: dict[str, Any], sentences: Mapping[str, str]) -> dict[str, Any]:
    """The start page with what is so on a hub.

    Parameters
    ----------
    page
        The notebook of the course's start page.
    sentences
        `ON_A_HUB`, and `HANDS_IN` where it is so.

    Raises
    ------
    ValueError
        Where a sentence that is replaced no longer stands on the page.
    """
    missing = set(sentences)
    cells = []
    for cell in page["cells"]:
        text = "".join(cell["source"])
        for here, there in sentences.items():
            if here in text and cell["cell_type"] == "markdown":
                text = text.replace(here, there)
                missing.discard(here)
        if cell["cell_type"] == "markdown":
            text = text.replace("this computer", "your school's computer")
        lines = text.splitlines(keepends=True)
        text = "".join(line for line in lines if not line.startswith(NOT_FOR_STUDENTS))
        cells.append({**cell, "source": text})
        if "desk.handing_in" in text and HANDS_IN.keys() <= sentences.keys():
            cells += _feedback_cells()
    if missing:
        raise ValueError(f"the start page has changed; it no longer holds: {sorted(missing)}")
    return {**page, "cells": cells}


def _feedback_cells() -> list[dict[str, Any]]:
    return [
        {"id": "feedback-words", "cell_type": "markdown", "metadata": {}, "source": FEEDBACK},
        {
            "id": "feedback", "cell_type": "code", "metadata": {}, "source": _SHOW_FEEDBACK,
            "outputs": [], "execution_count": None,
        },
    ]  # fmt: skip


def feedback_list(pages: Iterable[tuple[str, str, Path]]) -> HTML:
    """Links to pages of feedback: assignment, when it was handed in, where from the course folder.

    >>> feedback_list([]).value
    '<p>No feedback is here yet. Load this page anew to look again.</p>'
    """
    lines = "".join(
        plain_link(
            f"../../files/{quote(path.as_posix())}",
            f"{name}, handed in {when} (in a new tab)",
            'target="_blank"',
        )
        for name, when, path in pages
    )
    return HTML(lines or f"<p>{_NONE_YET}</p>")
