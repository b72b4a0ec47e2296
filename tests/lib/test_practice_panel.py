"""Practice swept without a kernel, and played by automatic students.

`LENGTHWISE_PLAYS=500` plays as many cases as one asks for.
"""

from __future__ import annotations

import csv
import errno
import io
import os
import re
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from ipywidgets import Widget
from ipywidgets.widgets.widget import _instances
from lengthwise.evidence import ElectronicReading, PointTrial
from lengthwise.marking.determination import Determination
from lengthwise.marking.practice_cases import compose
from lengthwise.marking.practice_cautions import (
    injury_cost,
    limit_mm,
    limit_words,
    near,
    silent_at_the_limit,
    too_far,
)
from lengthwise.marking.practice_chair import TARGET_MM, Act, Done, Sitting
from lengthwise.marking.practice_difficulty import choose_kind
from lengthwise.marking.practice_kinds import KINDS
from lengthwise.marking.practice_log import PracticeLog
from lengthwise.marking.practice_marks import BLED, verdict
from lengthwise.marking.practice_progress import BLOCK, COLUMNS, as_csv, beliefs_over_time
from lengthwise.marking.practice_record import Finished, PracticeRecord, open_record
from lengthwise.marking.practice_steps import (
    BLEEDS,
    LOOK_FIRST,
    NO_SIGNAL,
    POSSIBLE_STEPS,
    Reply,
    propose,
    stays_wet,
)
from lengthwise.marking.practice_students import STUDENTS, play
from lengthwise.marking.practice_ways import WAYS, begin, take
from lengthwise.panels import practice_desk
from lengthwise.panels.practice_controls import ANSWERS, DID_ANYWAY, DO, NOT_DONE
from lengthwise.panels.practice_kept_panel import SURE
from lengthwise.panels.practice_page import PracticePage, open_practice
from lengthwise.panels.practice_panel import PracticePanel
from lengthwise.panels.practice_progress_panel import progress_panel
from lengthwise.panels.practice_progress_tables import looks_sheet
from lengthwise.panels.practice_progress_words import NOTHING_YET, progress_sentence
from lengthwise.panels.practice_words import (
    CHOOSE_ANSWER,
    DO_FIRST,
    GO_ON,
    LOAD_AGAIN,
    NOT_SET,
    READ_ON,
    UPSIDE_DOWN,
    happened_words,
    record_sentence,
    record_sheet,
    ruler_words,
    told,
)
from lengthwise.panels.ruler_words import takes_a_length
from lengthwise.panels.spoken import Spoken
from lengthwise.reconciliation import NEXT_STEPS, reconcile
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference import practice as q

PLAYS = int(os.environ.get("LENGTHWISE_PLAYS", "20"))
LENGTH, FILM, READING, POINTS, ASK, LONGER = ANSWERS
LOWER, UPPER = 4, 7  # seeds of plain cases, tooth 45 and tooth 26


@pytest.fixture
def page(tmp_path: Path) -> PracticePage:
    return open_practice(tmp_path, seed=3)


def picture(page: PracticePage) -> str:
    return str(page.case.parts.frame.children[0].value)


def every_text(widget: Widget) -> list[str]:
    own = [widget.text] if isinstance(widget, Spoken) else []
    return own + [text for child in getattr(widget, "children", ()) for text in every_text(child)]


def act(page: PracticePage, word: str, length_mm: float | None = None) -> None:
    page.case.controls.action.value = WAYS[word].words
    if length_mm is not None:
        page.case.controls.length.value = length_mm
    page.case.controls.do.click()
    if page.case.desk.stopped_at:  # too far: do it all the same
        page.case.controls.do_anyway.click()


def answer_a_length(panel: PracticePanel) -> None:
    """Commit the numbers that stand there, as somebody who has touched them."""
    hands = panel.controls
    hands.answer.value = LENGTH
    hands.low.touched = hands.high.touched = hands.working_length.touched = True
    hands.commit.click()


# --- the bench ------------------------------------------------------------------------------------
@pytest.mark.parametrize("kind", KINDS)
def test_a_case_is_of_its_kind_and_comes_again_from_its_seed(kind: str) -> None:
    (case, patient), (again, _) = compose(kind, 11), compose(kind, 11)
    assert case.record == again.record
    assert KINDS[kind].lies(patient.canal)
    evidence = begin(kind, 11).evidence()
    assert evidence.context.obstruction is None
    assert evidence.context.communication is None


def test_an_impossible_length_is_refused_without_a_number_that_would_tell() -> None:
    sitting = begin("plain", 3)
    done = take(sitting, Act("film", 44.0))
    assert done.refused
    assert not re.search(r"\d", done.said)
    assert not take(sitting, Act("reading", 6.0)).exposures


def test_only_radiographs_take_dose_and_everything_takes_time() -> None:
    sitting = begin("oozes", 3)
    for word in WAYS:
        before = sitting.minutes, sitting.exposures
        done = take(sitting, Act(word, sitting.estimated_mm))
        assert sitting.minutes > before[0]
        film = word in ("film", "film, aside", "cause")
        assert sitting.exposures - before[1] == (film and not done.refused)


# --- the marks ------------------------------------------------------------------------------------
def test_what_could_hurt_somebody_earns_nothing() -> None:
    sitting = begin("given", 6)
    answer = play(sitting, "careful")
    assert verdict(sitting, answer).share > 0.9
    take(sitting, Act("syringe", 20.0))
    unsafe = verdict(sitting, answer)
    assert unsafe.share == 0
    assert "you chose peroxide syringe;" in unsafe.said
    assert unsafe.said.count("Safety") == 1
    longer = verdict(begin("given", 6), Determination(next_step="longer"))
    assert longer.share == 0
    assert longer.said.count("Safety") == 1


