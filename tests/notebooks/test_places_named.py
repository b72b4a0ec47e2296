"""What a student is told to look at again is there: every place named is one of its lesson."""

from __future__ import annotations

import ast
import html
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import nbformat
import pytest
from lengthwise.marking.items import read_items
from test_notebooks_form import COURSE, ROOT, headings

LIBRARY = ROOT / "lib" / "lengthwise"
ITEMS = sorted((COURSE / "items").glob("*.toml"))
LESSONS = sorted((COURSE / "lessons").glob("*.toml"))
GUIDE = sorted((ROOT / "instructor_guide").glob("*.md"))


@cache
def places(lesson: str) -> frozenset[str]:
    """The headings of a lesson and the captions of its stored tables; none of what is not there."""
    found: list[str] = []
    for path in (COURSE / "lessons").glob(f"{lesson}_*.ipynb"):
        found += [title for _, title in headings(nbformat.read(path, as_version=4))]
        stored = path.read_text(encoding="utf-8")
        found += map(html.unescape, re.findall(r"<caption[^>]*>(.*?)</caption>", stored))
    return frozenset(found)


@cache
def labels() -> frozenset[str]:
    """The words on the controls of the panels: the first argument of what makes one."""
    calls = [
        node
        for path in (LIBRARY / "panels").glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and node.args
    ]
    firsts = [call.args[0].value for call in calls if isinstance(call.args[0], ast.Constant)]
    return frozenset(first for first in firsts if isinstance(first, str) and " " in first)


def named_in(text: str) -> Iterator[tuple[str, str]]:
    """Lesson and place of every “(lesson 04, The procedure; lesson 05, …)”."""
    for bracket in re.findall(r"\((lesson [^()]*)\)", " ".join(text.split())):
        for lesson, place in re.findall(r"lesson (\d\d), ([^;]+)", bracket):
            for one in re.findall(r"\*([^*]+)\*", place) or [place]:
                yield lesson, one.strip()


def missing(text: str) -> list[str]:
    """What a text names and no lesson has; a row of a table may follow its heading."""
    return [
        f"lesson {lesson}, {place}"
        for lesson, place in named_in(text)
        if place.removesuffix(", last row") not in places(lesson)
    ]


def told(path: Path) -> str:
    """All strings of a module, as they are put together."""
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    strings = [node.value for node in nodes if isinstance(node, ast.Constant)]
    return "\n".join(one for one in strings if isinstance(one, str))


@pytest.mark.parametrize("path", ITEMS, ids=lambda path: path.stem)
def test_every_wrong_option_names_a_place_of_a_lesson_and_it_is_there(path: Path) -> None:
    for item in read_items(path).values():
        for option in item.options:
            assert missing(option.feedback) == []
            assert option.correct or any(named_in(option.feedback)), option.feedback


def test_the_marks_and_the_guide_name_places_that_are_there() -> None:
    modules = [told(path) for path in sorted((LIBRARY / "marking").glob("*.py"))]
    pages = [path.read_text(encoding="utf-8") for path in GUIDE]
    assert [fault for text in modules + pages for fault in missing(text)] == []
    assert sum(1 for text in modules for _ in named_in(text)) > 20


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lessons_own_feedback_names_places_of_the_lesson_or_of_its_panel(path: Path) -> None:
    there = tuple(places(path.stem[:2]) | labels())
    for item in read_items(path).values():
        for option in item.options:
            pattern = r"ook again at (?:the table under )?([A-Z].*)"
            for rest in re.findall(pattern, option.feedback):
                assert rest.startswith(there), rest
            assert missing(option.feedback) == []


def test_a_place_that_is_not_there_is_noticed() -> None:
    assert missing("Look again (lesson 05, A point is a sponge; lesson 04, *The procedure*).") == []
    assert missing("Look again (lesson 05, drift).") == ["lesson 05, drift"]
    assert missing("(lesson 09, *One* and *Two*)") == ["lesson 09, One", "lesson 09, Two"]
    assert missing("(lesson 03, Three signs, last row)") == []


LIMIT = (
    "1 mm beyond the estimated length or a foramen signal whose three signs hold, whichever is "
    "further"
)


@pytest.mark.parametrize(
    "where",
    [
        "course/lessons/04_paper_tells_the_truth_briefly.ipynb",
        "course/lessons/05_when_the_canal_will_not_stay_dry.ipynb",
        "course/practice/practice.ipynb",
        "instructor_guide/handout.html",
        "instructor_guide/misconceptions.md",
        "lib/lengthwise/marking/not_yet.py",
        "lib/lengthwise/marking/rounds_rules.py",
    ],
)
def test_how_far_a_point_may_go_is_told_in_the_same_words_everywhere(where: str) -> None:
    path = ROOT / where
    text = told(path) if path.suffix == ".py" else path.read_text(encoding="utf-8")
    assert LIMIT in " ".join(text.replace("**", "").split())


# A part of it would forbid what the whole allows, or allow what the whole forbids. The panel of
# practice works out which of the two counts, and says "The limit is … now: 1 mm beyond …".
WHOLE = re.compile(LIMIT.replace("length or", r"length (?:\([^()]*\) )?or"))
IN_PART = re.compile(
    r"(?<!now: )(?:1 mm|a millimetre) (?:beyond|past) the "
    r"(?:estimate\b|estimated|(?:foramen )?signal)",
    re.IGNORECASE,
)


def in_part(text: str) -> list[str]:
    """The places where the limit is told, and not all of it."""
    plain = " ".join(re.sub(r'\*\*|\\n",?|(?<=\n)\s+"', " ", text).split())
    return IN_PART.findall(WHOLE.sub("", plain))


def test_how_far_a_point_may_go_is_told_whole_or_not_at_all() -> None:
    pages = [path for kind in ("ipynb", "toml", "md") for path in COURSE.rglob(f"*.{kind}")]
    pages += [*GUIDE, *(ROOT / "instructor_guide").glob("*.html")]
    shown = {path: path.read_text(encoding="utf-8") for path in pages}
    shown |= {path: told(path) for path in (LIBRARY / "marking").glob("*.py")}
    shown |= {path: told(path) for path in (LIBRARY / "panels").glob("*.py")}
    assert {path.name: found for path, text in shown.items() if (found := in_part(text))} == {}


@pytest.mark.parametrize(
    "words",
    ["stop 1 mm beyond the estimate; ask", "1 mm **beyond** the estimated length. Then",
     "A millimetre past the signal is where", "a millimetre beyond the foramen signal"],
)  # fmt: skip
def test_a_limit_told_in_part_is_noticed(words: str) -> None:
    assert in_part(words)
    assert not in_part(f"Never more than {LIMIT}.")
