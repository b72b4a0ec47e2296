"""A copy of every lesson as one file of HTML, for screen readers and for print.

The cells of a lesson are run here, one after the other, as its notebook runs them; what a panel
would show stands still. What else a panel is shown at is said in the lesson's TOML file, beside
its questions:

    [[stills]]
    cell = "predict-average"
    after = "move"
    title = "Number 50 of 100"
    steps = [["place", 50]]
    inside = []

Where one is to decide before one looks, ``inside`` holds the further steps after which the picture
tells; that picture is folded.

Assignments are left out, and so is what a lesson says to those who opened it as a notebook.
"""

from __future__ import annotations

import ast
import contextlib
import html
import os
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import nbformat

from lengthwise.panels.page_template import data_folder
from lengthwise.panels.still import (
    folded_html,
    panel_html,
    panel_of,
    put_back,
    set_by_hand,
    stands,
    still,
)
from lengthwise.panels.workshop_pages import NOT_HERE, without_what_is_not_here
from lengthwise.whole_file import write_whole

TEMPLATE = "lengthwise_pages"
INDEX = "index.html"
PICTURES = "### The pictures of these experiments"
LOOK_INSIDE = "Decide what you believe of it; then open this and look inside."
FOR_HANDS = ("Commit ", "Commit*", "ommit;", "ommitted an answer", "*Commit,", "practice.ipynb")
"""Sentences with these words are about buttons or practice, and here nothing can be pressed."""

MINUTES = re.compile(r"About (\d+) minutes")


@dataclass(frozen=True)
class Still:
    """One more state of a panel: the cell that makes it, the cell after which it is shown.

    ``inside`` are steps that tell; the picture after them is folded.
    """

    cell: str
    after: str
    title: str
    steps: tuple[tuple[Any, ...], ...]
    inside: tuple[tuple[Any, ...], ...] = ()


class Page(NamedTuple):
    """A page in the list at the top of every other."""

    file: str
    short: str
    title: str
    minutes: str


def stills_of(questions: Path) -> tuple[Still, ...]:
    """Read which states a lesson's panels are shown at.

    Raises
    ------
    ValueError
        If an entry lacks a field.

    Examples
    --------
    >>> stills_of(Path("nowhere.toml"))
    ()
    """
    if not questions.is_file():
        return ()
    entries = tomllib.loads(questions.read_text(encoding="utf-8")).get("stills", [])
    for number, entry in enumerate(entries, start=1):
        missing = {"cell", "after", "title", "steps"} - set(entry)
        if missing:
            raise ValueError(
                f"{questions.name}, stills entry {number}, field {min(missing)}: missing; add it."
            )
    return tuple(map(_still_of, entries))


def _still_of(entry: Mapping[str, Any]) -> Still:
    steps, inside = (tuple(map(tuple, entry.get(name, ()))) for name in ("steps", "inside"))
    return Still(entry["cell"], entry["after"], entry["title"], steps, inside)


def lesson_notebook(path: Path) -> nbformat.NotebookNode:
    """Run a lesson and give it back with plain HTML in place of what moves.

    Parameters
    ----------
    path
        The lesson's notebook; its own files lie beside it.

    Returns
    -------
    NotebookNode
        Markdown cells as they are, code cells without code.
    """
    notebook: nbformat.NotebookNode = nbformat.read(path, as_version=4)
    stills = stills_of(path.with_suffix(".toml"))
    names: dict[str, Any] = {}
    sources = {cell.id: cell.source for cell in notebook.cells if cell.cell_type == "code"}
    cells = []
    with contextlib.chdir(path.parent):
        for cell in notebook.cells:
            cells.append(
                _text_cell(cell.source)
                if cell.cell_type == "markdown"
                else _shown_cell(_value(cell.source, names))
            )
            here = [one for one in stills if one.after == cell.id]
            if here:
                cells.append(nbformat.v4.new_markdown_cell(PICTURES))
            cells += _stills(here, lambda name: panel_of(_value(sources[name], names)))
    notebook.cells = cells
    return notebook


def _stills(wanted: list[Still], made: Callable[[str], Any]) -> Iterator[nbformat.NotebookNode]:
    """Show panels at other states, each state from the panel's start."""
    panels: dict[str, tuple[Any, list[tuple[Any, Any]]]] = {}
    for one in wanted:
        if one.cell not in panels:
            panel = made(one.cell)
            panels[one.cell] = panel, stands(panel)
        panel, start = panels[one.cell]
        set_by_hand(panel, one.steps)
        title = f"<h4>{html.escape(one.title)}</h4>"
        seen = panel_html(panel, start=False)
        if one.inside:
            set_by_hand(panel, one.inside)
            seen += folded_html(LOOK_INSIDE, panel_html(panel, start=False))
        yield _html_cell(title + seen)
        if any(len(step) == 1 for step in (*one.steps, *one.inside)):
            del panels[one.cell]  # what a button did is not taken back: the next one is made anew
        else:
            put_back(start)


