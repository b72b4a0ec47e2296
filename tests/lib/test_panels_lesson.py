"""Lessons: their cases read, their questions diagnose, their predictions are compared fairly."""

from __future__ import annotations

import itertools
from collections import Counter
from pathlib import Path

import pytest
from lengthwise.marking.items import Item, read_items
from lengthwise.panels.asked_first import STANDS_HERE
from lengthwise.panels.case_view import written
from lengthwise.panels.check_items import CHOOSE_FIRST, check_item
from lengthwise.panels.lesson import Lesson, open_lesson
from lengthwise.panels.prediction import BEFORE, NOT_MOVED, comparison

ROOT = Path(__file__).resolve().parents[2]
LESSONS = sorted(
    path
    for path in (ROOT / "course" / "lessons").glob("*.ipynb")
    if path.with_suffix(".csv").is_file() and path.with_suffix(".toml").is_file()
)


@pytest.fixture(params=LESSONS, ids=lambda path: path.stem)
def lesson(request: pytest.FixtureRequest) -> Lesson:
    return open_lesson(request.param.stem, request.param.parent)


def test_every_case_is_put_into_words(lesson: Lesson) -> None:
    assert lesson.cases
    for evidence in lesson.cases.values():
        shown = written(evidence)
        more = sum(", twice" in line for line in shown.lines)
        assert len(shown.lines) + more == len(evidence.records)
        assert shown._repr_html_().count("<li>") == len(shown.lines) == len(set(shown.lines))


def test_three_or_four_questions_each_diagnose_a_named_belief(lesson: Lesson) -> None:
    assert 3 <= len(lesson.items) <= 4
    for item in lesson.items.values():
        wrong = [option for option in item.options if not option.correct]
        assert wrong
        assert all(option.misconception for option in wrong)


def test_no_answer_is_just_called_wrong(lesson: Lesson) -> None:
    for item in lesson.items.values():
        for option in item.options:
            words = option.feedback.lower().split()
            assert len(words) >= 15, option.feedback
            assert words[0].strip(",.:") not in ("wrong", "no", "incorrect", "false")
            assert option.correct or "look again" in option.feedback.lower()


def test_the_right_answer_is_not_always_in_the_same_place(lesson: Lesson) -> None:
    places = {
        next(i for i, option in enumerate(item.options) if option.correct)
        for item in lesson.items.values()
    }
    assert len(places) > 1


def test_neither_the_length_nor_the_place_of_an_option_gives_the_answer_away() -> None:
    asked = [
        item
        for path in (ROOT / "course" / "lessons").glob("*.toml")
        for item in read_items(path).values()
    ]
    longest, shortest = 0, 0
    places: Counter[int] = Counter()
    for item in asked:
        lengths = [len(option.text) for option in item.options]
        right = next(i for i, option in enumerate(item.options) if option.correct)
        longest += lengths[right] == max(lengths)
        shortest += lengths[right] == min(lengths)
        places[right] += 1
    assert longest <= 0.4 * len(asked)
    assert shortest <= 0.4 * len(asked)
    assert all(0.2 <= places[place] / len(asked) <= 0.45 for place in range(3)), places


def test_every_answer_gets_its_own_feedback(lesson: Lesson) -> None:
    item: Item
    for item in lesson.items.values():
        asked = check_item(item)
        asked.button.click()
        assert asked.feedback.text == CHOOSE_FIRST
        for option in item.options:
            asked.answers.value = option.text
            asked.button.click()
            assert asked.feedback.text.endswith(option.feedback)
            assert asked.feedback.text.startswith("Not this one.") is not option.correct
        asked.button.click()
        assert asked.feedback.again == 1, "the same answer, pressed twice, is said twice"
        assert asked._repr_mimebundle_()["text/plain"].startswith(item.stem)


def test_lessons_and_questions_that_do_not_exist_are_named(lesson: Lesson) -> None:
    with pytest.raises(ValueError, match="name: got 'nowhere'"):
        lesson.case("nowhere")
    with pytest.raises(ValueError, match="name: got 'nothing'"):
        lesson.check("nothing")


@pytest.fixture
def ruler_lesson() -> Lesson:
    return open_lesson("06_one_ruler", ROOT / "course" / "lessons")