def test_only_a_repeat_that_would_not_help_costs_a_quarter() -> None:
    sitting = begin("given", 6)
    answer = play(sitting, "careful")
    full = verdict(sitting, answer).share
    again = propose(sitting, "film")
    assert again.costs
    assert "25 % of this case's marks are lost" in again.words
    assert verdict(sitting, answer, missteps=1).share == pytest.approx(0.75 * full)
    assert verdict(sitting, answer, missteps=9).share == 0
    fresh = begin("plain", LOWER)
    for step in POSSIBLE_STEPS:  # the usual order of work is never a misstep
        assert not propose(fresh, step).costs
    take(fresh, Act("reading", fresh.estimated_mm + 1.0))
    assert "as right" in propose(fresh, "film").words


def test_stopping_is_right_when_a_canal_stays_wet_and_not_before() -> None:
    sitting = begin("seeps", 4)
    too_early = verdict(sitting, Determination(next_step="ask"))
    assert too_early.share == 0
    assert "step was left" in too_early.said
    for _ in range(4):
        for _ in range(2):
            take(sitting, Act("dry", sitting.estimated_mm - 1.0))
        for _ in range(2):
            take(sitting, Act("point", sitting.estimated_mm))
    assert stays_wet(sitting)
    assert verdict(sitting, Determination(next_step="ask")).share == 1


def test_asking_costs_nothing_and_is_answered_once_with_the_step_that_is_left() -> None:
    sitting = begin("plain", LOWER)
    nothing_seen = propose(sitting, "ask")
    assert nothing_seen == Reply(False, LOOK_FIRST)
    take(sitting, Act("reading", sitting.estimated_mm + 1.0))
    first, later = propose(sitting, "ask"), propose(sitting, "ask", asked=1)
    best = reconcile(sitting.evidence(), target_mm=TARGET_MM).next_step.word
    named = NEXT_STEPS[best].removeprefix("not yet: ").replace(" (again)", "")  # none was tried
    assert named in first.words
    assert named not in later.words
    assert "asks back" in later.words
    assert not any(each.costs or each.ends for each in (nothing_seen, first, later))
    enough = begin("given", 6)
    play(enough, "careful")
    assert "the sources are enough for a length" in propose(enough, "ask").words


def test_stopping_and_the_step_that_is_left_come_with_the_reason_that_belongs_to_them() -> None:
    wet = begin("seeps", 0)
    for word in ("reading", "film", "dry", "point", "point", "dry", "point", "dry", "point"):
        take(wet, Act(word, wet.estimated_mm))
    stop = propose(wet, "ask")
    assert stop.ends
    assert "Stopping is right: after 3 rounds of drying, " in stop.words
    unread = begin("book, tried", 2)  # the next step is a reading, though points were tried last
    for word in ("reading", "film", "dry", "point", "point", "dry", "point", "dry", "point"):
        take(unread, Act(word, unread.estimated_mm))
    left = propose(unread, "ask").words
    assert "take the electronic reading (again)" in left
    assert "because no reading tells a length so far" in left
    too_early = verdict(unread, Determination(None, 22.0, 21.5, 22.5)).said
    assert "earns nothing here: no reading tells a length so far" in too_early


def test_a_hint_names_only_what_applies() -> None:
    sitting = begin("seeps", 4)
    for word in ("reading", "dry", "point", "point"):
        take(sitting, Act(word, sitting.estimated_mm))
    words = propose(sitting, "ask", asked=1).words
    assert "whether the canal was dry when the last points were tried. Up to 3 rounds" in words
    assert "yet" not in words


def test_points_that_have_all_stayed_dry_are_not_told_as_sources_that_disagree() -> None:
    sitting = begin("given", 7)
    inside = sitting.patient.canal.foramen_mm - 1.5
    for _ in range(4):
        take(sitting, Act("point", round(2 * inside) / 2))
    trials = [each.record for each in sitting.own if isinstance(each.record, PointTrial)]
    assert not any(each.wet_mm for each in trials)
    said = verdict(sitting, Determination(None, inside, inside, inside + 1.0)).said
    assert "No length should be taken yet" in said
    assert "no point has come out wet yet" in said
    assert f"a fresh one at {round(2 * inside) / 2 + 0.5:g} mm" in said
    assert "disagree" not in said


def test_who_is_dry_as_far_as_points_may_go_may_stop() -> None:
    sitting = begin("plain", LOWER)
    limit, _ = limit_mm(sitting)
    dry = {"contact_s": 1.0, "wet_mm": 0.0, "ran_freely": True, "liquid_in_canal": "dry"}
    for length in (limit - 0.5, limit, limit):
        tried = PointTrial(length_mm=length, mark_site="none", **dry)
        sitting.done.append(Done(Act("point", length), "", 0.5, record=tried))
    assert not propose(sitting, "points").costs
    assert propose(sitting, "ask").ends
    assert too_far(sitting, Act("point", limit + 0.5))


def test_who_hears_no_signal_as_far_as_a_file_may_go_is_sent_to_a_radiograph_and_then_stops() -> (
    None
):
    sitting = begin("plain", 4000)
    play(sitting, "careful")
    assert silent_at_the_limit(sitting) == 2
    assert propose(sitting, "reading").words == NO_SIGNAL
    assert propose(sitting, "ask").ends
    sitting.done = [each for each in sitting.done if each.act.word != "film"]
    asked = propose(sitting, "ask")
    assert not asked.ends
    assert "take a radiograph with a file" in asked.words


