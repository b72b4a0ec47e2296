"""What was done of the lessons is kept, and shown on the start page."""

from __future__ import annotations

import shutil
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from ipywidgets import Layout
from lengthwise.marking.lesson_log import LessonLog, lesson_so_far, note_answer
from lengthwise.panels.landmarks_lesson import open_landmarks_lesson
from lengthwise.panels.lessons_done import lessons_done
from lengthwise.panels.questions import Questions, items_beside

LESSONS = Path(__file__).resolve().parents[2] / "course" / "lessons"
FIRST = "01_where_a_canal_ends"


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> LessonLog:
    monkeypatch.setenv("LENGTHWISE_DATA", str(tmp_path))
    return LessonLog()


def answer_all(*, right: bool) -> None:
    lesson = open_landmarks_lesson(FIRST, LESSONS)
    for name, item in lesson.items.items():
        asked = lesson.check(name)
        asked.button.click()  # nothing is chosen yet: that is no answer
        asked.answers.value = next(one.text for one in item.options if one.correct is right)
        asked.button.click()


def test_a_lesson_is_done_when_its_questions_are_answered_whichever_way(log: LessonLog) -> None:
    page = lessons_done(LESSONS)
    assert "No lesson is begun yet." in page.shown.value
    answer_all(right=False)
    page.look_again()
    assert "answered on" in page.shown.value
    assert "look again at 4 of its 4 questions" in page.shown.value
    assert '02_what_a_radiograph_can_tell.ipynb">lesson 02</a>.' in page.shown.value
    answer_all(right=True)
    page.look_again()
    assert "all 4 right" in page.shown.value
    assert len(log.read().events) == 8


@pytest.mark.parametrize(
    ("name", "guess", "counted"),
    [
        ("02_what_a_radiograph_can_tell", "predict", 3),
        ("07_the_length_meets_the_tooth", "ending", 4),
    ],
)
def test_a_guess_that_is_asked_first_is_not_counted(
    log: LessonLog, name: str, guess: str, counted: int
) -> None:
    lesson = Questions(items_beside(name, LESSONS), lesson=name)
    for item in lesson.items:
        asked = lesson.check(item)
        wrong = item == guess
        asked.answers.value = next(o.text for o in asked.item.options if o.correct is not wrong)
        asked.button.click()
    assert {event["item"] for event in log.read().events} == set(lesson.items) - {guess}
    assert f"all {counted} right" in lessons_done(LESSONS).shown.value


def test_a_lesson_that_was_begun_says_how_far(log: LessonLog) -> None:
    note_answer("06_one_ruler", "weights", True)
    shown = lessons_done(LESSONS).shown.value
    assert "Lesson 06</strong>: 1 of 4 questions answered" in shown
    assert f'{FIRST}.ipynb">lesson 01</a>.' in shown


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system has one time zone a program")
def test_when_an_answer_was_given_stays_the_same_moment_in_another_time_zone(
    log: LessonLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    def seen(zone: str) -> datetime | None:
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        return lesson_so_far(FIRST, ("order",), log.read().events).last

    try:
        seen("Pacific/Auckland")
        note_answer(FIRST, "order", True)
        there, here = seen("Pacific/Auckland"), seen("America/Lima")
        assert there == here
        assert abs(there - datetime.now(UTC)) < timedelta(minutes=5)
        assert here.utcoffset() == timedelta(hours=-5)  # shown in the zone where it is read
        log.add({"lesson": FIRST, "item": "order", "at": "2026-03-07T21:40:00", "event": "answer"})
        assert seen("America/Lima").isoformat() == "2026-03-07T21:40:00-05:00"  # as once written
    finally:
        monkeypatch.undo()
        time.tzset()


def test_what_was_done_survives_a_newer_course_and_a_torn_line(
    log: LessonLog, tmp_path: Path
) -> None:
    answer_all(right=True)
    with log.path.open("ab") as file:
        file.write(b'{"event": "answer", "lesson": "02_wh')
    newer = tmp_path / "newer"
    shutil.copytree(LESSONS, newer, ignore=shutil.ignore_patterns("*.ipynb"))
    assert LESSONS.parents[1] not in log.path.parents, "nothing is kept inside the course"
    assert "all 4 right" in lessons_done(newer).shown.value
    note_answer("02_what_a_radiograph_can_tell", "scale", False)
    assert "Lesson 02" in lessons_done(newer).shown.value


def test_who_finds_somebody_elses_record_begins_anew_and_nothing_is_lost(
    log: LessonLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = lessons_done(LESSONS)
    assert page.again.anew.layout.display == "none"  # there is nothing yet to put aside
    answer_all(right=True)
    page.look_again()
    assert "under the same login, in any copy of the course" in page.shown.value
    page.again.anew.click()
    page.again.anew.click()
    assert "all 4 right" in page.shown.value
    assert "Practice has a record of its own." in page.again.said.text
    sent: list[tuple[Layout, str | None]] = []
    monkeypatch.setattr(Layout, "send_state", lambda one, key=None: sent.append((one, one.display)))
    for _ in range(2):  # a double click does it once
        page.again.sure.click()
    assert "No lesson is begun yet." in page.shown.value
    assert page.again.anew.layout.display == "none"
    # the button that was pressed has the focus of the keyboard: it is never taken away
    assert [shown for one, shown in sent if one is page.again.sure.layout] == [""]
    assert page.again.sure.description == "Begun anew"
    (aside,) = log.path.parent.glob("lessons.*.jsonl")
    assert str(aside) in page.again.said.text
    assert aside.read_text(encoding="utf-8").count("answer") >= 4
    answer_all(right=False)
    page.look_again()
    assert "look again at 4 of its 4" in page.shown.value
    assert page.again.sure.layout.display == "none"


def test_a_record_that_cannot_be_put_aside_stays_and_that_is_said(
    log: LessonLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_all(right=True)
    page = lessons_done(LESSONS)

    def refused(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "rename", refused)
    page.again.anew.click()
    page.again.sure.click()
    assert "cannot be put aside (Permission denied)" in page.again.said.text
    assert str(log.path) in page.again.said.text
    assert "all 4 right" in page.shown.value


def test_answers_to_questions_of_an_older_course_do_not_count() -> None:
    events = [{"lesson": FIRST, "item": "of last year", "right": True, "at": "long ago"}]
    assert lesson_so_far(FIRST, items_beside(FIRST, LESSONS), events).answered == 0


def test_a_disk_that_cannot_be_written_or_read_stops_no_lesson(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "lengthwise").write_text("a file where the folder should be")
    monkeypatch.setenv("LENGTHWISE_DATA", str(tmp_path))
    answer_all(right=True)
    assert "No lesson is begun yet." in lessons_done(LESSONS).shown.value
    LessonLog(tmp_path).path.mkdir()
    assert "No lesson is begun yet." in lessons_done(LESSONS, LessonLog(tmp_path)).shown.value


def test_every_question_of_a_lesson_stands_in_its_notebook() -> None:
    for path in LESSONS.glob("*.ipynb"):
        source = path.read_text(encoding="utf-8")
        code = Path(path).with_suffix(".toml")
        asked = set(items_beside(code.stem, LESSONS))
        told = {name for name in asked if f'\\"{name}\\"' in source}
        told |= {"ending"} & asked if "predict_ending()" in source else set()
        assert told == asked, path.stem
