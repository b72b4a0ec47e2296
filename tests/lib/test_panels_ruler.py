"""The ruler panel, swept without a kernel: every control answers, and what it says is true."""

from __future__ import annotations

import itertools
import re
from typing import Any

import numpy as np
import pytest
from lengthwise.evidence import Evidence
from lengthwise.panels.moves import MOVABLE, move
from lengthwise.panels.ruler_panel import CARRIED, MEASURED, RulerPanel, ruler_panel
from lengthwise.panels.ruler_words import KEEP, count_past
from lengthwise.panels.stamps import MOST_STAMPS, Stamps
from lengthwise.reconciliation import reconcile, reconcile_sources, sources_of
from lengthwise.reconciliation.result_view import ASK_WHY_EARLY
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

CASE = Evidence.from_json(
    """{"schema": "lengthwise/evidence/1", "tooth": "13", "canal": "single",
    "reference_point": "incisal edge", "context": {"apex": "closed", "crown": "intact"},
    "evidence": [
    {"kind": "preoperative_film", "tooth_length_mm": 27.0},
    {"kind": "working_film", "file_length_mm": 25.0, "tip_short_of_radiographic_apex_mm": 0.5},
    {"kind": "electronic_reading", "foramen_signal_mm": 24.0},
    {"kind": "point_trial", "length_mm": 25.0, "contact_s": 1.0, "wet_mm": 0.0},
    {"kind": "point_trial", "length_mm": 25.5, "contact_s": 1.0, "wet_mm": 0.5},
    {"kind": "tactile_stop", "length_mm": 24.5}]}"""
)
READING = 3


@pytest.fixture
def panel() -> RulerPanel:
    return ruler_panel(CASE)


def numbers(text: str) -> list[float]:
    return [float(found) for found in re.findall(r"\d+\.\d+", text)]


def picture(panel: RulerPanel) -> str:
    return str(panel.picture.live.widget.value)


def test_the_panel_says_what_the_reconciliation_says(panel: RulerPanel) -> None:
    result = reconcile(CASE, target_mm=0.5)
    low, high = result.interval_mm()
    said = numbers(panel.sentence.text)
    expected = [result.foramen_mm, low, high]
    assert said[:3] == pytest.approx(expected, abs=0.05)
    assert said[3] == result.working_length_mm


def test_its_text_is_its_sentence_and_its_picture_says_the_same(panel: RulerPanel) -> None:
    bundle = panel._repr_mimebundle_()
    assert bundle["text/plain"] == panel.sentence.text
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert f'alt="{panel.sentence.text}"' in picture(panel)


def test_every_position_of_every_control_gives_a_picture_and_a_sentence() -> None:
    panel = ruler_panel(CASE)
    moved = np.linspace(panel.moved.min, panel.moved.max, 4)
    targets = (0.0, 0.5, 2.0)
    ways = ("keep", "distrust", "drop")
    positions = zip(
        itertools.cycle(moved),
        itertools.cycle(targets),
        itertools.product(ways, repeat=len(panel.trust)),
        itertools.cycle((CARRIED, MEASURED)),
        strict=False,
    )
    some = list(itertools.islice(positions, 0, None, 61))
    every_value, every_target, every_choice, every_shown = zip(*some, strict=True)
    assert (set(every_value), set(every_target)) == (set(moved), set(targets))
    assert set(every_shown) == {CARRIED, MEASURED}
    assert all(set(of_one) == set(ways) for of_one in zip(*every_choice, strict=True))
    for value, target, chosen, shown in some:
        panel.moved.value = panel.moved.settled = value
        panel.target.value = panel.target.settled = target
        panel.carried.value = shown
        for control, way in zip(panel.trust, chosen, strict=True):
            control.value = way
        assert panel.sentence.text.startswith("All together")
        assert f'alt="{panel.sentence.text}"' in picture(panel)
        assert panel.table.value.count('scope="row"') == len(panel.trust)


@pytest.mark.parametrize("what", MOVABLE)
def test_whatever_is_moved_the_picture_follows(what: str) -> None:
    panel = ruler_panel(CASE, moves=what)
    before, said = picture(panel), panel.sentence.text
    panel.moved.value = panel.moved.max
    assert picture(panel) != before
    panel.moved.value = move(CASE, what).start
    assert panel.sentence.text == said


def test_a_dropped_source_is_weighed_no_more_and_named(panel: RulerPanel) -> None:
    panel.trust[READING].value = "drop"
    others = tuple(s for s in sources_of(CASE) if s.kind != "electronic_reading")
    result = reconcile_sources(CASE, [others], target_mm=0.5)[0]
    assert numbers(panel.sentence.text)[0] == pytest.approx(result.foramen_mm, abs=0.05)
    assert panel.sentence.text.endswith("Dropped: electronic reading.")
    assert "dropped" in panel.table.value