def _value(source: str, names: dict[str, Any]) -> Any:
    """Run a cell of the course's own; give the value of its last expression, as a notebook does."""
    *body, last = ast.parse(source).body
    if not isinstance(last, ast.Expr):
        body, value = [*body, last], ast.Expression(ast.Constant(None))
    else:
        value = ast.Expression(last.value)
    exec(compile(ast.Module(body, []), "lesson", "exec"), names)
    return eval(compile(ast.fix_missing_locations(value), "lesson", "eval"), names)


def _text_cell(source: str) -> nbformat.NotebookNode:
    """Text with links to the other copies instead of the notebooks."""
    kept = without_what_is_not_here(source, (*NOT_HERE, *FOR_HANDS))
    kept = re.sub(r"\]\((?:\.\./)?(?:lessons/)?(\w+)\.ipynb\)", r"](\1.html)", kept)
    cell: nbformat.NotebookNode = nbformat.v4.new_markdown_cell(kept)
    return cell


def _shown_cell(value: Any) -> nbformat.NotebookNode:
    return _html_cell("" if value is None else still(value))


def _html_cell(text: str) -> nbformat.NotebookNode:
    output = nbformat.v4.new_output("display_data", data={"text/html": text})
    cell: nbformat.NotebookNode = nbformat.v4.new_code_cell("", outputs=[output] if text else [])
    return cell


def write_lesson_pages(course: Path, folder: Path) -> Iterator[Path]:
    """Write a page a lesson and a page that lists them, one after the other.

    Parameters
    ----------
    course
        The course's folder.
    folder
        Where the pages go; made if it is not there. Pages of the same name are written anew.

    Yields
    ------
    Path
        Every page when it is written, the list last.
    """
    lessons = sorted((course / "lessons").glob("[0-9][0-9]_*.ipynb"))
    if not lessons:
        raise ValueError(f"course: got {course}, where no lesson lies; name the course's folder.")
    folder.mkdir(parents=True, exist_ok=True)
    pages = [Page(INDEX, "All lessons", "", ""), *map(_page, lessons)]
    for lesson, page in zip(lessons, pages[1:], strict=True):
        yield _written(lesson_notebook(lesson), page.file, pages, folder)
    yield _written(_list(pages[1:], course), INDEX, pages, folder)


def _page(lesson: Path) -> Page:
    notebook = nbformat.read(lesson, as_version=4)
    title = notebook.cells[0].source.partition("\n")[0].lstrip("# ")
    minutes = MINUTES.search(notebook.cells[0].source)
    number = lesson.stem[:2]
    return Page(f"{lesson.stem}.html", f"Lesson {number}", title, minutes[1] if minutes else "–")


def _list(pages: list[Page], course: Path) -> nbformat.NotebookNode:
    start = nbformat.read(course / "index.ipynb", as_version=4)
    kept = {cell.id: cell.source for cell in start.cells if cell.id in ("order", "cautions")}
    rows = "\n".join(
        f"| [{page.short}: {page.title}]({page.file}) | {page.minutes} |" for page in pages
    )
    text = (
        "# How long is this root canal?\n\nThe lessons of the course as pages that stand still: "
        "what moves in the course is shown here in several states, each with its sentence and its "
        "numbers. Answers to questions are folded: answer first, then open yours. Nothing is "
        f"loaded from anywhere.\n\n| Lesson | Minutes |\n|---|---|\n{rows}"
    )
    cells = [text, *(kept[name] for name in ("order", "cautions"))]
    listed: nbformat.NotebookNode = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_markdown_cell(one) for one in cells],
        metadata={"title": "Lengthwise: the lessons as pages"},
    )
    return listed


def _written(notebook: nbformat.NotebookNode, file: str, pages: list[Page], folder: Path) -> Path:
    path = folder / file
    resources: Mapping[str, Any] = {"pages": pages, "here": file}
    text, _ = _exporter().from_notebook_node(notebook, resources=dict(resources))
    write_whole(path, text)
    return path


def _exporter() -> Any:
    from nbconvert import HTMLExporter  # half a second, and only these pages need it

    templates = data_folder() / "nbconvert" / "templates"
    return HTMLExporter(
        template_name=TEMPLATE,
        extra_template_basedirs=[os.fspath(templates)],
        exclude_anchor_links=True,
        exclude_input=True,
    )
