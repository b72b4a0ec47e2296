"""Feedback pages: nbgrader writes one a student through `FeedbackExporter`, and a zip holds all."""

from __future__ import annotations

import html
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nbconvert.exporters import Exporter
from nbconvert.filters import markdown2html
from nbgrader.api import Gradebook

from lengthwise.classroom.answers_so_far import is_touched
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.feedback_page import Feedback, Question, below, page, short_of, title_of
from lengthwise.classroom.mark_cells import OURS, remarks_only
from lengthwise.classroom.marks_table import part_name, place_of
from lengthwise.whole_file import making

UNTIL_MARKED = "What the evidence supports stands here when your instructor has marked this."


class FeedbackExporter(Exporter):
    """In place of nbgrader's page, which fetches scripts and buries the result."""

    file_extension = ".html"
    output_mimetype = "text/html"

    def from_notebook_node(  # type: ignore[override]  # a page is text, as of every such exporter
        self, nb: Any, resources: Any = None, **kw: Any
    ) -> tuple[str, Any]:
        """The page of a marked notebook, with points and comments as the gradebook has them."""
        nb, resources = super().from_notebook_node(nb, resources, **kw)
        where = resources["nbgrader"]
        with Gradebook(where["db_url"]) as gradebook:
            saved = gradebook.find_submission_notebook(
                where["notebook"], where["assignment"], where["student"]
            )
            given = Given(
                {one.name: (float(one.score), one.needs_manual_grade) for one in saved.grades},
                {one.name: one.comment or "" for one in saved.comments},
                saved.late_submission_penalty or 0.0,
            )
        return page(feedback_of(nb, where["student"], given)), resources


@dataclass(frozen=True)
class Given:
    """What the gradebook says: score and whether it waits, comments, what lateness took."""

    scores: Mapping[str, tuple[float, bool]]
    comments: Mapping[str, str]
    late: float = 0.0


def feedback_of(notebook: Any, student: str, given: Given) -> Feedback:
    """What a student is told of a marked notebook."""
    cells = notebook["cells"]
    texts = {label(cell) or str(cell.get("id")): source_of(cell) for cell in cells}
    outputs = {label(cell) or str(cell.get("id")): cell.get("outputs", []) for cell in cells}
    graded = [cell for cell in cells if label(cell) in given.scores]
    graded.sort(key=lambda cell: place_of(label(cell)))
    opening = next((source_of(cell) for cell in cells if source_of(cell).startswith("# ")), "#")
    again = str(notebook["metadata"].get(OURS, {}).get("again", ""))
    return Feedback(
        title=opening.splitlines()[0].lstrip("# "),
        student=student,
        questions=tuple(_question(cell, texts, outputs, given) for cell in graded),
        again=below("h3", markdown2html(again)) if again else "",
        late=given.late,
    )


def _question(
    cell: Any, texts: Mapping[str, str], outputs: Mapping[str, list[Any]], given: Given
) -> Question:
    name = part_name(label(cell))
    points, waits = given.scores[label(cell)]
    most = float(cell["metadata"]["nbgrader"]["points"])
    explained = _first(outputs[label(cell)], "text/markdown")
    brief = cell["metadata"].get(OURS, {})
    supported = brief.get("supported", "")
    if waits and explained:  # whoever is asked about an answer must not read there what is right
        explained = "\n\n".join(filter(None, (remarks_only(explained), UNTIL_MARKED)))
        supported = ""
    asked = _first(
        [*outputs.get(f"{name}_case", ()), *outputs.get(f"{name}_item", ())], "text/html"
    )
    if not asked and cell["cell_type"] == "markdown":  # a written reason: its question and rubric
        asked = below("h4", markdown2html(_without_title(texts.get(f"{name}_text", ""))))
    answer = {"cell_type": cell["cell_type"], "source": texts.get(name, "")}
    answered = points > 0 or is_touched(answer)
    return Question(
        name=name,
        title=title_of(texts, name),
        points=points,
        most=most,
        yours=brief.get("yours", "") if answered else "",
        supported=supported,
        asked=below("h4", asked),
        answer=html.unescape(texts.get(name, "")),
        explanation=below("h4", markdown2html(explained)) if explained else "",
        phrase=short_of(explained, points / most if most else 1.0) if answered else "not answered",
        comment=given.comments.get(name, ""),
        waits=waits,
        answered=answered,
    )


def _first(outputs: Iterable[Any], kind: str) -> str:
    return next((str(one["data"][kind]) for one in outputs if kind in one.get("data", {})), "")


def _without_title(text: str) -> str:
    return "\n".join(line for line in text.splitlines() if not line.startswith("#"))


def page_path(taught: ClassFolder, student: str, assignment: str) -> Path:
    """Where a student's feedback page is."""
    return taught.root / "feedback" / student / assignment / f"{assignment}.html"


def zip_pages(taught: ClassFolder, assignment: str, students: Iterable[str]) -> Path:
    """Put every student's page into one zip and return its path."""
    target = taught.root / "feedback" / f"{assignment}.zip"
    with (
        making(target) as path,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        for student in sorted(students):
            archive.write(page_path(taught, student, assignment), f"{student}/{assignment}.html")
    return target
