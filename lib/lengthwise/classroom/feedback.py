"""Feedback pages: nbgrader's own, sealed so that they load nothing and run nothing.

nbgrader's page fetches scripts from the network and shows a student's text. A page that goes to
students must work offline and keep to itself, so its scripts are taken out and a content security
policy tells the browser to run and fetch nothing. Its labels are put into a student's words.
"""

from __future__ import annotations

import html
import re
import zipfile
from collections.abc import Iterable
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.marks_table import part_name, waiting_for_hand

_SCRIPT = re.compile(r"<script\b.*?</script\s*>", re.IGNORECASE | re.DOTALL)
_FONT = re.compile(r"@font-face\s*\{[^}]*\}")
_CONTENTS_ENTRY = re.compile(r'<a href="#([^"]+)">(?:Test cell|Written response)</a>')
_CELL_LABEL = re.compile(r"Grade cell: <code>([^<]+)</code>")
_LIST_END = re.compile(r'(<div id="toc">.*?</ol>)', re.DOTALL)
_HEAD = """<head>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; \
style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">"""
_STYLE = """<style>
div.prompt, a.anchor-link, div.output_execute_result { display: none; }
div.output_subarea table, div.text_cell_render table { margin: 0.5em 0 1em; }
div.output_subarea th, div.output_subarea td, div.text_cell_render th, div.text_cell_render td {
  padding: 0.2em 0.8em 0.2em 0; border-bottom: 1px solid #ccc; vertical-align: top;
  text-align: left; }
div.output_subarea, div.output_area { overflow-x: auto; }
caption { color: #333; }
</style>
</head>"""


def page_path(taught: ClassFolder, student: str, assignment: str) -> Path:
    """Where a student's feedback page is."""
    return taught.root / "feedback" / student / assignment / f"{assignment}.html"


def sealed(page: str, waiting: Iterable[str] = ()) -> str:
    """The page without scripts and fonts from elsewhere, its labels in a student's words.

    ``waiting`` names the parts that an instructor has still to mark. Sealing a sealed page
    changes nothing.

    >>> "script" in sealed("<html><head><script>x</script></head></html>")
    False
    """
    if _HEAD in page:
        return page
    page = _FONT.sub("", _SCRIPT.sub("", page))
    page = page.replace("<html>", '<html lang="en">', 1)
    page = page.replace("<head>", _HEAD, 1).replace("</head>", _STYLE, 1)
    page = _CONTENTS_ENTRY.sub(lambda m: f'<a href="#{m[1]}">{part_name(m[1])}</a>', page)
    page = _CELL_LABEL.sub(lambda m: f"Marks for {part_name(m[1])}", page)
    parts = ", ".join(waiting)
    if parts:
        note = (
            f"<p><strong>Still to be marked by your instructor: {html.escape(parts)}.</strong> "
            "What is not marked yet counts as 0 here.</p>"
        )
        page = _LIST_END.sub(lambda m: m[1] + note, page, count=1)
    return page


def seal_pages(assignment: str, student: str, notebooks: Iterable[str]) -> None:
    """Called by nbgrader after it wrote a student's feedback, whichever way it was asked to."""
    for notebook in notebooks:
        path = Path(notebook)
        seal_page(open_class(path.parent), path.parts[-3], path.parts[-2])


def seal_page(taught: ClassFolder, student: str, assignment: str) -> None:
    """Seal a student's page in its place."""
    path = page_path(taught, student, assignment)
    page = path.read_text(encoding="utf-8")
    waiting = waiting_for_hand(taught, student, assignment)
    path.write_text(sealed(page, waiting), encoding="utf-8")


def zip_pages(taught: ClassFolder, assignment: str, students: Iterable[str]) -> Path:
    """Put every student's page into one zip and return its path."""
    target = taught.root / "feedback" / f"{assignment}.zip"
    making = target.with_suffix(".making")
    with zipfile.ZipFile(making, "w", zipfile.ZIP_DEFLATED) as archive:
        for student in sorted(students):
            seal_page(taught, student, assignment)
            archive.write(page_path(taught, student, assignment), f"{student}/{assignment}.html")
    making.replace(target)
    return target
