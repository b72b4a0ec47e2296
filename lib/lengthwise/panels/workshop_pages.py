"""The pages of a workshop, made from the course: no assignments, no notebooks, nothing kept.

People in a workshop see the lessons and practice as pages. What the course says to students who
have a notebook, an assignment, or a computer of their own is left out here, so that there is one
text of each lesson and no second copy to keep.
"""

import re
import shutil
from collections.abc import Sequence
from pathlib import Path

import nbformat

START = "index.ipynb"
PRACTICE = "practice/practice.ipynb"
# What the start page of the course has that a workshop has too: its cells by name.
START_CELLS = ("title", "go", "order", "cautions")
FOR_NOTEBOOKS = "Opened as a notebook?"
NOT_HERE = ("notebook", "assignment", "this computer", "opens as a page")
NOTHING_KEPT = """## How it is going

Nothing is kept in a workshop: leave the page, or load it anew, and practice starts afresh."""
# Every page has its own log, or one person would see what another did.
LOG_OF_ITS_OWN = """import os
import tempfile

os.environ["LENGTHWISE_DATA"] = tempfile.mkdtemp(dir=".")
"""


def pages_of(course: Path) -> list[str]:
    """List the pages of a workshop in the order in which they are wanted, the start page first.

    Examples
    --------
    >>> pages_of(Path("nowhere"))
    ['index.ipynb', 'practice/practice.ipynb']
    """
    lessons = sorted(course.glob("lessons/[0-9][0-9]_*.ipynb"))
    return [START, *(f"lessons/{lesson.name}" for lesson in lessons), PRACTICE]


def without_what_is_not_here(text: str, not_here: Sequence[str] = NOT_HERE) -> str:
    r"""Leave out the sentences that speak of notebooks, assignments or a computer of one's own.

    Tables, lists, quotations and headings stay as they are.

    Examples
    --------
    >>> without_what_is_not_here("Lesson 01.\n\nOpened as a notebook? Choose *Run*.")
    'Lesson 01.'
    >>> without_what_is_not_here("All teeth are invented. Next: the assignment a1_landmarks.")
    'All teeth are invented.'
    """
    kept = []
    for part in text.split("\n\n"):
        sentences = [part]
        if part.startswith(FOR_NOTEBOOKS):
            sentences = []
        elif not re.match(r"[#|>]|[-*] |\d+\. ", part):
            sentences = [
                one
                for one in re.split(r"(?<=[.?!]) +(?=[A-Z*\[])", part)
                if not any(word in one for word in not_here)
            ]
        if sentences:
            kept.append(" ".join(sentences))
    return "\n\n".join(kept)


def lessons_without_code(text: str) -> str:
    r"""Keep of *Where to go* the table of lessons, without its column of assignments.

    Examples
    --------
    >>> lessons_without_code("## Where\n\n## The lessons\n\n| a | b | code |")
    '## The lessons\n\n| a | b |'
    """
    _, heading, rest = text.partition("## The lessons")
    return heading + re.sub(r"(?m)^(\|.*\|)[^|]*\|$", r"\1", rest)


def workshop_start(course_start: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Make the start page of a workshop from that of the course."""
    cells = {cell.id: cell for cell in course_start.cells if cell.id in START_CELLS}
    cells["go"].source = lessons_without_code(cells["go"].source)
    course_start.cells = [cells[name] for name in START_CELLS]
    return course_start


def workshop_practice(practice: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Make practice forget: a log for each page, a sentence that says so, and no word of a file."""
    cells = {cell.id: cell for cell in practice.cells}
    cells["open"].source = LOG_OF_ITS_OWN + cells["open"].source
    cells["progress"].source = NOTHING_KEPT
    practice.cells.remove(cells["kept"])
    return practice


def write_pages(course: Path, folder: Path) -> list[str]:
    """Write the pages, and the questions and cases that lie beside them, into an empty folder.

    Returns
    -------
    list of str
        The pages, as paths from the folder.
    """
    others = shutil.ignore_patterns("*.ipynb", ".*", "__pycache__")
    for kind in ("lessons", "practice"):
        shutil.copytree(course / kind, folder / kind, ignore=others)
    changed = {START: workshop_start, PRACTICE: workshop_practice}
    pages = pages_of(course)
    for page in pages:
        notebook = nbformat.read(course / page, as_version=4)
        if page in changed:
            notebook = changed[page](notebook)
        for cell in notebook.cells:
            if cell.cell_type == "markdown":
                cell.source = without_what_is_not_here(cell.source)
        nbformat.write(notebook, folder / page)
    return pages