# --- what could injure ----------------------------------------------------------------------------
@pytest.mark.parametrize(("seed", "beside"), [(LOWER, "A nerve is near"), (UPPER, "The sinus is")])
def test_what_goes_past_a_known_limit_costs_most_near_a_nerve(seed: int, beside: str) -> None:
    sitting = begin("plain", seed)
    assert beside in told(sitting)
    beyond, ask = sitting.estimated_mm + 1.5, Determination(next_step="ask")
    assert not take(sitting, Act("prepare", beyond)).caution  # nothing goes in
    done = take(sitting, Act("dry", beyond))
    assert beside in done.caution
    assert done.caution in record_sheet(sitting).rows[-1][-1]
    assert "40 % of the marks are lost" in verdict(sitting, ask).truth
    take(sitting, Act("dry", beyond))
    assert injury_cost(sitting) == q.TOO_FAR_MOST.value < 0.5  # the answer still makes the mark


def test_what_goes_too_far_takes_its_part_of_the_marks() -> None:
    sitting = begin("given", 6)
    answer = play(sitting, "careful")
    full = verdict(sitting, answer).share
    assert not near(sitting.case.place)
    take(sitting, Act("dry", limit_mm(sitting)[0] + 0.5))
    assert verdict(sitting, answer).share == pytest.approx(
        (1 - q.TOO_FAR_COST.value) * full, rel=0.01
    )


def test_nobody_pays_for_what_could_not_be_known() -> None:
    """Only the truth differs, and what is said of it: the cost does not."""
    sitting = begin("plain", LOWER)
    take(sitting, Act("dry", sitting.estimated_mm + 1.0))
    canal = sitting.patient.canal
    ask = Determination(next_step="ask")
    sitting.patient.canal = replace(canal, foramen_mm=sitting.estimated_mm - 1.4)
    found = verdict(sitting, ask)
    assert injury_cost(sitting) == 0
    assert "2.4 mm past the foramen, with a nerve near" in found.truth
    assert "you could not know, so it cost no marks" in found.truth


def test_who_went_past_a_signal_that_had_come_shorter_is_not_told_that_it_could_not_be_known() -> (
    None
):
    sitting = begin("plain", UPPER)
    estimated = sitting.estimated_mm
    done = take(sitting, Act("reading", estimated + 1.0))
    trace = done.record
    assert isinstance(trace, ElectronicReading)
    signal_mm = assess_trace(trace).signal_mm
    assert signal_mm is not None
    higher = signal_mm - (estimated - 1.0)  # the same trace, so much higher in the canal
    depth = tuple(None if each is None else each - higher for each in trace.depth_mm or ())
    early = trace.model_copy(update={"depth_mm": depth})
    sitting.done[-1] = replace(done, record=early, inside_mm=estimated)
    take(sitting, Act("film", estimated + 0.5))
    sitting.patient.canal = replace(sitting.patient.canal, foramen_mm=estimated - 0.8)
    assert injury_cost(sitting) == 0
    truth = verdict(sitting, Determination(next_step="ask")).truth
    assert "could not know" not in truth
    assert "lay within the limit, so it cost no marks" in truth
    assert f"signal had come at {estimated - 1.0:.1f} mm, more than 1 mm shorter" in truth
    sitting.done.reverse()  # the signal comes only afterwards
    assert "could not know" in verdict(sitting, Determination(next_step="ask")).truth


def test_a_foramen_signal_whose_signs_fail_lengthens_no_limit() -> None:
    """Liquid in the chamber makes a signal late (lesson 03); the rule is lesson 04's."""
    sitting = begin("tissue", 8)
    trace = take(sitting, Act("reading", sitting.estimated_mm + 1.5)).record
    assert isinstance(trace, ElectronicReading)
    quality = assess_trace(trace)
    assert quality.signal_mm is not None
    assert quality.signal_mm - sitting.estimated_mm > 1.0
    assert not all(sign.holds for sign in quality.signs)
    assert limit_mm(sitting) == (sitting.estimated_mm + 1.0, "the estimated length")
    assert too_far(sitting, Act("point", sitting.estimated_mm + 1.5))


def test_a_limit_between_two_stops_is_told_with_both() -> None:
    sitting = begin("plain", 14)
    take(sitting, Act("reading", sitting.estimated_mm + 1.0))
    limit, what = limit_mm(sitting)
    assert what == "the foramen signal"
    told_so = f" mm now, the last stop before {limit:.1f} mm (1 mm beyond the foramen signal)."
    assert limit_words(sitting).endswith(told_so)


def test_while_it_bleeds_its_cause_comes_first_until_somebody_has_looked() -> None:
    sitting = begin("given, oozes", 3)
    assert told(sitting).splitlines()[1].endswith("it was dried. It oozes blood.")
    length = Determination(None, 21.0, 20.5, 21.5)
    for asked in (0, 1):
        assert propose(sitting, "ask", asked).words.startswith(BLEEDS)
    assert BLED in verdict(sitting, length).truth
    assert BLED not in verdict(sitting, Determination(next_step="ask")).truth
    assert WAYS["cause"].words in BLEEDS
    assert WAYS["cause"].words in BLED
    take(sitting, Act("cause", 20.0))
    assert BLEEDS not in propose(sitting, "ask").words
    assert BLED not in verdict(sitting, length).truth
    sitting.done.append(replace(sitting.done[0], visit=2))  # it bleeds again at the next visit
    assert propose(sitting, "ask").words.startswith(BLEEDS)
    assert BLEEDS not in propose(begin("given", 3), "ask").words


