"""The panels of lesson 07, swept without a kernel; and what the lesson says in numbers is true."""

from __future__ import annotations

import html
import itertools
import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from lengthwise.panels.asked_first import SET_AND_COMMIT
from lengthwise.panels.endings_panel import NEAR, PULPS, EndingsPanel, endings_panel
from lengthwise.panels.endings_picture import Ending, draw_endings
from lengthwise.panels.landmarks_panel import TEETH, landmarks_panel, population
from lengthwise.panels.supplies_lesson import (
    CANINE_MM,
    compared,
    guess_too_long,
    open_supplies_lesson,
)
from lengthwise.panels.supplies_panel import HOLDS, SuppliesPanel, supplies_panel
from lengthwise.panels.supplies_picture import DEEPEST_MM, SIGNS
from lengthwise.panels.supplies_tables import (
    canine_table,
    landmarks_table,
    loss_table,
    outcomes_table,
    reach_table,
)
from lengthwise.panels.supplies_words import too_long_in_100, usual_point
from lengthwise.reconciliation.decision import Loss
from lengthwise.reconciliation.supplies import lay_out
from lengthwise.reference.findings import outcomes
from lengthwise.reference.tables import apex_distance
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

LESSON = (
    Path(__file__).resolve().parents[2]
    / "course" / "lessons" / "07_the_length_meets_the_tooth.ipynb"
)  # fmt: skip
MOLAR = list(TEETH)[-1]


@pytest.fixture
def panel() -> SuppliesPanel:
    return supplies_panel()


@pytest.fixture
def endings() -> EndingsPanel:
    return endings_panel()


def alternative(panel: SuppliesPanel | EndingsPanel) -> str:
    return f'alt="{html.escape(panel.sentence.text)}"'


def picture(panel: SuppliesPanel | EndingsPanel) -> str:
    return str(panel.picture.live.widget.value)


def length_said(panel: SuppliesPanel) -> float:
    found = re.match(r"Working length (\d+\.\d) mm\.", panel.sentence.text)
    assert found
    return float(found[1])


def test_the_text_of_both_panels_is_their_sentence_and_the_pictures_say_the_same(
    panel: SuppliesPanel, endings: EndingsPanel
) -> None:
    for one in (panel, endings):
        bundle = one._repr_mimebundle_()
        assert bundle["text/plain"] == one.sentence.text
        assert "application/vnd.jupyter.widget-view+json" in bundle
        assert alternative(one) in picture(one)


def test_every_position_of_every_control_gives_a_picture_and_a_sentence(
    panel: SuppliesPanel,
) -> None:
    grid = itertools.product(TEETH, (1, 50, 99), (0.0, 3.0), (0.0, 2.0), HOLDS)
    for kind, place, reduced, target, held_by in itertools.islice(grid, 0, None, 11):
        panel.tooth.value, panel.held_by.value = kind, held_by
        panel.place.value, panel.reduced.value, panel.target.value = place, reduced, target
        assert alternative(panel) in picture(panel)
        canals = population(TEETH[kind])
        apex = float(np.quantile(canals.apex_mm, place / 100))
        expected = apex - apex_distance(TEETH[kind]).mean_mm - target - reduced
        assert length_said(panel) == pytest.approx(expected, abs=0.051)


def test_every_position_of_the_ending_gives_a_picture_and_a_sentence(
    endings: EndingsPanel,
) -> None:
    grid = itertools.product((-2.0, -0.3, 0.0, 1.8, 4.0), PULPS, NEAR, TEETH)
    for end, pulp, near, tooth in itertools.islice(grid, 0, None, 11):
        endings.end.value, endings.pulp.value = end, pulp
        endings.near.value, endings.tooth.value = near, tooth
        assert alternative(endings) in picture(endings)
        assert endings.sentence.text.count(" %") >= 2


@pytest.mark.parametrize(
    ("control", "value", "shorter_by"), [("reduced", 2.0, 2.0), ("target", 1.5, 1.0)]
)
def test_a_slider_moves_the_working_length_by_what_it_says(
    panel: SuppliesPanel, control: str, value: float, shorter_by: float
) -> None:
    before, shown = length_said(panel), picture(panel)
    getattr(panel, control).value = value
    assert before - length_said(panel) == pytest.approx(shorter_by, abs=0.051)
    assert picture(panel) != shown


