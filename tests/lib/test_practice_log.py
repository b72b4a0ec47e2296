"""The log of practice: kept through a kill and a torn line, and no more in it than was done."""

from __future__ import annotations

import errno
import io
import json
import os
import subprocess
import sys
import time
from dataclasses import asdict, replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.marking.determination import Determination
from lengthwise.marking.practice_chair import Act
from lengthwise.marking.practice_log import FOLDER_VARIABLE, PracticeLog, data_folder
from lengthwise.marking.practice_marks import verdict
from lengthwise.marking.practice_record import open_record
from lengthwise.marking.practice_students import play
from lengthwise.marking.practice_ways import begin, take

ROOT = Path(__file__).resolve().parents[2]
WRITER = """
import sys
from pathlib import Path
from lengthwise.marking.practice_log import PracticeLog
log = PracticeLog(Path(sys.argv[1]))
for n in range(10**9):
    log.add({"event": "act", "case": 1, "n": n, "long": "x" * (n % 4000)})
"""


@pytest.mark.parametrize("seed", range(2))
def test_whatever_was_added_is_there_after_a_kill_at_a_random_moment(
    tmp_path: Path, seed: int
) -> None:
    log = PracticeLog(tmp_path)
    writer = subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path)])
    try:
        deadline = time.monotonic() + 60
        while not log.path.exists() and time.monotonic() < deadline:
            time.sleep(0.01)
        time.sleep(float(np.random.default_rng(seed).uniform(0.02, 0.3)))
    finally:
        writer.kill()
        writer.wait()
    kept = log.read()
    assert kept.torn <= 1
    assert [event["n"] for event in kept.events] == list(range(len(kept.events)))
    assert kept.events
    log.add({"event": "act", "case": 1, "n": -1})
    assert log.read().events[-1]["n"] == -1
    assert len(log.read().events) == len(kept.events) + 1


def test_a_log_torn_at_any_byte_loses_the_last_event_at_most(tmp_path: Path) -> None:
    log = PracticeLog(tmp_path)
    for n in range(3):
        log.add({"event": "act", "n": n, "word": "größer"})
    whole = log.path.read_bytes()
    last = whole.rindex(b"\n", 0, -1) + 1
    for cut in range(last, len(whole)):
        log.path.write_bytes(whole[:cut])
        kept = log.read()
        assert [event["n"] for event in kept.events][:2] == [0, 1]
        assert kept.torn + len(kept.events) == 2 + (cut > last)
        log.add({"event": "act", "n": 9})
        assert log.read().events[-1]["n"] == 9
        assert log.path.read_bytes().startswith(whole[:cut])  # nothing is ever changed


def test_lines_that_are_no_events_are_counted_and_passed_over(tmp_path: Path) -> None:
    log = PracticeLog(tmp_path)
    tmp_path.joinpath("practice.jsonl").write_bytes(
        b'\xff\xfe\n[1]\n{"event": "odd"}\n\n{"no": 1}\n'
    )
    assert log.read().torn == 3
    assert open_record(log).torn == 4  # an event that nothing is known of is left out too


def test_a_case_is_gone_on_with_as_it_was_left(tmp_path: Path) -> None:
    record = open_record(PracticeLog(tmp_path))
    sitting = begin("oozes", 5)
    record.began(sitting)
    for act in (Act("reading", 23.0), Act("dry", 20.0), Act("point", 21.0, 2.0), Act("wait", 0.0)):
        record.acted(sitting, act)
        take(sitting, act)
    record.proposed(sitting, "film", False)
    left = open_record(PracticeLog(tmp_path)).left
    assert left is not None
    assert (left.kind, left.seed, left.missteps) == ("oozes", 5, 1)
    again = begin(left.kind, left.seed, left.acts)
    assert again.evidence() == sitting.evidence()
    assert [each.said for each in again.done] == [each.said for each in sitting.done]
    assert "foramen" not in record.log.path.read_text()  # no truth before the answer