def test_what_all_that_is_known_puts_past_the_foramen_is_too_far_before_the_limit() -> None:
    sitting = begin("plain", LOWER)
    estimated = sitting.estimated_mm
    at_the_limit = Act("film", estimated + 1.0)
    assert not too_far(sitting, at_the_limit)
    dry = {"contact_s": 1.0, "ran_freely": True, "liquid_in_canal": "dry"}
    for _ in range(3):  # points that meet tissue 1 mm short of the estimated length
        met = PointTrial(length_mm=estimated - 0.8, wet_mm=0.5, mark_site="tip_straight", **dry)
        sitting.done.append(Done(Act("point", met.length_mm), "", 0.5, record=met))
    assert "where all that you have so far puts the foramen" in too_far(sitting, at_the_limit)
    shown = float(limit_words(sitting).split()[3])  # the shown limit is the one that counts
    assert not too_far(sitting, Act("film", shown))
    assert too_far(sitting, Act("film", shown + 0.5))
    assert not too_far(sitting, Act("film", estimated))  # within it nobody ever pays


def test_a_length_beyond_the_estimated_one_is_cautioned_until_another_source_has_spoken() -> None:
    sitting = begin("plain", LOWER)
    for word in ("reading", "film"):
        sitting = begin("plain", LOWER)
        assert not take(sitting, Act("reading", sitting.estimated_mm - 6.0)).caution
        done = take(sitting, Act(word, sitting.estimated_mm + 0.5))
        assert "0.5 mm beyond" in done.caution
        assert "costs nothing" in done.caution
        assert not done.too_far
    assert not take(sitting, Act("dry", sitting.estimated_mm + 0.5)).caution
    assert not take(sitting, Act("reading", sitting.estimated_mm + 0.5)).caution


def test_a_length_is_told_as_past_only_from_a_tenth_on() -> None:
    sitting = begin("given", 6)
    canal = sitting.patient.canal
    sitting.patient.canal = replace(canal, foramen_mm=22.46)
    take(sitting, Act("point", 22.5))
    answer = Determination(None, 22.5, 22.0, 23.0)
    assert "past" not in verdict(sitting, answer).truth
    sitting.patient.canal = replace(canal, foramen_mm=22.4)
    assert "0.1 mm past" in verdict(sitting, answer).truth


def test_the_estimated_length_stands_in_the_case_with_its_arithmetic() -> None:
    sitting = begin("plain", LOWER)
    image = sitting.case.record.tooth_length_mm
    assert f"Estimated length: {image:.1f} ÷ 1.065" in told(sitting)
    assert f"rounded to half a millimetre: {sitting.estimated_mm:g} mm" in told(sitting)


def test_what_opened_as_closed_and_was_not_gets_its_sentence() -> None:
    for kind in ("opening", "resorbed", "plain"):
        truth = verdict(begin(kind, 3), Determination(next_step="ask")).truth
        assert ("At first the apex looked closed" in truth) == (kind != "plain")
    assert [kind for kind, about in KINDS.items() if about.not_seen] == [
        "opening", "resorbed", "opening, hidden, disturbed",
    ]  # fmt: skip


def test_who_stays_within_the_estimated_length_is_told_of_no_danger() -> None:
    sitting = begin("plain", LOWER)
    assert not take(sitting, Act("dry", sitting.estimated_mm - 2.0)).caution
    assert "Safety" not in verdict(sitting, Determination(next_step="ask")).truth
    assert not any(each.caution for each in begin("tried", 0).done)  # by whoever was there before


def test_a_record_that_the_ruler_does_not_show_is_said_with_the_reason() -> None:
    sitting = begin("plain", LOWER)
    take(sitting, Act("reading", sitting.estimated_mm - 6.0))
    assert "Electronic reading: 1 left out, because its foramen signal never came" in (
        ruler_words(sitting)
    )
    assert "left out" not in ruler_words(begin("given", 5))


def test_nobody_is_told_of_lengths_that_were_set_before_they_came() -> None:
    sitting = begin("tried", 0)
    before = max(each.inside_mm for each in sitting.done)
    foramen = sitting.patient.canal.foramen_mm
    assert before > foramen
    answer = Determination(next_step="ask")
    assert "you put in" not in verdict(sitting, answer).truth
    take(sitting, Act("film", foramen + 0.2))
    assert "0.2 mm past" in verdict(sitting, answer).truth


def test_only_who_prepares_a_reading_is_told_to_have_put_it_right() -> None:
    sitting, ask = begin("plain, disturbed", 2), Determination(next_step="ask")
    assert "metal touched the file. You did not put that right." in verdict(sitting, ask).truth
    take(sitting, Act("prepare", 20.0))
    assert "metal touched the file. You put that right." in verdict(sitting, ask).truth


@pytest.mark.parametrize(("step", "named"), [("longer", True), ("ask", False), ("film", False)])
def test_only_going_longer_is_told_as_going_longer(step: str, named: bool) -> None:
    sitting = begin("given", 6)
    for _ in range(2):
        take(sitting, Act("point", sitting.estimated_mm - 3.0))
    trials = [each.record for each in sitting.done if isinstance(each.record, PointTrial)]
    assert [each.wet_mm for each in trials] == [0.0, 0.0]
    (clue,) = verdict(sitting, Determination(next_step=step)).clues
    assert "M13" in clue.believed
    assert ("M13" in clue.seen) == named