def test_what_holds_the_files_decides_whether_the_longest_serves(panel: SuppliesPanel) -> None:
    assert "shortest file that reaches is 31 mm" in panel.sentence.text
    panel.held_by.value = "a handpiece"
    assert "No file has room for stop and handpiece (3.5 mm)" in panel.sentence.text


def test_all_tips_stand_at_the_working_length_and_all_bars_have_their_true_length() -> None:
    for place, reduced in ((5, 0.0), (50, 1.5), (99, 0.0)):
        panel = supplies_panel(place=place)
        panel.reduced.value = reduced
        drawing, plan = panel.picture.drawing, lay_out(length_said(panel))
        for laid, reach in zip(drawing.laid, plan.reaches, strict=True):
            y, high = laid.body.get_y(), laid.body.get_height()
            assert high == pytest.approx(reach.supply.length_mm)
            assert y + high == pytest.approx(length_said(panel), abs=0.051)
            outside, missing = laid.outside.get_height(), laid.missing.get_height()
            assert outside - missing == pytest.approx(-y)
            assert min(outside, missing) == 0.0
            assert -laid.needed.get_ydata()[0] == pytest.approx(reach.needed_mm)


def test_the_tooth_that_a_point_just_serves_is_the_one_shown_under_that_name() -> None:
    stills = tomllib.loads(LESSON.with_suffix(".toml").read_text(encoding="utf-8"))["stills"]
    still = next(
        one for one in stills if one["title"] == "A tooth that a point of 28 mm just serves"
    )
    panel = supplies_panel()
    [[control, place]] = still["steps"]
    said = {}
    for one in (place, place + 1):
        getattr(panel, control).value = one
        said[one] = panel.sentence.text
    assert "enough to hold" in said[place]
    assert "too close to tell" in said[place + 1]


def test_a_reduced_tooth_starts_at_its_new_reference(panel: SuppliesPanel) -> None:
    whole = panel.picture.drawing.enamel.get_xy()[:, 1]
    panel.reduced.value = 3.0
    cut = panel.picture.drawing.enamel.get_xy()[:, 1]
    assert whole.min() == pytest.approx(0.0)
    assert cut.min() == pytest.approx(0.0)
    assert whole.max() - cut.max() == pytest.approx(3.0)


def test_signs_below_the_bars_are_the_verdicts(panel: SuppliesPanel) -> None:
    drawn = [laid.sign.get_text() for laid in panel.picture.drawing.laid]
    assert drawn == [SIGNS[reach.verdict] for reach in lay_out(CANINE_MM).reaches]
    panel.place.value = 50
    assert {"✓", "✗", "?"} == {laid.sign.get_text() for laid in panel.picture.drawing.laid}


def words_of(figure: object) -> list[Text]:
    return [text for text in figure.findobj(Text) if text.get_text().strip()]  # type: ignore[attr-defined]


def test_words_stay_on_the_pictures(panel: SuppliesPanel, endings: EndingsPanel) -> None:
    drawings = []
    for tooth, place in itertools.product(TEETH, (1, 99)):
        panel.tooth.value, panel.place.value = tooth, place
        drawings.append(panel.picture.drawing)
        assert length_said(panel) < DEEPEST_MM - 1.5
    for tooth in TEETH:
        endings.tooth.value = tooth
        for drawing in (*drawings[-1:], endings.picture.drawing):
            edges = drawing.figure.bbox
            renderer = FigureCanvasAgg(drawing.figure).get_renderer()
            for text in words_of(drawing.figure):
                box = text.get_window_extent(renderer)
                assert box.x0 >= -1, text.get_text()
                assert box.x1 <= edges.width + 1, text.get_text()
                assert box.y0 >= -1, text.get_text()
                assert box.y1 <= edges.height + 1, text.get_text()


def test_the_frame_follows_the_ending_counted_from_the_radiographic_apex() -> None:
    """0.2 mm past the foramen is 0.19 short on the image of a front tooth."""
    for end, apex, framed in ((-0.2, 0.39, "0-2 short"), (-0.5, 0.39, "past"),
                              (-0.5, 0.82, "0-2 short"), (1.7, 0.39, "over 2 short")):  # fmt: skip
        drawing = draw_endings(Ending(end, apex, Loss()))
        seen = {group for group, frame in drawing.frames if frame.get_visible()}
        assert seen == {framed}
        assert sum(group == framed for group, _ in drawing.frames) == sum(
            one.group == framed for one in outcomes()
        )


