"""The panel of lesson 05, swept without a kernel; and what the lesson says in numbers is true."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lengthwise.bench.canal_state import BLEEDINGS
from lengthwise.bench.point_actions import (
    CallSupervisor,
    CheckPatency,
    DressAndRebook,
    Dry,
    PeroxidePoint,
    PeroxideSyringe,
    Rinse,
    TryPoint,
    Wait,
)
from lengthwise.panels.dry_canals import (
    LETTERS,
    WAYS,
    Line,
    all_done,
    done,
    dry_case,
    ends_since_drying,
    evidence_of,
    standing_mm,
)
from lengthwise.panels.dry_lesson import (
    SET_MM,
    compared,
    drift_table,
    guess_fourth,
    ooze_table,
    open_dry_lesson,
    removed_table,
)
from lengthwise.panels.dry_panel import (
    ACTIONS,
    DO_FIRST,
    JUDGE_FIRST,
    OWN_MIND,
    THEN,
    TRY,
    TRY_FIRST,
    DryPanel,
    dry_panel,
)
from lengthwise.panels.dry_picture import HIDDEN, SHOWN, draw_dry
from lengthwise.panels.dry_words import (
    JUDGEMENTS,
    found,
    library_sentence,
    line_sentence,
    looks_dry,
    tick_of,
)
from lengthwise.panels.dry_words import compared as judged
from lengthwise.reconciliation import reconcile
from matplotlib.backends.backend_agg import FigureCanvasAgg

LESSON = (
    Path(__file__).resolve().parents[2]
    / "course" / "lessons" / "05_when_the_canal_will_not_stay_dry.ipynb"
)  # fmt: skip
POINT, DRY = (next(words for words in ACTIONS if start in words) for start in ("try a", "dry with"))
SIX_POINTS = [TryPoint(SET_MM)] * 6
BACK_TO_DRY = [Rinse("saline"), Wait(), Dry(22.5), Dry(23.0)]


@pytest.fixture
def panel() -> DryPanel:
    return dry_panel()


def picture(panel: DryPanel) -> str:
    return str(panel.picture.live.widget.value)


def act(panel: DryPanel, action: str, length_mm: float | None = None) -> None:
    panel.action.value = action
    if length_mm is not None:
        panel.length.value = length_mm
    panel.do.click()


def line_of(name: str, *actions: object) -> Line:
    return all_done(Line(dry_case(name)), actions)  # type: ignore[arg-type]


# --- the panel ------------------------------------------------------------------------------------
@pytest.mark.parametrize("letter", LETTERS)
def test_every_action_in_every_canal_gives_a_picture_and_two_sentences(letter: str) -> None:
    panel = dry_panel(letter)
    for action, length in [(POINT, 20.0), *((action, 24.5) for action in ACTIONS)]:
        before = len(panel.sitting.line.entries)
        act(panel, action, length)
        assert len(panel.sitting.line.entries) == before + 1
        assert panel.happened.text == panel.sitting.line.entries[-1].outcome.sentence
        assert f'alt="{panel.sentence.text}"' in picture(panel).replace("&#x27;", "'")
        assert panel.sentence.text.startswith(f"Canal {letter}: ")
        assert panel.library.text == OWN_MIND
        panel.ask.click()
        assert panel.library.text.startswith("The library")
        assert "cost" not in panel.library.text
    assert panel._repr_mimebundle_()["text/plain"] == panel.sentence.text


def test_the_same_actions_give_the_same_line_and_start_again_gives_the_canal_back(
    panel: DryPanel,
) -> None:
    fresh = picture(panel)
    said = []
    for _ in range(2):
        for action in (POINT, DRY, POINT):
            act(panel, action, 23.5)
        said.append((panel.sentence.text, panel.library.text, picture(panel)))
        panel.again.click()
        assert picture(panel) == fresh
        assert panel.happened.text == DO_FIRST
    assert said[0] == said[1]
    line = line_of("drifts", TryPoint(23.5), Dry(23.5), TryPoint(23.5))
    assert line_sentence(line) == said[0][0]


def test_what_is_inside_is_hidden_until_a_judgement_is_committed(panel: DryPanel) -> None:
    act(panel, POINT, 23.5)
    drawing = panel.picture.drawing
    for _ in range(2):
        assert drawing.hidden.get_text() == HIDDEN
        assert not len(drawing.foramen.get_xdata())
        assert not len(drawing.surface.get_xdata())
        assert "In truth" not in panel.sentence.text
        panel.judge.click()
        assert panel.answer.text == JUDGE_FIRST
    panel.judgement.value = JUDGEMENTS["left"]
    panel.judge.click()
    assert "That is how it is" in panel.answer.text
    state = panel.sitting.line.state
    assert f"the foramen lies at {state.canal.foramen_mm:.1f} mm" in panel.sentence.text
    assert drawing.foramen.get_ydata()[0] == state.canal.foramen_mm
    assert panel.library.text.startswith("The library")
    np.testing.assert_allclose(
        drawing.surface.get_ydata(), [standing_mm(s) for s in panel.sitting.line.states]
    )
    panel.canal.value = "B"
    assert panel.hint.text == TRY["B"] + THEN
    assert "In truth" not in panel.sentence.text
    assert panel.answer.text == panel.judgement.value == ""


def test_nobody_is_led_more_than_a_millimetre_beyond_the_signal(panel: DryPanel) -> None:
    for letter in LETTERS:
        panel.canal.value = letter
        assert 0.5 <= panel.length.max - panel.sitting.line.case.signal_mm <= 1.0


def test_an_unknown_canal_is_refused() -> None:
    with pytest.raises(ValueError, match="value: got 'Z'"):
        dry_panel("Z")
    with pytest.raises(ValueError, match=r"name: got 'other'.*blocked"):
        dry_case("other")


# --- the picture ----------------------------------------------------------------------------------
def test_a_dot_stands_where_the_trial_says_and_a_dry_point_where_it_was_set() -> None:
    line = line_of("oozes", *SIX_POINTS[:2], *BACK_TO_DRY, TryPoint(23.0))
    drawing = draw_dry(line)
    ends = [t.length_mm - t.wet_mm for t in line.trials[:2]]
    np.testing.assert_allclose(drawing.marks.get_ydata(), ends)
    assert list(drawing.marks.get_xdata()) == [1, 2]
    assert list(drawing.dry.get_xdata()) == [len(line.entries)]
    assert list(drawing.dry.get_ydata()) == [23.0]


def test_a_mark_on_the_side_gets_a_cross_and_no_dot() -> None:
    drawing = draw_dry(line_of("perforated", TryPoint(20.5), TryPoint(21.5), TryPoint(22.5)))
    assert list(drawing.no_length.get_xdata()) == [2, 3]
    assert not len(drawing.marks.get_xdata())


def test_every_moment_is_in_the_row_of_its_bleeding() -> None:
    line = line_of("oozes", TryPoint(23.5), *BACK_TO_DRY)
    drawing = draw_dry(line)
    rows = {word: len(drawing.bleeding[word].get_paths()) for word in BLEEDINGS}
    seen = [state.bleeding for state in line.states]
    assert rows == {word: seen.count(word) for word in BLEEDINGS}
    assert rows["none"] > 0 < rows["oozing"]


def test_a_long_line_keeps_its_last_actions_and_its_words_stay_on_the_picture() -> None:
    line = line_of("drifts", *SIX_POINTS, Rinse("hypochlorite"), *SIX_POINTS, PeroxidePoint(20.0))
    drawing = draw_dry(replace(line, opened=True))
    words = [tick.get_text() for tick in drawing.ticks]
    assert words[-1] == "✕ dampened"
    assert len(words) == SHOWN + 1
    renderer = FigureCanvasAgg(drawing.figure).get_renderer()
    for tick in (*drawing.ticks, drawing.foramen_word):
        box = tick.get_window_extent(renderer)
        assert box.y0 >= 0
        assert 0 <= box.x0 < box.x1 <= drawing.figure.bbox.width


# --- what happens in the canals -------------------------------------------------------------------
def test_in_canal_a_lengths_drift_and_the_library_says_not_dry() -> None:
    line = line_of("drifts", *SIX_POINTS[:3])
    assert np.all(np.diff(ends_since_drying(line)) > 0.2)
    assert "Not dry: from point to point the marks moved by" in library_sentence(line)
    assert found(line.state) == "left"


def test_in_canal_a_drying_to_the_right_length_brings_back_a_length() -> None:
    wet = line_of("drifts", *SIX_POINTS[:5], Dry(23.0), TryPoint(24.0))
    believed = reconcile(evidence_of(wet))
    assert wet.trials[-1].wet_mm > 1.5  # although the last drying point had come out dry
    foramen = wet.state.canal.foramen_mm
    assert not believed.interval_mm()[0] < foramen < believed.interval_mm()[1]  # as the lesson says
    dry = all_done(wet, [Dry(23.5), *map(TryPoint, (23.5, 24.0, 24.5, 24.5))])
    result = reconcile(evidence_of(dry))
    assert result.interval_mm()[0] < foramen < result.interval_mm()[1]
    assert np.diff(result.interval_mm())[0] < 1.5
    assert found(dry.state) == "dry"
    assert looks_dry(dry)


def test_in_canal_b_marks_agree_and_are_wrong_and_no_repeat_makes_the_library_certain() -> None:
    line = line_of("oozes", *SIX_POINTS)
    ends = ends_since_drying(line)
    assert np.ptp(ends) < 0.5
    assert line.state.canal.foramen_mm - np.mean(ends) > 1.5
    narrowest = min(
        np.diff(reconcile(evidence_of(Line(line.case, line.entries[:n]))).interval_mm())[0]
        for n in range(2, 7)
    )
    assert narrowest > 1.35
    assert "does not see the bleeding" in library_sentence(Line(line.case, line.entries[:2]))


def test_canal_b_can_be_brought_back_to_dry() -> None:
    back = line_of("oozes", *SIX_POINTS[:3], *BACK_TO_DRY, *map(TryPoint, (23.0, 23.5, 24.0, 24.0)))
    assert found(back.state) == "dry"
    low, high = reconcile(evidence_of(back)).interval_mm()
    assert low < back.state.canal.foramen_mm < high


def test_in_canal_c_the_bleeding_stops_before_the_tissue_is_gone() -> None:
    line = line_of("remnant", TryPoint(22.5), TryPoint(23.0), TryPoint(22.5))
    assert np.ptp(ends_since_drying(line)) < 0.7
    assert {trial.liquid for trial in line.trials} == {"blood"}
    rinsed = done(line, Rinse("hypochlorite"))
    assert (rinsed.state.bleeding, found(rinsed.state)) == ("none", "tissue")
    assert done(rinsed, Rinse("hypochlorite")).state.remnant_mm == 0


def test_in_canal_d_the_side_is_wet_and_peroxide_is_refused() -> None:
    line = line_of("perforated", *map(TryPoint, (20.5, 21.5, 22.5)), CallSupervisor())
    assert [trial.mark_site for trial in line.trials] == ["none", "side", "side"]
    assert "Not with these sources" in library_sentence(line)
    refused = done(line, PeroxidePoint(20.5)).entries[-1].outcome
    assert refused.refused
    assert refused.safety_failure
    assert "Stop, no peroxide, no hypochlorite" in judged("side", line.state)


def test_in_canal_d_hypochlorite_is_refused_after_a_mark_on_the_side_and_dries_nothing() -> None:
    line = line_of("perforated", *map(TryPoint, (20.5, 21.5)))
    after = done(line, Rinse("hypochlorite"))
    assert after.entries[-1].outcome.refused
    assert after.state == line.state
    assert tick_of(after.entries[-1]) == "✕ hypochlorite"
    assert evidence_of(after) == evidence_of(line)


def test_in_canal_e_points_are_dry_past_the_foramen_and_nobody_says_go_longer() -> None:
    line = line_of("blocked", *map(TryPoint, (23.5, 24.0, 24.5, 25.0)))
    assert {trial.mark_site for trial in line.trials} == {"none"}
    assert line.trials[-1].length_mm > line.state.canal.foramen_mm
    assert "Do not go longer" in library_sentence(line)
    looked = done(line, CheckPatency())
    assert "the canal is blocked" in library_sentence(looked)
    opened = all_done(looked, [Rinse("saline"), CheckPatency()])
    assert "went through" in opened.entries[-1].outcome.sentence
    assert "the canal is blocked" not in library_sentence(opened)


def test_canal_f_is_never_dry_for_long_and_the_sentence_says_so_after_three_rounds() -> None:
    line = line_of("seeps", TryPoint(23.0))
    for _ in range(3):
        line = all_done(line, [Dry(22.5), TryPoint(23.0)])
        assert line.trials[-1].wet_mm > 1
        assert found(line.state) == "returns"
    assert "dress, seal, re-book or refer" in line_sentence(line)
    later = all_done(line, [DressAndRebook(), Dry(22.5), TryPoint(23.0)])
    assert later.state.visit == 2
    assert later.trials[-1].wet_mm > 1


def test_peroxide_from_a_syringe_is_refused_everywhere_and_changes_nothing() -> None:
    for name in WAYS:
        line = line_of(name, PeroxideSyringe())
        assert line.entries[-1].outcome.safety_failure
        assert line.state == line.case.state


def test_who_dries_again_starts_a_source_of_its_own() -> None:
    line = line_of("drifts", *SIX_POINTS[:3], Dry(23.5), TryPoint(23.5))
    kinds = [row.kind for row in reconcile(evidence_of(line)).sources]
    assert kinds.count("point_trial") == 2


@pytest.mark.parametrize("name", WAYS)
@pytest.mark.parametrize("said", JUDGEMENTS)
def test_a_judgement_is_compared_and_never_just_called_wrong(said: str, name: str) -> None:
    words = judged(said, dry_case(name).state)
    agrees = said == found(dry_case(name).state)
    assert words.startswith("That is how it is." if agrees else f"You said: {JUDGEMENTS[said]}")
    assert ("Look again" in words) != agrees
    assert "wrong." not in words.lower().replace("agree and be wrong.", "")


def test_starting_again_gives_the_canal_as_it_was_when_the_student_came() -> None:
    panel = dry_panel("A", [TryPoint(SET_MM)] * 3)
    came = panel.sentence.text
    said = []
    for _ in range(2):
        panel.do.click()
        panel.do.click()
        said.append(panel.sentence.text)
        panel.again.click()
        assert panel.sentence.text == came
    assert said[0] == said[1]


def test_a_dry_point_that_did_not_run_freely_is_said_to_tell_nothing() -> None:
    line = line_of("blocked", TryPoint(25.0))
    assert line.trials[-1].ran_freely is False
    said = line_sentence(line)
    assert "came out dry and did not run freely: it tells nothing of the length." in said
    assert "at least there" not in said


def test_another_canal_begins_with_looking_and_a_belief_needs_a_point() -> None:
    panel = dry_panel("A")
    panel.action.value = "peroxide from a syringe"
    panel.canal.value = panel.canal.options[1]
    assert panel.action.value == next(iter(ACTIONS))
    panel.judgement.value = panel.judgement.options[0]
    panel.judge.click()
    assert panel.answer.text == TRY_FIRST
    assert not panel.sitting.line.opened
    panel.action.value = "dress, seal, book another visit"
    panel.again.click()
    assert panel.action.value == next(iter(ACTIONS))
    panel.do.click()
    panel.judge.click()
    assert panel.sitting.line.opened


# --- the lesson -----------------------------------------------------------------------------------
def test_the_panel_appears_with_three_points_when_a_number_is_committed() -> None:
    asked = guess_fourth(dry_panel("A", [TryPoint(SET_MM)] * 3))
    assert asked.panel.widget.layout.display == "none"
    asked.number.value = 20.6
    asked.button.click()
    assert asked.panel.widget.layout.display == ""
    assert "near the mean of the first three" in asked.answer.text
    fourth = float(re.findall(r"ended at ([\d.]+) mm", asked.answer.text)[0])
    panel = asked.panel
    assert isinstance(panel, DryPanel)
    act(panel, POINT, SET_MM)
    assert f"is wet up to {fourth:.1f} mm" in panel.sentence.text


@pytest.mark.parametrize(
    ("said", "words"), [(21.2, "you saw the marks move"), (20.4, "near the mean"), (24.0, "deeper")]
)
def test_a_guess_is_compared_with_the_fourth_mark(said: float, words: str) -> None:
    assert words in compared(said, [20.0, 20.4, 20.8, 21.2])


def test_questions_diagnose_the_beliefs_of_this_lesson() -> None:
    lesson = open_dry_lesson(LESSON.stem, LESSON.parent)
    assert len(lesson.items) == 4
    behind = {o.misconception for i in lesson.items.values() for o in i.options if not o.correct}
    assert behind == {"M6", "M10", "M13", "M16"}
    places = set()
    for item in lesson.items.values():
        places |= {at for at, option in enumerate(item.options) if option.correct}
        for option in item.options:
            assert option.correct or "look again" in option.feedback.lower(), option.text
    assert len(places) > 1


def numbers(rows: tuple[tuple[str, ...], ...], column: int) -> list[float]:
    return [float(found[0]) for row in rows if (found := re.findall(r"[\d.]+", row[column]))]


def test_what_the_lesson_says_in_words_is_what_its_tables_hold() -> None:
    cells = json.loads(LESSON.read_text("utf-8"))["cells"]
    text = "".join("".join(cell["source"]) for cell in cells)
    removed = removed_table().rows
    assert "0.3 mm wide holds about 0.07 µl in a millimetre" in text
    # By hand: a cylinder of 0.3 mm holds π 0.15² = 0.0707 µl in a millimetre.
    assert float(removed[1][1]) == pytest.approx(np.pi * 0.15**2, abs=5e-4)
    assert "takes up a quarter of it for every millimetre" in text
    assert float(removed[1][2]) == pytest.approx(np.pi * 0.15**2 / 4, abs=1e-3)
    assert "wet for two millimetres lowers the liquid in a canal of 0.3 mm by about half" in text
    assert removed[1][4] == "0.5"
    drift = drift_table().rows
    ends = numbers(drift, 1)
    assert "From the fourth point to the fifth the mark went back a little" in text
    assert ends[4] < ends[3] > ends[2] > ends[1] > ends[0]
    assert "Every mark lies millimetres short of the foramen" in text
    assert min(numbers(drift, 3)) > 2
    ooze = ooze_table().rows
    assert "agree to half a millimetre, and they are all nearly two millimetres short" in text
    assert float(ooze_table().caption.rpartition("within ")[2]) <= 0.5
    assert all(1.7 <= off <= 2.0 for off in numbers(ooze, 1))
    assert "it stops at about three in four" in text
    alone = numbers(ooze, 3)
    assert alone == sorted(alone)
    assert 70 <= alone[-2] <= alone[-1] <= 80
    wide = numbers(ooze, 4)
    assert "its interval stays at about 1.5 mm" in text
    assert all(one == pytest.approx(1.5, abs=0.15) for one in wide)
    assert "it believes them one time in three" in text
    assert numbers(ooze, 2)[-1] == pytest.approx(33, abs=3)
