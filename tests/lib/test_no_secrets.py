"""Keys, truths and secrets stay with the instructor: not in the library, its wheel, a release."""

from __future__ import annotations

import json

import house
import numpy as np
import pytest
from lengthwise.classroom.answer_key import AnswerKey, StudentKey
from lengthwise.classroom.release import cases_json
from lengthwise.marking.casebook import COMPOSERS, draw_assignment
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import Case
from lengthwise.marking.items import read_items, shuffled

FOR_EVERYBODY = ("lib", "datasets", "course/source", "course/lessons", "course/practice")
KEPT_FIELDS = (
    *('"expected":', '"slips":', '"solution":', '"also":', '"full":', '"nothing":'),
    *('"foramen_mm":', '"trap":', '"misconception":', '"correct":', '"feedback":'),
)


def given_away(told: str, cases: dict[str, Case]) -> list[str]:
    """What the text of a release says of the answers to these cases."""
    found = [field for field in KEPT_FIELDS if field in told]
    words = house.words_of(told)
    for name, case in cases.items():
        if isinstance(case, Exercise):
            slips = [slip.sentence for each in case.asked for slip in each.slips]
            kept = [house.words_of(text)[:60] for text in (case.solution, *slips)]
            found += [f"{name}: {text}" for text in kept if text and text in words]
        elif repr(case.foramen_mm) in told:
            found.append(f"{name}: the foramen")
    return found


def test_no_file_for_everybody_holds_a_word_of_the_items() -> None:
    items = house.item_words(house.ROOT / "course" / "items")
    assert len(items) > 100
    texts = {
        path.relative_to(house.ROOT).as_posix(): path.read_text(encoding="utf-8")
        for path in house.project_files()
        if path.relative_to(house.ROOT).as_posix().startswith(FOR_EVERYBODY)
        and path.suffix in (".py", ".ipynb", ".toml", ".csv", ".json", ".md", ".js", ".css")
    }
    assert len(texts) > 150
    assert house.telling(texts, items) == []


@pytest.mark.parametrize("field", ["stem", "text", "feedback"])
def test_an_item_that_slipped_into_a_notebook_is_found(field: str) -> None:
    folder = house.ROOT / "course" / "items"
    first = read_items(folder / "a6_reconcile.toml")["i1"]
    option = first.options[1]
    text = {"stem": first.stem, "text": option.text, "feedback": option.feedback}[field]
    planted = json.dumps({"cells": [{"source": ["x\n", f"As they say:\n{text}"]}]})
    assert house.telling({"planted.ipynb": planted}, house.item_words(folder))


@pytest.mark.slow
@pytest.mark.parametrize("assignment", COMPOSERS)
def test_what_a_release_tells_of_the_cases_is_no_answer(assignment: str) -> None:
    rng = np.random.default_rng(7)
    cases = draw_assignment(assignment, target_mm=0.5, rng=rng)
    items = read_items(house.ROOT / "course" / "items" / f"{assignment}.toml")
    lettered = {name: shuffled(item, rng) for name, item in items.items()}
    key = AnswerKey("spring", assignment, {"ada": StudentKey(cases, lettered)})
    told = cases_json(key, 0.5)
    assert given_away(told, cases) == []
    feedback = {house.words_of(one.feedback)[:60] for i in items.values() for one in i.options}
    assert not [text for text in feedback if text in house.words_of(told)]
    # The check can fail: the instructor's own form of each case is found out.
    for name, case in cases.items():
        assert given_away(told + case.to_json(), {name: case}), name


def test_no_class_lies_in_the_project() -> None:
    names = {path.name for path in house.project_files()}
    assert not names & {"secret", "gradebook.db", "class.toml"}
