"""The panel of lesson 04, swept without a kernel; and what the lesson says in numbers is true."""

from __future__ import annotations

import itertools
import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lengthwise.bench.canal_state import wetness_of
from lengthwise.bench.point_actions import SIZES as MADE_SIZES
from lengthwise.bench.point_actions import TryPoint
from lengthwise.bench.point_touch import try_points
from lengthwise.evidence import Evidence, PointTrial
from lengthwise.panels.player import player
from lengthwise.panels.trial_case import (
    ESTIMATED_MM,
    FURTHEST_MM,
    allowance_mm,
    lesson_state,
    meet,
)
from lengthwise.panels.trial_lesson import compared, guess_mark, mark_mm, open_trial_lesson
from lengthwise.panels.trial_panel import (
    EMPTY,
    ENOUGH,
    LIQUIDS,
    MOST_TRIALS,
    SIZES,
    TrialPanel,
    trial_panel,
)
from lengthwise.panels.trial_picture import TIMES, draw_trial
from lengthwise.panels.trial_tables import (
    REPEATS,
    errors_mm,
    repeats_table,
    weighed_table,
    wicking_table,
    worked_trials,
)
from lengthwise.panels.trial_words import says, sentence_of, summary_of
from lengthwise.reconciliation import reconcile
from lengthwise.reference import constants as c
from matplotlib.backends.backend_agg import FigureCanvasAgg

LESSON = (
    Path(__file__).resolve().parents[2]
    / "course"
    / "lessons"
    / "04_paper_tells_the_truth_briefly.ipynb"
)
DRY, BLOOD, WATER = LIQUIDS


@pytest.fixture
def panel() -> TrialPanel:
    return trial_panel()


def picture(panel: TrialPanel) -> str:
    return str(panel.picture.live.widget.value)


def numbers(text: str) -> list[float]:
    return [float(found) for found in re.findall(r"\d+\.\d+", text)]


def lesson_text() -> str:
    cells = json.loads(LESSON.read_text("utf-8"))["cells"]
    return "".join("".join(cell["source"]) for cell in cells)


# --- the physics is the bench's -------------------------------------------------------------------
@pytest.mark.parametrize("liquid", LIQUIDS.values())
@pytest.mark.parametrize("contact_s", [0.2, 1.0, 5.0])
def test_the_mark_shown_is_the_mark_that_the_bench_gives_without_chance(
    liquid: str, contact_s: float
) -> None:
    """Placed exactly and read exactly, the bench's points scatter about it by contact time only."""
    state = lesson_state(liquid)
    met = meet(state, liquid, TryPoint(24.5, contact_s))
    by_laws = []
    for law in (False, True):
        # 30 s seep in between points, as in a trial by hand
        wet = wetness_of(replace(state, entrance_limited=law))
        wet = replace(wet, pool_ul=wet.pool_ul + 30.0 * wet.seep_ul_per_s)
        marks = [
            float(
                try_points(
                    wet, 24.5, contact_s=contact_s, size_mm=0.2, taper=0.02, placement_sd_mm=0.0,
                    reading_sd_mm=0.0, rng=np.random.default_rng(seed),
                )[1].mark_mm[0]
            )
            for seed in range(60)
        ]  # fmt: skip
        by_laws.append(np.median(marks))
    shown = [met.overshoot_mm + wicked for wicked in met.wicked_mm]
    # A quarter in contact time, median of 60: a few hundredths of the wicked length.
    assert sorted(by_laws) == pytest.approx(shown, abs=0.02 + 0.06 * met.wicked_mm[1])


def test_without_chance_the_corrected_mark_ends_where_paper_meets_tissue() -> None:
    met = meet(lesson_state(), "tissue", TryPoint(24.5, 1.0))
    allowed, half = allowance_mm(1.0)
    mark = met.overshoot_mm + sum(met.wicked_mm) / 2
    assert met.point.length_mm - mark + allowed == pytest.approx(met.surface_mm, abs=0.02)
    assert half == pytest.approx(0.0, abs=1e-9)