# --- the automatic students -----------------------------------------------------------------------
def test_automatic_students_play_without_an_error_and_the_log_holds_it_all(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    record = open_record(PracticeLog(tmp_path))
    careful = []
    for number in range(PLAYS):
        kind = choose_kind(record.levels[-1], [each.kind for each in record.finished], rng)
        sitting = begin(kind, int(rng.integers(2**31)))
        record.began(sitting)
        student = "careful" if number % 2 else STUDENTS[1 + number // 2 % (len(STUDENTS) - 1)]
        answer = play(sitting, student)
        found = verdict(sitting, answer)
        assert 0 <= found.share <= 1
        record.answered(sitting, answer, found)
        careful += [found.share] if student == "careful" else []
    again = open_record(PracticeLog(tmp_path))
    assert again.torn == 0
    assert len(again.finished) == PLAYS
    assert again.levels == record.levels
    assert np.mean(careful) > 0.85
    rows = list(csv.DictReader(io.StringIO(as_csv(again.finished, again.levels))))
    assert len(rows) == PLAYS
    assert set(rows[0]) == set(COLUMNS)


def test_a_belief_that_is_held_is_named_and_a_careful_student_is_told_none(tmp_path: Path) -> None:
    for student, expected in (("careful", None), ("M3", "M3")):
        record = open_record(PracticeLog(tmp_path / student))
        for seed in range(BLOCK):
            sitting = begin("tried, hidden", 50 + seed)
            answer = play(sitting, student)
            record.answered(sitting, answer, verdict(sitting, answer))
        (named,) = beliefs_over_time(record.finished)
        assert (expected in named) if expected else named == ()
        assert [row[1].split(":")[0] for row in looks_sheet(record).rows] == list(named)


# --- the words ----------------------------------------------------------------------------------
def test_what_was_done_before_the_student_came_is_counted_apart() -> None:
    sitting = begin("tried", 0)
    before = len(sitting.done)
    assert record_sentence(sitting).startswith(f"{before} actions before you came; by you: none.")
    take(sitting, Act("wait", 20.0))
    assert record_sentence(sitting).startswith(f"{before} actions before you came; by you: 1.")
    assert record_sentence(begin("plain", 1, [Act("wait", 20.0)])).startswith("1 action. Last:")


# --- the panel ------------------------------------------------------------------------------------
def test_what_goes_too_far_is_asked_again_before_it_is_done(page: PracticePage) -> None:
    panel = page.case
    panel.lay_out(begin("plain", LOWER))
    hands, desk = panel.controls, panel.desk
    assert hands.length.value == desk.sitting.estimated_mm
    assert f"The limit is {desk.sitting.estimated_mm + 1:.1f} mm now" in hands.limit.text
    hands.action.value, hands.length.value = WAYS["film"].words, desk.sitting.estimated_mm + 1.5
    for _ in range(2):  # a double click does no more than a click
        hands.do.click()
        assert desk.sitting.done == []
    assert "Warning: not done yet" in hands.warning.text
    assert "costs 40 %" in hands.warning.text
    assert (hands.do.description, hands.do_anyway.layout.display) == (NOT_DONE, "")
    hands.length.value += 0.5  # another length is asked again
    assert (hands.warning.text, hands.do.description) == ("", DO)
    assert hands.do_anyway.layout.display == "none"
    hands.do_anyway.click()
    hands.do.click()
    assert desk.sitting.done == []
    for _ in range(2):
        hands.do_anyway.click()
    assert [each.too_far for each in desk.sitting.done] == [True]
    assert (hands.warning.text, hands.do.description) == ("", DO)


def test_no_button_is_taken_away_or_shut_while_it_has_the_focus_of_the_keyboard(
    page: PracticePage,
) -> None:
    panel = page.case
    panel.lay_out(begin("plain", LOWER))
    hands = panel.controls
    hands.action.value, hands.length.value = WAYS["film"].words, hands.length.max
    hands.do.click()
    assert not hands.do.disabled
    taken_away: list[object] = []
    hands.do_anyway.layout.observe(lambda change: taken_away.append(change.new), "display")
    hands.do_anyway.click()
    assert len(panel.desk.sitting.own) == 1
    assert (hands.do_anyway.description, taken_away) == (DID_ANYWAY, [])
    hands.length.value -= 1.0
    assert taken_away == ["none"]


def test_the_supervisor_says_the_same_whichever_way_somebody_asks(page: PracticePage) -> None:
    panel = page.case
    panel.lay_out(begin("plain", LOWER))
    act(page, "supervisor")
    assert LOOK_FIRST in panel.parts.happened.text
    act(page, "reading")
    left = propose(panel.desk.sitting, "ask").words
    act(page, "supervisor")
    assert panel.parts.happened.text.endswith(left)
    panel.controls.answer.value = ASK
    panel.controls.commit.click()
    assert "asks back" in panel.parts.said.text  # the one question was answered


def test_a_case_that_is_gone_on_with_says_again_what_was_said(tmp_path: Path) -> None:
    page = open_practice(tmp_path, seed=3)
    beyond = page.case.desk.sitting.estimated_mm + 2.0
    act(page, "film", beyond)
    page.case.record.proposed(page.case.desk.sitting, "film", fits=False)
    again = open_practice(tmp_path).case
    assert "Caution" in again.parts.happened.text
    assert "75 % of the marks are left" in again.parts.said.text
    assert (again.controls.word, again.controls.length.value) == ("film", beyond)


def test_a_late_press_does_nothing_to_an_answered_case_and_skips_none(page: PracticePage) -> None:
    panel = page.case
    panel.controls.next.click()  # not answered yet
    assert panel.parts.title.turns == 0
    panel.controls.answer.value = LONGER
    panel.controls.commit.click()
    panel.controls.do.click()
    assert panel.desk.sitting.own == []
    for _ in range(2):
        panel.controls.next.click()
    assert panel.parts.title.turns == 1
    begun = [one for one in panel.record.log.read().events if one["event"] == "case"]
    assert len(begun) == 2


def test_what_is_said_again_to_a_second_press_is_announced_again(page: PracticePage) -> None:
    panel = page.case
    hands, parts = panel.controls, panel.parts
    panel.lay_out(begin("plain", LOWER))
    for _ in range(3):
        act(page, "wait")
        hands.commit.click()
    assert parts.happened.again > 0
    assert parts.said.text == CHOOSE_ANSWER
    assert parts.said.again == 2
    hands.action.value, hands.length.value = WAYS["film"].words, hands.length.max
    for _ in range(2):
        hands.do.click()
    assert hands.warning.again == 1


def test_a_page_that_was_overtaken_by_another_tab_does_nothing_more_and_says_so(
    tmp_path: Path,
) -> None:
    one, other = (open_practice(tmp_path, seed=5) for _ in range(2))
    act(one, "dry")
    for page in (other, one):
        page.case.controls.answer.value = LONGER
    act(other, "reading")
    other.case.controls.commit.click()
    assert other.case.parts.title.text == LOAD_AGAIN
    assert other.case.parts.title.turns == 2
    assert (other.case.desk.sitting.own, other.case.desk.verdict) == ([], None)
    one.case.controls.commit.click()
    assert len(open_record(PracticeLog(tmp_path)).finished) == 1
    other.case.controls.next.click()
    assert (other.case.parts.title.text, other.case.parts.title.turns) == (LOAD_AGAIN, 3)


def test_a_record_that_is_somebody_elses_is_put_aside_and_kept(tmp_path: Path) -> None:
    page = open_practice(tmp_path, seed=5)
    page.case.controls.answer.value = LONGER
    page.case.controls.commit.click()
    before = page.case.record.log.path.read_bytes()
    assert str(page.case.record.log.path) in page.kept.where.value
    assert page.kept.again.anew.layout.display == ""
    for _ in range(2):  # a double click does no more than a click
        page.kept.again.anew.click()
    assert (page.kept.again.said.text, page.kept.again.sure.layout.display) == (SURE, "")
    page.case.controls.next.click()  # whoever goes on does not want it
    assert (page.kept.again.said.text, page.kept.again.sure.layout.display) == ("", "none")
    act(page, "wait")
    assert len(page.case.record.finished) == 1
    before = page.case.record.log.path.read_bytes()
    page.kept.again.anew.click()
    for _ in range(2):  # a double click does it once
        page.kept.again.sure.click()
    assert page.kept.again.said.text.startswith("Begun anew. What was kept before lies in")
    assert page.kept.again.said.text.endswith("practice.1.jsonl.")
    assert not (tmp_path / "practice.2.jsonl").exists()
    assert page.case.parts.title.text == "Case 1"
    assert page.progress.sentence.text == NOTHING_YET
    assert page.kept.again.anew.layout.display == page.kept.where.layout.display == "none"
    assert (tmp_path / "practice.1.jsonl").read_bytes() == before
    assert open_record(PracticeLog(tmp_path)).finished == []


def test_a_record_that_cannot_be_put_aside_stays_with_its_case_on_the_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_log: PracticeLog) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    page = open_practice(tmp_path, seed=5)
    act(page, "dry")
    log, sitting = page.case.record.log, page.case.desk.sitting
    before = log.path.read_bytes()
    monkeypatch.setattr(PracticeLog, "put_aside", refuse)
    page.kept.again.anew.click()
    for _ in range(2):
        page.kept.again.sure.click()
    assert page.kept.again.said.again == 1  # said again, as it was tried again
    assert f"cannot be put aside (Permission denied): {log.path}" in page.kept.again.said.text
    assert page.case.desk.sitting is sitting
    assert log.path.read_bytes() == before


def test_an_action_that_could_not_be_kept_is_said_at_once_and_kept_with_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_log: PracticeLog, _line: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    page = open_practice(tmp_path, seed=5)
    panel = page.case
    with monkeypatch.context() as disk:
        disk.setattr(PracticeLog, "_write", full)
        act(page, "dry", panel.controls.length.min + 2.0)
        for told in (panel.parts.happened.text, page.progress.sentence.text):
            assert "cannot be kept (No space left on device)" in told
        panel.controls.answer.value = ASK
        panel.controls.commit.click()
        assert "cannot be kept" in panel.parts.said.text
        page.kept.again.anew.click()
        page.kept.again.sure.click()
        assert "cannot be put aside (No space left on device)" in page.kept.again.said.text
        assert "Make room on the disk" in page.kept.again.said.text
    act(page, "point")
    assert "cannot be kept" not in panel.parts.happened.text + page.progress.sentence.text
    again = open_practice(tmp_path).case.desk
    assert [each.said for each in again.sitting.own] == [
        each.said for each in panel.desk.sitting.own
    ]
    assert (len(again.sitting.own), again.asked) == (2, panel.desk.asked) == (2, 1)


def test_a_case_that_cannot_be_gone_on_with_is_left_and_the_page_opens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def acts_do_not_fit(kind: str, seed: int, *acts: object) -> Sitting:
        return begin(kind, -seed if acts else seed)

    open_practice(tmp_path, seed=5)
    monkeypatch.setattr(practice_desk, "begin", acts_do_not_fit)
    page = open_practice(tmp_path)
    assert page.case.parts.happened.text == DO_FIRST
    assert "1 line of your log could not be read" in page.progress.sentence.text
    assert page.kept.again.anew.layout.display == ""  # with the place of the log, and the way out


def test_one_case_after_the_other_leaves_nothing_behind(page: PracticePage) -> None:
    numbers = []
    for _ in range(3):
        page.case.begin_another()
        numbers.append(len(_instances))
    assert numbers[0] == numbers[1] == numbers[2]


def test_a_level_is_told_once_there_are_cases_enough(tmp_path: Path) -> None:
    record = open_record(PracticeLog(tmp_path))
    sitting, answer = begin("given", 6), Determination(next_step="longer")
    found, panel = verdict(sitting, answer), progress_panel(record)
    for number in range(1, 6):
        record.answered(sitting, answer, found)
        assert ("Your level is" in progress_sentence(record)) == (number == 5)
        panel.show()
        assert bool(len(panel.drawing.level.get_xdata())) == (number == 5)
        assert bool(len(panel.drawing.sure.get_xdata())) == (number == 5)
        assert ("your level" in panel.drawing.title.get_text()) == (number == 5)
    assert "That is below the easiest kind of case" in progress_sentence(record)


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        ([(22.0, 23.0)], "1 of 1 interval holds"),
        ([(24.0, 25.0)], "0 of 1 interval holds"),
        ([(22.0, 23.0), (24.0, 25.0)], "1 of 2 intervals holds"),
        ([(22.0, 23.0), (22.0, 23.4)], "2 of 2 intervals hold the"),
        ([(22.0, 23.0), (22.0, 23.4)], "0.1 mm too long"),
        ([(22.0, 23.06)], "on average neither too long nor too short"),
        ([(21.0, 22.0)], "1.0 mm too short"),
    ],
)
def test_lengths_so_far_are_told_in_plain_english(
    tmp_path: Path, ends: list[tuple[float, float]], told: str
) -> None:
    record = PracticeRecord(PracticeLog(tmp_path))
    for low_mm, high_mm in ends:
        record.finished.append(
            Finished("plain", "13", low_mm, high_mm, 22.0, None, 22.5, 22.0, 1.0, 9.0, 1)
        )
    assert told in progress_sentence(record)


