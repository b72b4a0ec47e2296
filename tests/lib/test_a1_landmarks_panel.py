"""The panel of lesson 01, swept without a kernel; and what the lesson says in numbers is true."""

from __future__ import annotations

import itertools
import json
import re
from pathlib import Path

import numpy as np
import pytest
from lengthwise.panels.asked_first import SET_AND_COMMIT
from lengthwise.panels.landmarks_lesson import (
    average_table,
    compared,
    guess_off,
    off_in_100,
    open_landmarks_lesson,
    tip_table,
)
from lengthwise.panels.landmarks_panel import (
    TEETH,
    LandmarksPanel,
    landmarks_panel,
    population,
    section_of,
)
from lengthwise.panels.landmarks_picture import (
    LABELS,
    LONGEST_MM,
    WORDS_APART_MM,
    draw_landmarks,
)
from lengthwise.reference.tables import tooth
from matplotlib.backends.backend_agg import FigureCanvasAgg

LESSON = Path(__file__).resolve().parents[2] / "course" / "lessons" / "01_where_a_canal_ends.ipynb"


@pytest.fixture
def panel() -> LandmarksPanel:
    return landmarks_panel()


def picture(panel: LandmarksPanel) -> str:
    return str(panel.picture.live.widget.value)


def marks(panel: LandmarksPanel) -> dict[str, float]:
    drawn = panel.picture.drawing.words.values()
    found = [re.fullmatch(r"(.+) (-?\d+\.\d)", words.get_text()) for words in drawn]
    return {match[1]: float(match[2]) for match in found if match}


def test_the_sentence_counts_what_the_population_holds(panel: LandmarksPanel) -> None:
    """Counted a second time from the 1 000 canals."""
    canals, average = population("13"), tooth("13").overall_mean_mm
    off = np.sum(np.abs(canals.apex_mm - average) > 0.5) / 10
    longest = np.sort(canals.apex_mm)[-100:].mean() - average
    past = np.sum(canals.foramen_mm < average - 0.39 - 0.5) / 10
    assert f"off in {off:.0f};" in panel.sentence.text
    assert f"longest tenth it is {longest:.1f} mm short" in panel.sentence.text
    assert f"foramen in {past:.0f} of 100" in panel.sentence.text


def test_sentence_and_picture_tell_the_same_working_length_at_every_target(
    panel: LandmarksPanel,
) -> None:
    for place, target in itertools.product((1, 20, 44, 90), (0.0, 0.25, 0.5, 0.75, 1.25)):
        panel.place.value, panel.target.value = place, target
        drawn = panel.picture.drawing.words["working length"].get_text()
        told = re.findall(
            r"the foramen at ([\d.]+), the working length at ([\d.]+)\.", panel.sentence.text
        )
        foramen, length = told[0]
        assert drawn == f"working length {length}"
        assert float(foramen) - float(length) == pytest.approx(target)


def test_its_text_is_its_sentence_and_its_picture_says_the_same(panel: LandmarksPanel) -> None:
    bundle = panel._repr_mimebundle_()
    assert bundle["text/plain"] == panel.sentence.text
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert f'alt="{panel.sentence.text}"' in picture(panel)


def test_every_position_of_every_control_gives_a_picture_and_a_sentence() -> None:
    panel = landmarks_panel()
    grid = itertools.product(TEETH, (1, 50, 99), (0.0, 0.5, 2.5), (18, 80), (0.0, 2.0))
    for kind, place, short, age, target in itertools.islice(grid, 0, None, 7):
        panel.tooth.value, panel.place.value, panel.short.value = kind, place, short
        panel.age.value, panel.target.value = age, target
        assert f'alt="{panel.sentence.text}"' in picture(panel)
        assert panel.sentence.text.count(".") >= 3
        assert set(marks(panel)) == set(LABELS)


@pytest.mark.parametrize(
    ("control", "value", "moves", "stays"),
    [
        ("short", 2.0, {"constriction", "working length", "foramen"}, {"anatomical apex"}),
        ("target", 2.0, {"working length"}, {"foramen", "constriction", "anatomical apex"}),
        ("age", 80, {"constriction"}, {"foramen", "working length", "anatomical apex"}),
        ("place", 20, {"foramen", "anatomical apex", "crown meets root"}, {"textbook average"}),
    ],
)
def test_a_slider_moves_its_own_marks_and_no_others(
    panel: LandmarksPanel, control: str, value: float, moves: set[str], stays: set[str]
) -> None:
    before, shown = marks(panel), picture(panel)
    getattr(panel, control).value = value
    after = marks(panel)
    assert {label for label in LABELS if after[label] != before[label]} >= moves
    assert {label for label in LABELS if after[label] == before[label]} >= stays
    assert picture(panel) != shown


def test_another_tooth_has_another_average(panel: LandmarksPanel) -> None:
    panel.tooth.value = "upper first molar, palatal (16, Universal 3)"
    assert marks(panel)["textbook average"] == 20.1
    assert "the average, 20.1 mm" in panel.sentence.text