def test_the_canal_is_one_that_the_lesson_may_use() -> None:
    state = lesson_state()
    assert (state.cause, state.bleeding, state.remnant_mm) == ("none", "none", 0.0)
    assert state.lateral_mm is None
    assert FURTHEST_MM == ESTIMATED_MM + 1.0
    assert all(int(size) in MADE_SIZES for size in SIZES)


# --- the panel ------------------------------------------------------------------------------------
def test_its_text_is_its_sentence_and_its_picture_says_the_same(panel: TrialPanel) -> None:
    bundle = panel._repr_mimebundle_()
    assert bundle["text/plain"] == panel.sentence.text
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert f'alt="{panel.sentence.text}"' in picture(panel)


def test_every_position_of_every_control_gives_a_picture_and_a_sentence(panel: TrialPanel) -> None:
    for liquid, size in itertools.product(LIQUIDS, SIZES):
        panel.liquid.value, panel.size.value = liquid, size
        for length, contact in ((22.5, 10.0), (24.0, 0.2), (24.5, 1.0), (25.0, 10.0)):
            panel.length.value, panel.contact.value = length, contact
            assert f'alt="{panel.sentence.text}"' in picture(panel)
            assert panel.sentence.text.startswith(f"Set to {length:g} mm, the point of size {size}")
            assert "24.4 mm" in panel.sentence.text


def test_every_step_of_both_sliders_is_followed(panel: TrialPanel) -> None:
    seen = set()
    for step in range(50):
        panel.contact.value = 0.2 + 0.2 * step
        assert f"After {panel.contact.value:.1f} s" in panel.sentence.text
        seen.add(picture(panel))
    assert len(seen) == 50
    for step in range(11):
        panel.length.value = 22.5 + 0.25 * step
        assert panel.sentence.text.startswith(f"Set to {panel.length.value:g} mm")


def test_contact_time_grows_the_wicked_part_and_leaves_the_overshoot(panel: TrialPanel) -> None:
    ends = []
    for contact in (1.0, 5.0, 10.0):
        panel.contact.value = contact
        overshoot, wicked, further = panel.picture.drawing.wet[0.0]
        ends.append((np.ptp(overshoot.get_xy()[:, 0]), wicked.get_xy()[:, 0].min(),
                     further.get_xy()[:, 0].min()))  # fmt: skip
    overshoots, near, far = zip(*ends, strict=True)
    assert overshoots == pytest.approx([overshoots[0]] * 3)
    assert near[0] > near[1] > near[2]
    assert far[0] > far[1] > far[2]
    assert far[0] == pytest.approx(near[0], abs=0.02)
    assert near[2] - far[2] > 0.8


def test_a_dry_point_is_dry_at_every_contact_time(panel: TrialPanel) -> None:
    panel.length.value = 23.5
    for contact in (0.2, 5.0, 10.0):
        panel.contact.value = contact
        assert "stays dry, however long" in panel.sentence.text
        assert not any(part.get_visible() for part in panel.picture.drawing.wet[0.0])


def test_a_point_that_binds_is_shown_short_and_never_says_go_longer(panel: TrialPanel) -> None:
    panel.size.value, panel.length.value = "50", 25.0
    tip = panel.picture.drawing.point.get_xy()[:, 0].max()
    assert tip < lesson_state().canal.foramen_mm - 1.0
    assert "Do not go longer" in panel.sentence.text


def test_free_liquid_gives_no_length(panel: TrialPanel) -> None:
    for liquid in (BLOOD, WATER):
        panel.liquid.value = liquid
        assert "take no length from this point" in panel.sentence.text
        assert "less what wicks" not in panel.sentence.text