def test_every_action_in_random_order_shows_no_truth_before_the_answer(page: PracticePage) -> None:
    panel, rng = page.case, np.random.default_rng(1)
    foramen = panel.desk.sitting.patient.canal.foramen_mm
    for word in rng.permutation([*WAYS, *WAYS, "point", "dry"]).tolist():
        low, high = panel.controls.length.min, panel.controls.length.max
        before = len(panel.desk.sitting.done)
        act(page, word, float(rng.uniform(low, high)))
        assert len(panel.desk.sitting.done) == before + 1
        last = panel.desk.sitting.done[-1]
        assert panel.parts.happened.text.startswith(happened_words(last))
        said = panel.parts.sentence.text
        assert f'alt="{said}"' in picture(page).replace("&#x27;", "'")
        everything = " ".join(
            [said, panel.parts.told.text, panel.parts.said.text, panel.parts.table.value]
        )
        assert "In truth" not in everything
        assert not len(panel.desk.picture.drawing.foramen.get_xdata())
    assert "foramen_mm" not in panel.record.log.path.read_text()
    for answer in (FILM, READING, POINTS, ASK):
        panel.controls.answer.value = answer
        panel.controls.commit.click()
        assert panel.desk.verdict is None
        assert "In truth" not in panel.parts.said.text
    answer_a_length(panel)
    assert f"lies at {foramen:.1f} mm" in panel.parts.said.text
    assert "In truth" in panel.parts.sentence.text
    assert panel.desk.picture.drawing.foramen.get_ydata()[0] == foramen
    assert page.progress.sentence.text.startswith("1 case answered")