@pytest.mark.parametrize("way", [KEEP, "distrust", "drop"])
def test_a_far_too_early_signal_is_set_aside_only_after_asking_why(way: str) -> None:
    panel = ruler_panel(CASE)
    panel.moved.value = panel.moved.settled = 22.0
    panel.trust[READING].value = way
    assert ASK_WHY_EARLY in panel.verdict.text.split("Next:")[0]
    panel.moved.value = panel.moved.settled = 25.0
    assert ASK_WHY_EARLY not in panel.verdict.text


def test_distrust_lies_between_keeping_and_dropping() -> None:
    panel = ruler_panel(CASE, moves="reading")
    panel.moved.value = 24.9  # where it pulls: further off it is hardly believed
    said = {}
    for way in ("keep", "distrust", "drop"):
        panel.trust[READING].value = way
        said[way] = numbers(panel.sentence.text)[0]
    low, high = sorted((said["keep"], said["drop"]))
    assert low <= said["distrust"] <= high
    assert low < high


def test_dropping_everything_leaves_no_length(panel: RulerPanel) -> None:
    for control in panel.trust:
        control.value = "drop"
    assert "not yet" in panel.sentence.text
    assert panel.picture.drawing.length_words.get_text() == "no working length yet"


def test_the_hatched_part_is_what_the_sentence_counts() -> None:
    # A target of zero puts the length where a visible part of the answer is past.
    panel = ruler_panel(CASE, target_mm=0.0)
    drawing = panel.picture.drawing
    outline = drawing.past.get_xy()
    hatched = np.trapezoid(outline[:, 1], outline[:, 0])
    hill = drawing.answer_hill.get_xy()
    share = hatched / np.trapezoid(hill[:, 1], hill[:, 0])
    counted = re.search(r"in (\d+) of 100", panel.sentence.text)
    assert counted
    assert share * 100 == pytest.approx(int(counted.group(1)), abs=2.5)
    assert drawing.past.get_hatch()


def _top_mm(row: Any) -> float:
    edge = row.hill.get_xy()
    return float(edge[edge[:, 1].argmax(), 0])


def test_a_source_shown_where_it_was_measured_stands_on_its_own_landmark() -> None:
    panel = ruler_panel(CASE, shown=MEASURED)
    rows = panel.picture.drawing.rows
    words = [row.words.get_text() for row in rows]
    assert words[READING].startswith("signal")
    assert words[2].startswith("apex")
    at = {shown: _top_mm(rows[row]) for shown, row in (("signal", READING), ("apex", 2))}
    assert at["signal"] == pytest.approx(24.0, abs=0.05)
    panel.carried.value = CARRIED
    # A signal lies about where the foramen is; the end of the root lies beyond it.
    assert _top_mm(rows[READING]) == pytest.approx(24.0, abs=0.3)
    assert _top_mm(rows[2]) < at["apex"] - 0.2


def test_a_case_out_of_scope_gets_a_reason_and_no_length() -> None:
    blocked = CASE.model_copy(
        update={"context": CASE.context.model_copy(update={"obstruction": "block"})}
    )
    panel = ruler_panel(blocked)
    assert "blocked" in panel.sentence.text
    assert "Ask" in panel.sentence.text
    assert panel.picture.drawing.length_words.get_text() == "no working length yet"


def test_moving_what_was_not_measured_is_refused() -> None:
    only_film = CASE.model_copy(update={"records": CASE.records[:1]})
    with pytest.raises(ValueError, match=r"what: got 'reading'"):
        ruler_panel(only_film)
    with pytest.raises(ValueError, match=r"what: got 'weather'.*repeats"):
        ruler_panel(CASE, moves="weather")


def test_the_table_has_a_caption_and_headers_both_ways(panel: RulerPanel) -> None:
    assert "<caption" in panel.table.value
    assert panel.table.value.count('scope="col"') == 4
    assert [control.value for control in panel.trust] == [KEEP] * len(panel.trust)


def test_a_count_never_claims_certainty() -> None:
    assert [count_past(p) for p in (0.0, 0.5, 1.0)] == [
        "fewer than 1 of 100",
        "50 of 100",
        "more than 99 of 100",
    ]


def test_stamped_words_look_like_drawn_words_and_do_not_pile_up() -> None:
    figure = Figure()
    words = figure.text(0.5, 0.5, "25.1 ± 0.6 mm")
    drawn, stamped = FigureCanvasAgg(figure), FigureCanvasAgg(Figure())
    drawn.draw()
    stamped.draw()
    stamps = Stamps()
    stamps.draw(words, stamped)
    one, other = (np.asarray(c.buffer_rgba(), dtype=int) for c in (drawn, stamped))
    assert (one != 255).any()
    assert np.abs(one - other).max() <= 2
    for number in range(MOST_STAMPS + 5):
        words.set_text(str(number))
        stamps.draw(words, stamped)
    assert stamps.count == MOST_STAMPS