def test_an_answered_case_comes_back_whole_and_says_nothing_of_the_person(tmp_path: Path) -> None:
    record = open_record(PracticeLog(tmp_path))
    sitting = begin("given", 6)
    record.began(sitting)
    answer = play(sitting, "careful")
    record.answered(sitting, answer, verdict(sitting, answer))
    again = open_record(PracticeLog(tmp_path))
    assert again.left is not None
    assert again.left.answer == Determination(None, answer.working_length_mm, answer.low_mm,
                                              answer.high_mm, answer.next_step)  # fmt: skip
    # Numbers and words, nothing else: what JSON makes of tuples is undone by reading.
    assert json.dumps([asdict(each) for each in again.finished]) == json.dumps(
        [asdict(each) for each in record.finished]
    )
    assert again.levels == record.levels
    told = {key for event in again.log.read().events for key in event}
    assert told == {
        "event", "case", "kind", "version", "tooth", "low_mm", "high_mm", "length_mm", "step",
        "foramen_mm", "supported_mm", "share", "minutes", "exposures", "clues",
    }  # fmt: skip


def test_what_a_second_tab_did_to_an_answered_case_is_passed_over(tmp_path: Path) -> None:
    sitting, early = begin("plain", 4), Determination(next_step="longer")
    first, second = (open_record(PracticeLog(tmp_path)) for _ in range(2))
    first.began(sitting)
    assert second.overtaken
    assert not first.overtaken
    found = verdict(sitting, early)
    first.answered(sitting, early, found)
    second.acted(sitting, Act("dry", 20.0))
    second.proposed(sitting, "film", fits=False)
    second.answered(sitting, Determination(next_step="ask"), found)
    again = open_record(PracticeLog(tmp_path))
    assert [each.step for each in again.finished] == ["longer"]
    assert again.left is not None
    assert (again.left.acts, again.left.missteps, again.left.answer) == ((), 0, early)
    again.began(sitting)  # the same tooth once more is another case
    again.acted(sitting, Act("wait", 20.0))
    again.answered(sitting, Determination(next_step="ask"), found)
    once_more = open_record(PracticeLog(tmp_path))
    assert [each.step for each in once_more.finished] == ["longer", "ask"]
    assert once_more.left is not None
    assert once_more.left.acts == (Act("wait", 20.0),)
    again.begin_anew()
    assert not again.overtaken
    assert once_more.overtaken


def test_cases_that_another_version_kept_are_counted_still(tmp_path: Path) -> None:
    log = PracticeLog(tmp_path)
    answer = {
        "kind": "a kind that is no more", "tooth": "13", "low_mm": 22.0, "high_mm": 23.0,
        "length_mm": 22.0, "step": "confirm", "foramen_mm": 22.5, "supported_mm": 22.0,
        "share": 1.0, "minutes": 9.0, "exposures": 1, "clues": [{"another": "form"}],
    }  # fmt: skip
    log.add({"event": "case", "case": 1, "kind": "plain", "version": "0.0.1"})
    log.add({"event": "answer", "case": 1, **answer})
    log.add({"event": "case", "case": 2, "kind": "plain", "version": "0.0.1"})
    record = open_record(log)
    assert record.torn == 0
    assert [each.clues for each in record.finished] == [()]
    assert record.levels[-1] == record.levels[0]  # its difficulty is not known
    assert record.left is None  # chance runs differently in another version


CASE = {"event": "case", "case": 7, "kind": "plain", "version": version("lengthwise")}
ANSWER = {
    "event": "answer", "case": 7, "kind": "plain", "tooth": "13", "low_mm": 22.0, "high_mm": 23.0,
    "length_mm": 22.0, "step": None, "foramen_mm": 22.5, "supported_mm": 22.0, "share": 1.0,
    "minutes": 9.0, "exposures": 1, "clues": [],
}  # fmt: skip