def test_play_and_slider_move_each_other(panel: TrialPanel) -> None:
    panel.play.value = 5.0
    assert panel.contact.value == 5.0
    assert "After 5.0 s" in panel.sentence.text
    panel.contact.value = 2.0
    assert panel.play.value == 2.0


def test_a_tick_that_was_under_way_does_not_undo_what_the_hand_set(panel: TrialPanel) -> None:
    panel.play.set_state({"run": 1, "tick": [1.2, 1], "playing": True})
    assert panel.contact.value == 1.2
    panel.contact.value = 10.0
    panel.play.set_state({"tick": [1.4, 1]})
    assert (panel.contact.value, panel.play.value, panel.play.playing) == (10.0, 10.0, False)
    panel.play.set_state({"run": 2, "tick": [0.4, 2], "playing": True})
    assert panel.contact.value == 0.4


def test_while_it_plays_the_sentence_is_for_the_eye_and_at_the_halt_it_is_said(
    panel: TrialPanel,
) -> None:
    assert panel.sentence.aloud
    panel.play.set_state({"playing": True})
    assert not panel.sentence.aloud
    panel.try_it.click()  # halts it
    assert panel.sentence.aloud


@pytest.mark.parametrize(
    ("changed", "words"),
    [({"label": " "}, "label: got an empty"), ({"low": 3.0}, "must not fall"),
     ({"step": 0.0}, "step: got")],
)  # fmt: skip
def test_a_player_that_cannot_be_is_refused(changed: dict[str, float], words: str) -> None:
    fields = {"label": "Play", "value": 1.0, "low": 0.0, "high": 2.0, "step": 0.1} | changed
    with pytest.raises(ValueError, match=words):
        player(**fields)  # type: ignore[arg-type]


def test_a_player_stays_between_its_ends_whatever_a_page_sends() -> None:
    run = player("Play", value=1.0, low=0.5, high=2.0, step=0.1)
    for sent, kept in ((99.0, 2.0), (-1.0, 0.5), (float("nan"), 0.5)):
        run.value = sent
        assert run.value == kept


# --- points tried by hand -------------------------------------------------------------------------
def test_a_point_tried_is_written_down_as_the_bench_found_it(panel: TrialPanel) -> None:
    assert panel.said.text == EMPTY
    panel.length.value = 24.5
    for count in (1, 2, 3):
        panel.try_it.click()
        assert len(panel.tried.trials) == count
        assert panel.log.value.count("<tr>") == count + 1
    trial = panel.tried.trials[-1]
    assert isinstance(trial, PointTrial)
    assert f"<td>{trial.wet_mm:.1f}</td>" in panel.log.value
    assert len({t.wet_mm for t in panel.tried.trials}) == 3, "a hand never places twice alike"


def test_start_again_clears_the_log_and_gives_the_canal_back(panel: TrialPanel) -> None:
    panel.liquid.value = WATER
    before = panel.sentence.text
    for _ in range(3):
        panel.try_it.click()
    assert panel.sentence.text != before, "points take water away"
    panel.again.click()
    assert panel.sentence.text == before
    assert (panel.said.text, panel.log.value, panel.tried.trials) == (EMPTY, "", [])


def test_when_the_points_have_taken_the_water_away_the_next_one_meets_tissue(
    panel: TrialPanel,
) -> None:
    panel.liquid.value, panel.length.value = WATER, 24.0
    assert "past where water begins" in panel.sentence.text
    for _ in range(4):
        panel.try_it.click()
    assert "meet water" in panel.sentence.text  # a little is left below
    panel.length.value = 24.5
    for _ in range(2):
        panel.try_it.click()
    assert "meets tissue" in panel.sentence.text


def test_a_log_ends_somewhere_and_says_so(panel: TrialPanel) -> None:
    for _ in range(MOST_TRIALS + 2):
        panel.try_it.click()
    assert panel.said.text == ENOUGH
    assert len(panel.tried.trials) == MOST_TRIALS


