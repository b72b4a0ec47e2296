"""The panel of radiographs, swept without a kernel: every control answers, and says the truth."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import pytest
from lengthwise.bench.film_landmarks import project_landmarks
from lengthwise.bench.film_setup import set_up
from lengthwise.panels.film_cases import ENDS, film_case
from lengthwise.panels.film_lesson import THRESHOLDS_MM, FilmLesson
from lengthwise.panels.film_panel import (
    FOCUS_MM,
    HIDDEN,
    LEANING,
    PARALLEL,
    SHOWN,
    FilmPanel,
    film_panel,
)
from lengthwise.panels.film_picture import NEVER
from lengthwise.panels.questions import items_beside


@pytest.fixture
def panel() -> FilmPanel:
    return film_panel("hidden")


def numbers(text: str) -> list[float]:
    return [float(found) for found in re.findall(r"\d+\.\d+", text)]


def picture(panel: FilmPanel) -> str:
    return str(panel.picture.live.widget.value)


def test_text_picture_and_sentence_are_the_same(panel: FilmPanel) -> None:
    assert panel._repr_mimebundle_()["text/plain"] == panel.sentence.text
    assert f'alt="{panel.sentence.text}"' in picture(panel)


def test_the_sentence_says_what_the_geometry_says(panel: FilmPanel) -> None:
    canal, outline = film_case("hidden")
    view = set_up(canal, "paralleling").view
    seen = project_landmarks(canal, outline, view, panel.file.value)
    assert seen.tip is not None
    tooth, file = seen.along_mm(seen.apex), seen.along_mm(seen.tip)
    said = numbers(panel.sentence.text)
    assert said[0] == pytest.approx(tooth, abs=0.05)
    assert said[2] == pytest.approx(file, abs=0.05)
    assert said[3] == pytest.approx(canal.apex_mm, abs=0.1)
    assert said[4] == pytest.approx(tooth - file, abs=0.05)


def test_every_position_of_every_control_gives_a_picture_and_a_sentence(panel: FilmPanel) -> None:
    positions = itertools.product(
        np.linspace(panel.file.min, panel.file.max, 3),
        (-20.0, 0.0, 20.0),
        (-25.0, 0.0, 25.0),
        (4.0, 30.0),
        (PARALLEL, LEANING),
        FOCUS_MM,
        (HIDDEN, SHOWN),
    )
    for file, vertical, horizontal, away, lies, focus, truth in itertools.islice(
        positions, 0, None, 23
    ):
        panel.file.value, panel.vertical.value = file, vertical
        panel.horizontal.value, panel.away.value = horizontal, away
        panel.lies.value, panel.focus.value, panel.truth.value = lies, focus, truth
        assert re.match(r"On the picture the tooth|Not a picture to measure", panel.sentence.text)
        assert 'alt="' in picture(panel)
        never = panel.picture.drawing.never.get_text()
        assert never == (NEVER if truth == HIDDEN else "")


@pytest.mark.parametrize(
    ("control", "value"),
    [("file", 20.0), ("vertical", 10.0), ("horizontal", 15.0), ("away", 8.0), ("lies", LEANING),
     ("focus", "20 cm"), ("truth", SHOWN)],
)  # fmt: skip
def test_whatever_is_moved_the_picture_follows_and_comes_back(
    panel: FilmPanel, control: str, value: object
) -> None:
    before, said = picture(panel), panel.sentence.text
    start = getattr(panel, control).value
    getattr(panel, control).value = value
    assert picture(panel) != before
    getattr(panel, control).value = start
    assert panel.sentence.text == said
    assert picture(panel) == before


def test_a_file_that_looks_right_can_be_past_the_foramen(panel: FilmPanel) -> None:
    panel.file.value, panel.truth.value = 23.0, SHOWN
    assert "short of the end of the root" in panel.sentence.text
    assert "past the foramen" in panel.sentence.text
    assert "towards the lip" in panel.sentence.text


def test_the_truth_is_not_said_before_it_is_asked_for(panel: FilmPanel) -> None:
    assert "foramen" not in panel.sentence.text
    assert not panel.picture.drawing.foramen.get_visible()
    panel.truth.value = SHOWN
    assert "foramen" in panel.sentence.text
    assert panel.picture.drawing.foramen.get_visible()


def test_a_beam_beside_the_receptor_is_said_and_not_measured(panel: FilmPanel) -> None:
    panel.away.value, panel.vertical.value = 30.0, 20.0
    panel.horizontal.value = 25.0
    assert panel.sentence.text.startswith("Not a picture to measure on")


def test_a_leaning_receptor_foreshortens_with_a_steep_beam() -> None:
    leaning = film_panel("plain", lies=LEANING)
    lengths = []
    for steeper in (-15.0, 0.0, 15.0):
        leaning.vertical.value = steeper
        lengths.append(numbers(leaning.sentence.text)[0])
    assert lengths[0] > lengths[1] + 1 > lengths[2] + 2


def test_the_teeth_of_the_lesson_have_their_foramen_on_the_root() -> None:
    for name in ENDS:
        canal, outline = film_case(name)
        short = canal.apex_mm - canal.foramen_mm
        md, bl = outline.root_half_widths(short, canal.apex_mm - canal.cej_mm)
        reach = np.hypot(canal.offset_distal_mm / md, canal.offset_buccal_mm / bl)
        assert reach < 1.15
    with pytest.raises(ValueError, match=r"name: got 'other'.*hidden"):
        film_case("other")


def test_the_table_of_shares_grows_with_a_second_angle_and_falls_with_the_threshold() -> None:
    table = FilmLesson({}).shares().sheet
    rows = [tuple(int(cell.rstrip("%")) for cell in row[2:]) for row in table.rows]
    for deviates, one, two in rows:
        assert one < two <= 100
        assert one < deviates
    for first, later in itertools.pairwise(rows[: len(THRESHOLDS_MM)]):
        assert first > later
    with pytest.raises(ValueError, match="name: got 'x'"):
        FilmLesson({}).check("x")


def test_a_slip_of_geometry_is_not_told_as_taking_the_roots_end_for_the_foramen() -> None:
    lessons = Path(__file__).resolve().parents[2] / "course" / "lessons"
    items = items_beside("02_what_a_radiograph_can_tell", lessons)
    taken = {
        name: sum(option.misconception == "M2" for option in item.options)
        for name, item in items.items()
    }
    assert taken == {"predict": 2, "scale": 0, "angle": 1, "second": 1}