@pytest.mark.parametrize(
    "odd",
    [
        '{"event": "act", "case": 7, "word": "sing", "length_mm": 20.0, "contact_s": 1.0}',
        '{"event": "act", "case": 7, "word": "dry", "length_mm": null, "contact_s": 1.0}',
        '{"event": "act", "case": 7, "word": "dry", "length_mm": 20.0, "contact_s": "long"}',
        '{"event": "act", "case": 7}',
        '{"event": "proposed", "case": 7, "step": "sing", "fits": true}',
        json.dumps({**ANSWER, "share": None}),
        json.dumps({**ANSWER, "low_mm": "short"}),
    ],
)
def test_a_line_that_is_odd_is_counted_and_its_case_is_not_gone_on_with(
    tmp_path: Path, odd: str
) -> None:
    log = PracticeLog(tmp_path)
    log.add(ANSWER)
    log.add(CASE)
    assert open_record(log).left is not None
    with log.path.open("a", encoding="utf-8") as file:
        file.write(f"{odd}\n")
    record = open_record(log)
    assert (record.torn, record.left, len(record.finished)) == (1, None, 1)


@pytest.mark.parametrize("seed", ["Infinity", "NaN", "1e400", "-7", "7.5", "null", "[7]"])
def test_a_case_without_a_number_is_counted_as_torn(tmp_path: Path, seed: str) -> None:
    log = PracticeLog(tmp_path)
    log.path.write_text(json.dumps({**CASE, "case": "?"}).replace('"?"', seed), encoding="utf-8")
    record = open_record(log)
    assert (record.torn, record.left) == (1, None)


@pytest.mark.parametrize("taken", [0, 9, 10**6])
def test_what_a_disk_refused_is_written_first_and_once_however_much_of_it_was_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, taken: int
) -> None:
    log = PracticeLog(tmp_path)

    class FillsUp(io.FileIO):
        room = taken

        def write(self, piece: Any) -> int:
            if not self.room:
                full()
            written = super().write(piece[: self.room])
            self.room -= written
            return written

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    log.add({"event": "act", "n": 0})
    with monkeypatch.context() as disk:
        disk.setattr(Path, "open", lambda path, *_, **__: FillsUp(path, "a+b"))
        disk.setattr(os, "fsync", full)
        for n in (1, 2):
            with pytest.raises(OSError, match="No space left"):
                log.add({"event": "act", "n": n})
        with pytest.raises(OSError, match="No space left"):
            log.put_aside()
    log.add({"event": "act", "n": 3})
    assert not log.written_elsewhere
    assert [event["n"] for event in log.read().events] == [0, 1, 2, 3]
    assert log.read().torn == 0  # nothing was lost
    for n in (4, 4):  # the same thing done twice is two things
        log.add({"event": "act", "n": n})
    assert [event["n"] for event in log.read().events] == [0, 1, 2, 3, 4, 4]


def test_a_folder_that_cannot_be_written_is_said_and_stops_nobody(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    record = open_record(PracticeLog(blocked / "inside"))
    sitting = begin("given", 6)
    record.began(sitting)
    assert "cannot be kept" in record.trouble


def test_the_log_lies_outside_the_course(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv(FOLDER_VARIABLE, raising=False)
    assert not data_folder().is_relative_to(ROOT)
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path))
    assert data_folder() == tmp_path / "lengthwise"


def test_whether_a_canal_is_open_is_known_whatever_words_say_it() -> None:
    sitting = begin("blocked", 1)
    # Debris that is still wet may give way to the file that looks.
    sitting.patient.state = replace(sitting.patient.state, liquid_in_canal="moist")
    assert sitting.evidence().context.obstruction != "block"
    take(sitting, Act("patency", 20.0))
    sitting.done[:] = [replace(each, said="Done.") for each in sitting.done]
    assert sitting.evidence().context.obstruction == "block"
    sitting.patient.state = replace(sitting.patient.state, block_mm=NOWHERE_MM)
    take(sitting, Act("patency", 20.0))
    assert sitting.evidence().context.obstruction == "none", "what was seen last"