def test_the_ruler_appears_only_when_an_interval_is_committed(ruler_lesson: Lesson) -> None:
    asked = ruler_lesson.predict("odd one", "reading")
    assert asked.panel.widget.layout.display == "none"
    assert asked._repr_mimebundle_()["text/plain"] == BEFORE
    asked.low.value = 25.5
    asked.button.click()
    assert asked.answer.text == NOT_MOVED, "the other number is not the student's own"
    asked.high.value = 25.0
    asked.button.click()
    assert "make the first end the smaller one" in asked.answer.text
    assert asked.panel.widget.layout.display == "none"
    assert asked.behind._repr_mimebundle_()["text/plain"] == STANDS_HERE
    asked.low.value, asked.high.value = 24.9, 25.9
    asked.button.click()
    assert asked.panel.widget.layout.display == ""
    assert asked.behind.place.text == "", "over the picture nothing says that it is to come"
    assert asked.low.disabled
    assert asked.high.disabled
    # The button keeps the focus of the keyboard, and says the same again.
    assert (asked.button.description, asked.button.disabled) == ("Committed", False)
    asked.button.click()
    assert asked.answer.again == 1


def test_an_interval_is_compared_by_its_place_and_by_its_width(ruler_lesson: Lesson) -> None:
    result = ruler_lesson.weighed("odd one")
    low, high = result.interval_mm()
    middle = result.foramen_mm
    assert "nine times in ten" in comparison(result, low - 0.1, high + 0.1)
    assert "promise a little more" in comparison(result, low - 2, high + 2)
    assert "more often than you think" in comparison(result, middle - 0.1, middle + 0.1)
    assert "too near the crown" in comparison(result, low - 3, low - 1)
    assert "too far from the crown" in comparison(result, high + 1, high + 3)


def test_an_interval_in_the_wrong_place_is_told_so_first_however_narrow(
    ruler_lesson: Lesson,
) -> None:
    """Beside the reading, the commonest wrong answer; and within what the sources leave open."""
    result = ruler_lesson.weighed("odd one")
    beside = comparison(result, 23.0, 23.2)
    assert "too near the crown: look which source pulled you" in beside
    assert "narrow" not in beside
    low, _ = result.interval_mm()
    overlapping = comparison(result, low - 0.4, low + 0.05)
    assert "too near the crown: look which source pulled you" in overlapping
    assert "narrow" not in overlapping
    within = comparison(result, 25.0, 25.55)
    assert "make its larger number larger" in within
    assert "drop it" not in within


def test_the_worked_example_agrees_and_the_odd_one_does_not(ruler_lesson: Lesson) -> None:
    assert ruler_lesson.weighed("agreeing").conflict < 1
    assert ruler_lesson.weighed("odd one").conflict > 2


def test_a_straying_reading_pulls_the_mean_all_the_way_and_the_answer_only_at_first(
    ruler_lesson: Lesson,
) -> None:
    # What the lesson tells the student to see.
    from lengthwise.panels.moves import move
    from lengthwise.panels.ruler_words import plain_mean_mm
    from lengthwise.reconciliation import reconcile, sources_of

    moving = move(ruler_lesson.case("odd one"), "reading")
    cases = [moving.applied(mm) for mm in (25.5, 24.7, 24.0, 21.0)]
    answers = [reconcile(case, target_mm=0.5).foramen_mm for case in cases]
    means = [plain_mean_mm(case, sources_of(case)) or 0.0 for case in cases]
    assert all(after < before - 0.2 for before, after in itertools.pairwise(means))
    assert min(answers) < answers[0] - 0.05
    assert answers[-1] > min(answers) + 0.05
    assert max(answers) - min(answers) < 0.5


def test_without_the_paper_points_no_length_is_taken(ruler_lesson: Lesson) -> None:
    panel = ruler_lesson.ruler("odd one", "reading")
    paper = next(control for control in panel.trust if control.label == "Paper points")
    paper.value = "drop"
    assert "not yet" in panel.sentence.text
    paper.value = "keep"
    assert "not yet" not in panel.sentence.text


def test_eight_repeats_narrow_the_interval_far_less_than_the_square_root_of_eight(
    ruler_lesson: Lesson,
) -> None:
    from lengthwise.panels.moves import move
    from lengthwise.reconciliation import reconcile

    moving = move(ruler_lesson.case("repeats"), "repeats")
    widths = []
    for count in (1, 8):
        low, high = reconcile(moving.applied(count), target_mm=0.5).interval_mm()
        widths.append(high - low)
    assert widths[1] > 0.6 * widths[0]
    # The question in the lesson names these two widths.
    assert widths == pytest.approx([1.1, 0.85], abs=0.15)
