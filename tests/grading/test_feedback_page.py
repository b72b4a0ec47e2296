"""The feedback page: the result first and short, everything in it, nothing of a student's runs."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from lengthwise.classroom.feedback import UNTIL_MARKED, Given, feedback_of
from lengthwise.classroom.feedback_page import Feedback, Question, below, page, short_of
from lengthwise.evidence import Context, ElectronicReading, Evidence
from lengthwise.marking import Determination, GradedCase, mark
from lengthwise.marking.diagnosis import Named, summary_of

SCRIPT = "<script>alert(1)</script>"
WORST_TITLE, NEXT_TITLE = "Second case", "First case"


def notebook(again: str = "", reason: str = "The film, taken at an angle.") -> dict[str, Any]:
    """A marked notebook as `mark_step` leaves it, as small as it can be."""

    def cell(name: str, source: str, kind: str = "code", **ours: Any) -> dict[str, Any]:
        return {
            "cell_type": kind, "id": name, "source": source, "outputs": [],
            "metadata": {"nbgrader": {"grade_id": name, **ours}},
        }  # fmt: skip

    def shown(**data: str) -> dict[str, Any]:
        kinds = {name.replace("_", "/"): text for name, text in data.items()}
        return {"output_type": "display_data", "data": kinds}

    cells = [cell("opening", "# One ruler\n\nThree cases.", "markdown")]
    for name, title in (("q1", NEXT_TITLE), ("q2", WORST_TITLE)):
        check = cell(f"{name}_check", "check()", grade=True, points=4)
        check["outputs"] = [shown(text_markdown=f"**Half of {name}.** Because.\n\n## Sources\n\nx")]
        check["metadata"]["lengthwise"] = {"yours": "24.5 mm", "supported": "not yet (dry)"}
        case = cell(f"{name}_case", f'show_case("{name}")')
        case["outputs"] = [shown(text_html=f"<table><caption>Records of {name}</caption></table>")]
        answer = cell(name, f"{name}_mm = 24.5  # {SCRIPT}", solution=True)
        cells += [cell(f"{name}_text", f"## {title}\n\nRun it.", "markdown"), case, answer, check]
    cells += [
        cell(
            "reason_text", "## Your reason\n\n| points | what |\n|---|---|\n| 4 | all |", "markdown"
        ),
        cell("reason", reason, "markdown", solution=True, grade=True, points=4),
    ]
    return {"cells": cells, "metadata": {"lengthwise": {"again": again}}}


GIVEN = Given(
    {"q1_check": (2.0, False), "q2_check": (0.5, False), "reason": (0.0, True)},
    {"reason": "Which film? " + SCRIPT},
)


def made(again: str = "", given: Given = GIVEN, **kw: str) -> str:
    return page(feedback_of(notebook(again, **kw), "ada", given))


def before_the_details(text: str) -> str:
    return text[text.index("<body>") : text.index("<details")]


def test_the_page_opens_with_the_total_a_row_a_question_and_what_to_look_at_again() -> None:
    first = before_the_details(made())
    assert "2.50 of 12 points" in first
    assert "Still to be marked by your instructor: reason." in first
    assert first.count("<tr>") == 1 + 3
    for told in ("24.50&nbsp;mm", "not yet (dry)", "Half of q2", "– of 4", "0.50 of 4"):
        assert told in first
    again = first[first.index("What to look at again") :]
    assert again.index(WORST_TITLE) < again.index(NEXT_TITLE)
    assert again.count("<li>") == 2
    assert "Records of" not in first


def test_what_is_right_is_not_told_of_a_question_that_waits_until_it_is_marked() -> None:
    marked = notebook()
    check = next(cell for cell in marked["cells"] if cell["id"] == "q2_check")
    told = "- Not used: no length.\n- Your instructor is told.\n\n**Supported: 20.50 mm.**"
    check["outputs"][0]["data"]["text/markdown"] = told
    check["metadata"]["lengthwise"]["supported"] = "20.50 mm"

    def shown(waits: bool) -> str:
        given = replace(GIVEN, scores={**GIVEN.scores, "q2_check": (0.0, waits)})
        return page(feedback_of(marked, "ada", given))

    assert "20.50" not in shown(waits=True)
    assert "Not used: no length" in shown(waits=True)
    assert UNTIL_MARKED in shown(waits=True)
    assert "Supported: 20.50 mm" in shown(waits=False)
    assert UNTIL_MARKED not in shown(waits=False)


def test_beliefs_that_all_answers_look_like_come_before_single_losses() -> None:
    first = before_the_details(made(summary_of([Named("M7", ("q1", "q2"), ("q1: a", "q2: b"))])))
    again = first[first.index("What to look at again") :]
    assert "every source deserved the same weight" in again
    assert "Most was lost" not in again


def test_a_question_that_was_never_answered_is_called_so_and_is_to_look_at_again() -> None:
    blank = notebook()
    for cell in blank["cells"]:
        if cell["id"] == "q2":
            cell["source"] = "q2_mm = ...  # a number"
        if cell["id"] == "q2_check":
            cell["metadata"]["lengthwise"]["yours"] = "no length"
    given = Given({"q1_check": (2.0, False), "q2_check": (0.0, False)}, {})
    first = before_the_details(page(feedback_of(blank, "ada", given)))
    row, again = first[first.index('href="#q2"') :].split("What to look at again")
    assert "not answered" in row
    assert "no length" not in row
    assert f'Not answered, so nothing is earned: <a href="#q2">{WORST_TITLE}</a>.' in again
    assert f"{NEXT_TITLE}</a>: Half of q1" in again


def test_full_marks_have_nothing_to_look_at_again() -> None:
    given = Given(dict.fromkeys(GIVEN.scores, (4.0, False)), {})
    assert "Nothing: every answer" in made(given=given)


def test_folded_away_is_everything_of_a_question() -> None:
    folded = made().split("<details")[1:]
    assert len(folded) == 3
    for told in ("Records of q1", "q1_mm = 24.5", "Half of q1", "<h4>Sources"):
        assert told in folded[0]
    assert "<td>all</td>" in folded[2]  # the rubric
    assert "The film, taken at an angle." in folded[2]
    assert "Which film?" in folded[2]


@pytest.mark.parametrize("text", [SCRIPT, "&lt;script>alert(1)</script>"])
def test_what_a_student_or_instructor_typed_is_text(text: str) -> None:
    shown = made(reason=text)
    assert "<script" not in shown
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in shown


def test_headings_are_in_order_and_every_link_leads_somewhere() -> None:
    class Seen(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.ranks: list[int] = []
            self.links: set[str] = set()
            self.ids: set[str] = set()

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            told = dict(attrs)
            if re.fullmatch("h[1-6]", tag):
                self.ranks.append(int(tag[1]))
            if told.get("href"):
                self.links.add(str(told["href"]))
            if told.get("id"):
                self.ids.add(f"#{told['id']}")

    seen = Seen()
    seen.feed(made())
    assert seen.ranks[0] == 1
    assert all(b <= a + 1 for a, b in zip(seen.ranks, seen.ranks[1:], strict=False))
    assert seen.links == {"#q1", "#q2", "#reason"} <= seen.ids


def test_late_points_are_taken_off_and_said() -> None:
    late = page(Feedback("One", "ada", (Question("q1", "First", 3.0, 4.0),), late=0.5))
    assert "2.50 of 4 points" in late
    assert "0.50 points were taken off" in late


def far_past(tooth: str, near: bool) -> GradedCase:
    evidence = Evidence(
        tooth=tooth,
        canal="single",
        reference_point="cusp tip",
        context=Context(near_nerve_or_sinus=near),
        records=(ElectronicReading(foramen_signal_mm=21.0),),
    )
    return GradedCase(evidence, target_mm=0.5, foramen_mm=21.2, trap="none")


@pytest.mark.parametrize(
    ("tooth", "near", "said"),
    [
        ("13", False, "Safety: this length ends 13.8 mm past the foramen and can injure what lies"),
        ("35", True, "past the foramen and can injure a nerve that is near"),
        ("15", True, "past the foramen and can injure the sinus that is near"),
    ],
)
def test_a_length_far_past_the_foramen_is_told_as_a_danger_on_the_visible_page(
    tooth: str, near: bool, said: str
) -> None:
    case = far_past(tooth, near)
    marks = mark(Determination(35.5, 35.0, 35.0, 36.0), case)
    phrase = short_of(marks.explanation, marks.share)
    assert said in phrase
    assert not phrase.endswith("…")
    row = page(Feedback("One", "ada", (Question("q1", "First", 0.0, 4.0, phrase=phrase),)))
    assert said in row.split("<details")[0]
    # The same words stand first where a story of rounds goes before.
    assert short_of(f"**Your rounds**\n\n1. dry.\n\n{marks.explanation}", 0.0) == phrase


def test_a_length_a_little_long_is_told_as_before() -> None:
    marks = mark(Determination(21.9, 21.6, 21.5, 22.5), far_past("35", near=True))
    assert "Safety" not in marks.explanation


def test_the_phrase_is_the_result_line_and_short() -> None:
    assert short_of("**Length: 0.75 mm short (50 % of its half).** More.", 0.5) == (
        "Length: 0.75 mm short"
    )
    assert short_of("a" * 10 + " b" * 200 + ".", 0.2).endswith(" …")
    assert below("h4", '<h2 id="x">A</h2><hr>') == "<h4>A</h4><hr>"