def test_pulp_and_nerve_move_the_loss_and_never_a_published_dot(endings: EndingsPanel) -> None:
    endings.end.value = -3.0

    def dots() -> list[list[float]]:
        below = endings.picture.drawing.figure.axes[1]
        return [list(line.get_xdata()) for line in below.lines]

    before, shares = endings.picture.drawing.curve.get_ydata().copy(), dots()
    endings.pulp.value = "vital"
    assert not np.allclose(before, endings.picture.drawing.curve.get_ydata())
    assert dots() == shares
    assert "loss counts 2.50, a judgement" in endings.sentence.text
    assert "68 % (Sjögren et al. 1990" in endings.sentence.text


def test_every_published_share_is_drawn_once() -> None:
    drawing = draw_endings(Ending(0.5, 0.39, Loss()))
    markers = [line for line in drawing.figure.axes[1].lines if line.get_marker() in "o^v"]
    drawn = sorted(float(line.get_xdata()[0]) for line in markers if len(line.get_xdata()) == 1)
    expected = sorted(one.healed_percent for one in outcomes())
    assert set(expected) <= set(np.round(drawn, 6))


def test_an_unknown_tooth_or_place_or_end_is_refused() -> None:
    with pytest.raises(ValueError, match="value: got 'wisdom tooth'"):
        supplies_panel("wisdom tooth")
    with pytest.raises(ValueError, match="value: got 0"):
        supplies_panel(place=0)
    with pytest.raises(ValueError, match="value: got 5"):
        endings_panel(5.0)


def test_the_picture_appears_only_when_a_number_is_committed() -> None:
    asked = guess_too_long(supplies_panel())
    assert asked.panel.widget.layout.display == "none"
    assert asked._repr_mimebundle_()["text/plain"] == SET_AND_COMMIT
    asked.number.touched = True
    asked.button.click()
    assert asked.panel.widget.layout.display == ""
    found = too_long_in_100("13", usual_point(), 0.5)
    assert asked.answer.text.startswith(f"You said 10 of 100. It is {found}")


@pytest.mark.parametrize(
    ("said", "words"), [(38, "how long"), (5, "more than one thinks"), (90, "most still leave")]
)
def test_a_guess_is_compared_and_never_just_called_wrong(said: int, words: str) -> None:
    assert words in compared(said, 38)


def test_how_many_are_too_long_is_counted_in_the_population() -> None:
    """Counted a second time: 28 mm less 2 mm for the tweezers."""
    lengths = population("13").foramen_mm - 0.5
    assert too_long_in_100("13", usual_point(), 0.5) == round(float(np.mean(lengths > 26.0)) * 100)


def test_the_second_picture_waits_for_an_answer_whichever_it_is() -> None:
    asked = open_supplies_lesson(LESSON.stem, LESSON.parent).predict_ending()
    assert asked.panel.widget.layout.display == "none"
    asked.question.button.click()
    assert asked.panel.widget.layout.display == "none"
    asked.question.answers.value = asked.question.item.options[1].text
    asked.question.button.click()
    assert asked.panel.widget.layout.display == ""


def test_questions_diagnose_the_beliefs_of_this_lesson() -> None:
    lesson = open_supplies_lesson(LESSON.stem, LESSON.parent)
    assert len(lesson.items) == 5
    behind = {o.misconception for i in lesson.items.values() for o in i.options if not o.correct}
    assert behind == {"M2", "M3", "M7", "M9", "M12", "M15", None}  # None: a slip, no belief
    for item in lesson.items.values():
        for option in item.options:
            assert option.correct or "look again" in option.feedback.lower(), option.text
    places = {
        next(i for i, option in enumerate(item.options) if option.correct)
        for item in lesson.items.values()
    }
    assert len(places) == 3