def trial(length_mm: float, wet_mm: float = 0.0, **more: object) -> PointTrial:
    fields = {"contact_s": 1.0, "liquid_in_canal": "dry", "ran_freely": True} | more
    return PointTrial(length_mm=length_mm, wet_mm=wet_mm, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("trials", "words"),
    [
        ([], "half a millimetre short of 24 mm"),
        ([trial(24.0)], "half a millimetre longer"),
        ([trial(25.0)], "Go no longer"),
        ([trial(24.5, 0.6)], "none dry yet. Next: a point half a millimetre shorter"),
        ([trial(24.0), trial(24.5, 0.6)], "several must agree"),
        ([trial(24.0), trial(24.5, 0.6), trial(25.0, 1.1)], "go back to 24.5 mm, no longer"),
        ([trial(24.5, 0.6), trial(25.0, 1.1), trial(24.5, 0.6)], "none dry yet"),
        ([trial(24.0), *[trial(24.5, mm) for mm in (0.5, 0.6, 0.7)]], "within 0.2 mm of each"),
        (
            [trial(24.5, ran_freely=False)],
            "No length yet: the point did not run freely: take a thin",
        ),
        (
            [trial(24.0, 2.0, liquid_in_canal="irrigant")],
            "No length yet: the canal is not dry: dry",
        ),
    ],
)
def test_the_log_says_what_comes_next(trials: list[PointTrial], words: str) -> None:
    assert words in summary_of(trials)


@pytest.mark.parametrize(
    ("tried", "words"),
    [
        (trial(24.5, 0.6), "24.2 mm"),
        (trial(24.5, 1.5, contact_s=5.0), "23.9 mm, give or take 0.3"),
        (trial(24.0), "beyond 24 mm"),
        (trial(24.0, ran_freely=False), "nothing"),
        (trial(24.0, 1.0, liquid_in_canal="blood"), "no length"),
    ],
)
def test_one_point_says_no_more_than_it_can(tried: PointTrial, words: str) -> None:
    assert says(tried).startswith(words)


def test_of_three_lengths_told_together_one_is_the_difference_of_the_others(
    panel: TrialPanel,
) -> None:
    """A student who subtracts is told the same by the sentence: this is what the lesson trains."""
    panel.contact.value = 1.0
    for step in range(11):
        panel.length.value = 22.5 + 0.25 * step
        told = re.search(
            r"the mark is (\d\.\d) mm long: (\d\.\d) mm overshoot, (\d\.\d) mm wicked",
            panel.sentence.text,
        )
        if told is None:
            assert "stays dry" in panel.sentence.text
            continue
        mark, overshoot, wicked = map(float, told.groups())
        assert mark - overshoot == pytest.approx(wicked)


def test_points_within_so_much_of_each_other_are_so_by_the_ends_shown() -> None:
    ends = [20.26, 20.7, 21.14]
    trials = [trial(24.5, 24.5 - end + 0.3) for end in ends]
    said = summary_of([trial(24.0, 0.0), *trials])
    low, high, apart = numbers(said)[-3:]
    assert apart == pytest.approx(high - low)


# --- the picture ----------------------------------------------------------------------------------
def test_everything_is_drawn_twenty_times_enlarged_and_stays_on_the_picture() -> None:
    state = lesson_state()
    drawing = draw_trial(state.canal, meet(state, "tissue", TryPoint(24.5)))
    axes = drawing.figure.axes[0]
    renderer = FigureCanvasAgg(drawing.figure).get_renderer()
    points = itertools.product(LIQUIDS.values(), (22.5, 24.5, 25.0), (0.2, 1.0, 10.0), (20, 50))
    for liquid, length, contact, size in points:
        drawing.place(meet(lesson_state(liquid), liquid, TryPoint(length, contact, size)))
        for words in drawing.words.values():
            box = words.get_window_extent(renderer)
            assert box.x0 >= -1, words.get_text()
            assert box.x1 <= drawing.figure.bbox.width + 1, words.get_text()
    millimetre = axes.transData.transform([(1.0, 1.0)]) - axes.transData.transform([(0.0, 0.0)])
    in_mm = millimetre[0] / drawing.figure.dpi * 25.4
    assert in_mm.tolist() == pytest.approx([TIMES, TIMES], rel=0.01)