def test_words_never_cover_each_other_and_stay_on_the_picture() -> None:
    for fdi, place, short in itertools.product(TEETH.values(), (1, 50, 99), (0.0, 2.5)):
        section = section_of(fdi, place, short, 40, 0.5)
        drawing = draw_landmarks(section, population(fdi).apex_mm)
        heights = sorted(words.get_position()[1] for words in drawing.words.values())
        assert np.diff(heights).min() >= WORDS_APART_MM - 1e-9
        assert heights[0] >= 0
        assert heights[-1] <= LONGEST_MM
        canvas = FigureCanvasAgg(drawing.figure)
        edge = drawing.figure.bbox.width
        for words in drawing.words.values():
            assert words.get_window_extent(canvas.get_renderer()).x1 <= edge


def test_the_canal_opens_at_the_foramen_on_the_outside_of_the_root() -> None:
    section = section_of("13", 50, 2.0, 40, 0.5)
    drawing = draw_landmarks(section, population("13").apex_mm)
    canal = drawing.canal.get_xy()
    root = drawing.dentine.get_xy()
    assert canal[:, 1].max() == pytest.approx(section.foramen_mm)
    at_end = canal[np.isclose(canal[:, 1], section.foramen_mm), 0]
    right = root[160:]
    surface = np.interp(section.foramen_mm, right[::-1][:, 1], right[::-1][:, 0])
    assert at_end.min() < surface < at_end.max()


def test_an_unknown_tooth_is_refused() -> None:
    with pytest.raises(ValueError, match="value: got 'wisdom tooth'"):
        landmarks_panel("wisdom tooth")


def test_the_picture_appears_only_when_a_number_is_committed() -> None:
    asked = guess_off(landmarks_panel())
    assert asked.panel.widget.layout.display == "none"
    assert asked._repr_mimebundle_()["text/plain"] == SET_AND_COMMIT
    asked.number.value = 20
    asked.button.click()
    assert asked.panel.widget.layout.display == ""
    assert asked.answer.text.startswith(f"You said 20 of 100. It is {off_in_100('13')}")
    assert asked.number.disabled
    # The button keeps the focus of the keyboard, and says the same again.
    assert (asked.button.description, asked.button.disabled) == ("Committed", False)
    asked.button.click()
    assert asked.answer.again == 1


@pytest.mark.parametrize(
    ("said", "words"), [(84, "how widely"), (20, "few teeth. Look"), (100, "which ones cannot")]
)
def test_a_guess_is_compared_and_never_just_called_wrong(said: int, words: str) -> None:
    assert words in compared(said, 84)


def test_questions_diagnose_the_two_beliefs_of_this_lesson() -> None:
    lesson = open_landmarks_lesson(LESSON.stem, LESSON.parent)
    assert len(lesson.items) == 4
    behind = {o.misconception for i in lesson.items.values() for o in i.options if not o.correct}
    assert behind == {"M2", "M3"}
    for item in lesson.items.values():
        for option in item.options:
            assert option.correct or "look again" in option.feedback.lower(), option.text
    places = {
        next(i for i, option in enumerate(item.options) if option.correct)
        for item in lesson.items.values()
    }
    assert len(places) > 1
    with pytest.raises(ValueError, match="name: got 'nothing'"):
        lesson.check("nothing")


def test_what_the_lesson_says_in_words_is_what_its_tables_hold() -> None:
    text = "".join(
        "".join(cell["source"]) for cell in json.loads(LESSON.read_text("utf-8"))["cells"]
    )
    rows = {row[0]: row for row in average_table().rows}
    numbers = {name: [float(re.findall(r"[\d.]+", cell)[0]) for cell in row[1:]]
               for name, row in rows.items()}  # fmt: skip
    assert "In four teeth of five the average is more than half a millimetre off" in text
    assert all(75 <= found[0] <= 85 for found in numbers.values())
    assert "in the longest tenth by about twice as much" in text
    assert all(found[3] > 1.9 * found[1] for found in numbers.values())
    assert "there the longest tenth is missed by 4 mm" in text
    canine = numbers["upper canine (13, Universal 6), 26.4 mm"]
    assert canine[3] == pytest.approx(4.0, abs=0.1)
    assert canine[3] == max(found[3] for found in numbers.values())
    assert canine[4] == max(found[4] for found in numbers.values())


def test_who_looks_how_finely_counts_what_the_lesson_says() -> None:
    # Three front roots to seven back roots: Martos 40 of 100, Burch & Hulen 8 of 100.
    counts = {row[0]: [float(cell.split()[0]) for cell in row[1:]] for row in tip_table().rows}
    front, back = counts["everything within 0.4 mm"]
    assert 0.3 * front + 0.7 * back == pytest.approx(40, abs=1)
    front, back = counts["everything within 0.1 mm"]
    assert 0.3 * front + 0.7 * back == pytest.approx(8, abs=1)
