"""What a student is shown of a question, whichever kind it is, in a notebook and on a page."""

from __future__ import annotations

import html
import json
from dataclasses import dataclass
from typing import Any, Protocol

from lengthwise.classroom.evidence_tables import CaseView, case_view
from lengthwise.evidence import Evidence
from lengthwise.marking.exercise import sheets_from
from lengthwise.marking.graded_case import Case, shown_json


class View(Protocol):
    """Something on show: HTML in a browser, plain text elsewhere."""

    def _repr_html_(self) -> str: ...


@dataclass(frozen=True)
class ExerciseView:
    """An exercise on show: its text and first table, its picture with words, further tables.

    Tables under a picture say the same in numbers; they are folded away until they are wanted.
    """

    case: CaseView
    picture: str
    picture_words: str

    def _repr_html_(self) -> str:
        if not self.picture:
            return self.case._repr_html_()
        first, *folded = self.case.tables
        above = CaseView(self.case.title, self.case.opening, (first,))
        words, source = (html.escape(text) for text in (self.picture_words, self.picture))
        parts = [above._repr_html_(), f'<img alt="{words}" src="{source}" style="max-width: 100%">']
        for table in folded:
            name = html.escape(table.caption)
            parts.append(f"<details><summary>Open the table: {name}</summary>")
            parts.append(f"{table._repr_html_()}</details>")
        return "\n".join(parts)

    def __repr__(self) -> str:
        return "\n\n".join(part for part in (repr(self.case), self.picture_words) if part)


def view_of(name: str, case: Case) -> CaseView | ExerciseView:
    """A question of the instructor's key, as the student saw it."""
    return view_of_shown(name, json.loads(shown_json(case)))


def view_of_shown(name: str, shown: dict[str, Any]) -> CaseView | ExerciseView:
    """A question as it stands in ``cases.json``."""
    if "asked" not in shown:
        return case_view(name, Evidence.from_json(json.dumps(shown)))
    opening = CaseView(f"Case {name}.", str(shown["told"]), sheets_from(shown["sheets"]))
    return ExerciseView(opening, str(shown["picture"]), str(shown["picture_words"]))