@pytest.mark.parametrize("size", [15, 20, 40])
def test_the_point_is_drawn_as_thick_as_it_is(size: int) -> None:
    state = lesson_state()
    drawing = draw_trial(state.canal, meet(state, "tissue", TryPoint(23.5, 1.0, size)))
    corners = drawing.point.get_xy()[:4]
    at_tip = corners[np.isclose(corners[:, 0], corners[:, 0].max()), 1]
    assert np.ptp(at_tip) == pytest.approx(size / 100)
    at_far = corners[np.isclose(corners[:, 0], corners[:, 0].min()), 1]
    assert np.ptp(at_far) == pytest.approx(size / 100 + 0.02 * np.ptp(corners[:, 0]))


# --- the lesson -----------------------------------------------------------------------------------
def test_the_picture_appears_only_when_a_number_is_committed() -> None:
    asked = guess_mark(trial_panel())
    assert asked.panel.widget.layout.display == "none"
    asked.number.touched = True
    asked.button.click()
    assert asked.panel.widget.layout.display == ""
    assert asked.answer.text.startswith("You said 0.7 mm. It is 1.1 to 1.6 mm")


@pytest.mark.parametrize(
    ("said", "words"), [(0.7, "contact time alone"), (1.4, "nobody has measured"), (3.5, "slows")]
)
def test_a_guess_is_compared_and_never_just_called_wrong(said: float, words: str) -> None:
    assert words in compared(said, 1.1, 1.6)


def test_questions_diagnose_the_beliefs_of_this_lesson() -> None:
    lesson = open_trial_lesson(LESSON.stem, LESSON.parent)
    assert len(lesson.items) == 4
    behind = {o.misconception for i in lesson.items.values() for o in i.options if not o.correct}
    assert {"M4", "M5", "M13"} <= behind <= {"M4", "M5", "M6", "M11", "M13", "M16"}
    for item in lesson.items.values():
        for option in item.options:
            assert option.correct or "look again" in option.feedback.lower(), option.text
    places = {
        next(i for i, option in enumerate(item.options) if option.correct)
        for item in lesson.items.values()
    }
    assert len(places) > 1


def test_the_first_question_keys_what_the_library_says() -> None:
    marks = [trial(24.0, mm) for mm in (0.6, 0.7, 0.6)]
    ends = [t.length_mm - t.wet_mm + allowance_mm(1.0)[0] for t in marks]
    assert np.mean(ends) == pytest.approx(23.7, abs=0.05)


def test_what_the_lesson_says_of_contact_time_is_what_the_laws_give() -> None:
    text, table = lesson_text(), {row[0]: row[1:] for row in wicking_table().rows}
    assert mark_mm(1.0)[1] == pytest.approx(0.7, abs=0.05)
    assert "its last 0.7 mm wet" in text
    assert "After a second both laws say 0.3 mm; after five seconds one says 0.7 mm and" in text
    assert table["1 s"][:2] == ("0.3", "0.3")
    assert table["5 s"][:2] == ("0.7", "1.2")
    assert "At ten seconds the laws are about a millimetre apart" in text
    tissue, entrance, _, _ = (numbers(cell)[0] for cell in table["10 s"])
    assert entrance - tissue == pytest.approx(1.0, abs=0.15)
    assert "creeps four to ten times as far in the same second" in text
    tissue, _, blood, water = (numbers(cell)[0] for cell in table["1 s"])
    assert blood / tissue == pytest.approx(4.0, abs=0.3)
    assert water / tissue == pytest.approx(10.0, abs=1.0)
    k = c.PAPER_K_MM_PER_SQRT_S
    assert f"({k.low:.2f} to {k.high:.2f})" in text
    assert allowance_mm(5.0)[1] == pytest.approx(0.25, abs=0.02)
    assert "quarter of a millimetre either way" in text
    more = [mm - 0.3 for mm in (0.67, 1.18)]
    assert more == pytest.approx([0.4, 0.9], abs=0.05)
    assert "add 0.4 to 0.9 mm more" in text