def test_nothing_is_answered_before_an_answer_is_chosen_and_the_right_way_up(
    page: PracticePage,
) -> None:
    panel = page.case
    panel.controls.commit.click()
    assert panel.parts.said.text == CHOOSE_ANSWER
    panel.controls.answer.value = LENGTH
    panel.controls.commit.click()
    assert panel.parts.said.text == NOT_SET
    assert "Your answer so far" not in panel.parts.sentence.text
    for control, length_mm in (
        (panel.controls.low, 24.0),
        (panel.controls.high, 22.0),
        (panel.controls.working_length, panel.controls.working_length.value + 0.25),
    ):
        panel.controls.commit.click()
        assert panel.parts.said.text == NOT_SET  # each of the three is the student's own
        control.value = length_mm
    panel.controls.commit.click()
    assert panel.parts.said.text == UPSIDE_DOWN
    assert panel.desk.verdict is None


def test_one_case_follows_the_other_and_a_page_opened_anew_goes_on(tmp_path: Path) -> None:
    page = open_practice(tmp_path, seed=5)
    panel = page.case
    assert panel.parts.happened.text == DO_FIRST
    first = panel.parts.told.text
    act(page, "dry")
    panel.controls.answer.value = ASK
    panel.controls.commit.click()  # a step is left: the case goes on, here and after a break
    assert "says what is still to do" in panel.parts.said.text
    assert not panel.controls.do.disabled
    opened = open_practice(tmp_path).case
    again = opened.desk
    assert (again.missteps, again.asked) == (panel.desk.missteps, panel.desk.asked) == (0, 1)
    assert opened.parts.said.text.strip() == panel.parts.said.text
    panel.controls.commit.click()
    assert "asks back" in panel.parts.said.text
    assert open_practice(tmp_path).case.parts.said.text.strip() == panel.parts.said.text
    act(page, "dry")  # what was said before belongs to another state of the case
    assert open_practice(tmp_path).case.parts.said.text == ""
    panel.controls.answer.value = LONGER
    panel.controls.commit.click()
    assert panel.controls.do.disabled
    assert not panel.controls.commit.disabled  # it keeps the focus of the keyboard
    assert "1 case answered; it earned" in page.progress.sentence.text
    panel.controls.commit.click()
    assert len(panel.record.finished) == 1
    assert len(panel.parts.after.children) == 5
    panel.controls.next.click()
    assert panel.parts.told.text != first
    assert panel.parts.title.text == "Case 2"
    assert panel.parts.title.turns == 1  # it has the focus of the keyboard
    assert not panel.controls.do.disabled
    assert panel.parts.after.children == ()
    act(page, "prepare")
    again = open_practice(tmp_path)
    assert again.case.parts.happened.text.startswith(GO_ON)
    assert again.case.parts.told.text == panel.parts.told.text
    assert again.case.parts.sentence.text == panel.parts.sentence.text
    assert again.progress.sentence.text.startswith("1 case answered")