def test_the_numbers_in_the_questions_are_those_of_the_library() -> None:
    loss = Loss()
    items = open_supplies_lesson(LESSON.stem, LESSON.parent).items
    right = {name: next(o for o in item.options if o.correct) for name, item in items.items()}
    past, short = loss.cost(0.5, 0.0), loss.cost(-1.5, 0.0)
    assert f"counts {past:.1f} past and {short:.1f} short" in right["ending"].feedback
    plan = lay_out(27.0)
    chosen = plan.chosen("file")
    assert chosen is not None
    assert right["files"].text == f"{chosen.supply.length_mm:g} mm."
    assert f"{chosen.left_mm:.1f} mm stays outside" in right["files"].feedback
    assert plan.best("gutta-percha point") == "measure it"
    shares = [o.healed_percent for o in outcomes() if o.group == "over 2 short"]
    assert f"{shares[0]:g} of 100" in items["studies"].stem
    assert f"another {shares[1]:g}" in items["studies"].stem


def test_what_the_lesson_says_in_words_is_what_its_tables_hold() -> None:
    cells = json.loads(LESSON.read_text("utf-8"))["cells"]
    text = "".join("".join(cell["source"]) for cell in cells)
    too_long = {row[0]: int(row[3]) for row in reach_table().rows}
    assert "A 25 mm file, the usual one, is too short for nine upper canines in ten" in text
    assert 88 <= too_long["25 mm file"] <= 94
    assert "The 28 mm file is too short for about half of them" in text
    assert 44 <= too_long["28 mm file"] <= 56
    assert "cannot be held in more than a third" in text
    assert 34 <= too_long["28 mm gutta-percha point"] <= 45
    foramen = float(np.quantile(population("13").apex_mm, 0.9)) - apex_distance("13").mean_mm
    assert "The foramen lies at 29.0 mm" in text
    assert foramen == pytest.approx(29.0, abs=0.05)
    assert foramen - 0.5 == pytest.approx(CANINE_MM, abs=0.05)
    reached = [row[0] for row in canine_table(lay_out(CANINE_MM)).rows if row[2] == "reaches"]
    assert "One file reaches" in text
    assert reached == ["31 mm file"]
    said = {(row[0].split(":")[0], row[1]): row[2] for row in outcomes_table().rows}
    assert "the best group healed in 94 of 100, and short was the worst: 68" in text
    assert said["Sjögren et al. 1990", "over 2 short"] == "68"
    assert "past was the worst, 70.8" in text
    assert "85.5 against 86.5" in text
    assert said["Kojima et al. 2004", "past"] == "70.8 ± 1.44"
    assert "91.6 of 100 first treatments" in text
    assert "half a millimetre past the foramen, costs 3.5" in text
    assert "0.39 mm in front teeth, 0.82 mm in back teeth" in text
    for fdi, said_mm in (("13", 0.39), ("16", 0.82)):
        assert apex_distance(fdi).mean_mm == said_mm


def test_the_same_ending_can_be_past_one_landmark_and_short_of_the_other() -> None:
    rows = {row[0]: row[1:] for row in landmarks_table().rows}
    assert rows["0.2 past"] == ("0.19 short → 0–2 short", "0.62 short → 0–2 short")
    assert rows["0.6 past"] == ("0.21 past → past", "0.22 short → 0–2 short")


def test_the_loss_table_is_steeper_past_and_steepest_near_a_nerve() -> None:
    rows = {row[0]: [float(cell) for cell in row[1:]] for row in loss_table().rows}
    vital, necrotic, near = rows["1.0 past"]
    assert near > vital == necrotic > 5 * rows["1.0 short"][0]
    assert rows["3.0 short"][1] > rows["3.0 short"][0]
    assert rows["0.5 short"] == [0.0, 0.0, 0.0]


def test_no_word_of_the_first_picture_covers_another(panel: SuppliesPanel) -> None:
    for tooth, place in itertools.product((next(iter(TEETH)), MOLAR), (1, 99)):
        panel.tooth.value, panel.place.value = tooth, place
        drawing = panel.picture.drawing
        renderer = FigureCanvasAgg(drawing.figure).get_renderer()
        words = [*drawing.figure.texts, *drawing.figure.axes[0].texts]
        boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in words]
        for (one, box), (other, second) in itertools.combinations(boxes, 2):
            assert not box.padded(-1).overlaps(second.padded(-1)), (one, other)


def test_the_long_canine_is_the_same_tooth_in_lessons_01_and_07(panel: SuppliesPanel) -> None:
    first = landmarks_panel()
    assert first.place.value == panel.place.value == 90
    assert "the foramen at 29.0, the working length at 28.5." in first.sentence.text
    assert f"Working length {CANINE_MM:.1f} mm" in panel.sentence.text