def test_what_the_lesson_says_of_its_worked_canal_is_what_the_library_weighs() -> None:
    text, rows = lesson_text(), {row[0]: row[1:] for row in weighed_table().rows}
    wet = [t for t in worked_trials() if t.wet_mm > 0]
    ends = [t.length_mm - t.wet_mm + allowance_mm(1.0)[0] for t in wet]
    assert "the three marks say 23.9 to 24.3 mm" in text
    assert (round(min(ends), 1), round(max(ends), 1)) == (23.9, 24.3)
    widths = {name: np.ptp(numbers(row[2])[1:]) for name, row in rows.items()}
    foramen = lesson_state().canal.foramen_mm
    for name in ("3 points, 1 s", "10 points, 1 s", "3 points, 5 s", "10 points, 5 s"):
        weighed_mm, low, high = numbers(rows[name][2])
        assert low < foramen < high
        assert weighed_mm == pytest.approx(foramen, abs=0.15)
    assert widths["3 points, 1 s"] - widths["10 points, 1 s"] < 0.15
    assert widths["3 points, 5 s"] > widths["3 points, 1 s"] + 0.1
    assert widths["3 points, 5 s, written down as 1 s"] > 2 * widths["3 points, 5 s"]
    assert numbers(rows["3 points, 5 s"][0])[0] == pytest.approx(foramen - 1.5, abs=0.1)
    case = Evidence(tooth="13", canal="single", reference_point="x", records=worked_trials())
    weighed = reconcile(case, target_mm=0.5)
    assert "24.4 − 0.5 is 23.9 mm" in text
    assert weighed.foramen_mm == pytest.approx(24.4, abs=0.05)
    assert "23.75 mm is expected to cost least, and not 24.0 mm" in text
    assert weighed.best_length_mm == 23.75
    assert "the minute that an electronic reading costs" in text
    assert weighed.next_step.word == "reading"


def test_repeats_shrink_what_the_hand_does_and_not_what_the_canal_does() -> None:
    def spread(contact_s: float, placement_sd_mm: float, repeats: int) -> float:
        return float(errors_mm(contact_s, placement_sd_mm)[:, :repeats].mean(axis=1).std())

    one, few, many = (spread(1.0, 0.20, n) for n in REPEATS)
    assert one - few > 2 * (few - many)
    assert spread(1.0, 0.06, 1) < one
    assert spread(1.0, 0.06, 10) == pytest.approx(many, abs=0.02)
    assert many > 0.2, "what the points of a canal share stays"
    for n in REPEATS:
        assert spread(5.0, 0.20, n) / spread(1.0, 0.20, n) == pytest.approx(1.5, abs=0.12)
    short = [numbers(row[2])[0] for row in repeats_table().rows]
    assert {min(short), max(short)} == {0.2, 0.3}
    text = lesson_text()
    assert "marks still end **0.2 to 0.3 mm short of the centre" in text
    assert "widen the spread by about half" in text


def test_a_sentence_names_two_lengths_only_where_the_laws_differ() -> None:
    state = lesson_state()
    brief = sentence_of(meet(state, "tissue", TryPoint(24.5, 1.0)))
    long = sentence_of(meet(state, "tissue", TryPoint(24.5, 5.0)))
    assert "one law" not in brief
    assert "by one law or the other" in long
    assert "give or take 0.3" in long