def test_an_answered_case_is_explained_again_when_the_page_is_opened_anew(tmp_path: Path) -> None:
    page = open_practice(tmp_path, seed=5)
    panel = page.case
    act(page, "reading")
    answer_a_length(panel)
    again = open_practice(tmp_path).case
    assert again.parts.happened.text.startswith(READ_ON)
    assert again.parts.said.text == panel.parts.said.text
    assert again.parts.sentence.text == panel.parts.sentence.text
    assert again.parts.title.text == panel.parts.title.text == "Case 1"
    assert len(again.parts.after.children) == len(panel.parts.after.children)
    again.controls.commit.click()
    again.controls.next.click()
    assert len(again.record.finished) == 1
    assert again.parts.title.text == "Case 2"
    assert again.controls.commit.description == "Commit"
    assert open_practice(tmp_path).case.parts.happened.text == GO_ON


def test_a_case_that_asking_ended_in_an_older_log_stands_as_it_was_answered(tmp_path: Path) -> None:
    record, sitting = open_record(PracticeLog(tmp_path)), begin("plain", 4)
    ask = Determination(next_step="ask")
    record.began(sitting)
    record.answered(sitting, ask, verdict(sitting, ask))
    page = open_practice(tmp_path)
    assert page.case.parts.happened.text == READ_ON
    assert page.case.controls.answer.value == ASK
    assert page.case.parts.said.text.startswith("This case earns 0 of 100.")
    assert [each.share for each in page.case.record.finished] == [0.0]


def test_the_ruler_and_the_chart_offer_a_length_only_where_the_verdict_does(
    page: PracticePage,
) -> None:
    panel = page.case
    narrow_and_not_yet = begin("tried", 0)
    for sitting in (narrow_and_not_yet, begin("tried, hidden", 1), begin("given", 0)):
        panel.lay_out(sitting)
        answer_a_length(panel)
        _, _, ruler, chart, _ = panel.parts.after.children
        result = panel.desk.verdict.result
        supported = result.working_length_mm
        assert ("No length should be taken yet" in panel.parts.said.text) == (supported is None)
        assert ("working length not yet" in chart.text) == (supported is None)
        words = " ".join(every_text(ruler))
        assert ("A working length of" in words) == (supported is not None)
        assert ("radiograph with a file at length" in chart.text) == (supported is not None)
        assert "You answered: between" in panel.parts.said.text
        assert "then confirm" not in panel.parts.said.text
        if sitting is narrow_and_not_yet:
            assert takes_a_length(result)
            assert "another step comes first" in words


def test_only_the_controls_that_are_needed_are_shown(page: PracticePage) -> None:
    hands = page.case.controls
    for word, way in WAYS.items():
        hands.action.value = way.words
        assert (hands.length.layout.display == "") == way.goes_in
        assert (hands.contact.layout.display == "") == (word == "point")
        assert f"Takes {way.minutes.value:g} minute" in hands.means.text
    for answer in ANSWERS:
        hands.answer.value = answer
        assert (hands.low.layout.display == "") == (answer == LENGTH)


def test_a_torn_log_is_said(tmp_path: Path) -> None:
    page = open_practice(tmp_path, seed=5)
    with page.case.record.log.path.open("ab") as file:
        file.write(b'{"event": "act", "ca')
    assert "1 line of your log could not be read" in open_practice(tmp_path).progress.sentence.text


def test_a_step_of_a_slider_draws_no_slower_than_the_picture_is_sent(page: PracticePage) -> None:
    panel = page.case
    for word in ("reading", "film", "dry", "point", "point"):
        act(page, word)
    panel.controls.answer.value = LENGTH
    low, high = panel.controls.low.min, panel.controls.low.max

    def took_s(call: object, times: int = 15) -> float:
        spent = []
        for _ in range(times):
            start = time.process_time()
            call()  # type: ignore[operator]
            spent.append(time.process_time() - start)
        return float(np.median(spent))

    values = iter(np.linspace(low, high, 15))
    step_s = took_s(lambda: setattr(panel.controls.low, "value", float(next(values))))
    frame_s = took_s(panel.desk.picture.live.png)
    assert step_s < 3 * frame_s
