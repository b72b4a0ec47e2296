"""A file is written whole or not at all, whoever else writes it and whenever the run is stopped."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from lengthwise import whole_file
from lengthwise.evidence import Evidence
from lengthwise.whole_file import making, write_whole


@pytest.fixture
def target(tmp_path: Path) -> Path:
    path = tmp_path / "marks [1].csv"
    path.write_text("old\n", encoding="utf-8")
    return path


def test_a_file_is_written_whole_or_not_at_all(target: Path) -> None:
    with pytest.raises(UnicodeEncodeError):
        write_whole(target, "new\n" * 10_000 + "\ud800")
    with pytest.raises(ZeroDivisionError), making(target) as draft:
        draft.write_text(f"half {1 / 0}", encoding="utf-8")
    assert target.read_text("utf-8") == "old\n"
    assert list(target.parent.iterdir()) == [target]


def test_two_who_write_the_same_file_do_not_disturb_each_other(target: Path) -> None:
    with making(target) as first:
        first.write_text("first", encoding="utf-8")
        with making(target) as second:
            second.write_text("second", encoding="utf-8")
        assert target.read_text("utf-8") == "second"
    assert target.read_text("utf-8") == "first"
    assert list(target.parent.iterdir()) == [target]


def test_a_file_is_on_the_disk_before_it_takes_its_place(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen, through = [], os.fsync

    def noted(handle: int) -> None:
        seen.append((os.fstat(handle).st_size, target.read_text("utf-8")))
        through(handle)

    monkeypatch.setattr(os, "fsync", noted)
    write_whole(target, "the new one\n")
    assert seen == [(len("the new one\n"), "old\n")]


def test_a_file_that_somebody_has_open_for_a_moment_is_waited_for(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    times, put = 2, Path.replace
    waited: list[float] = []

    def held(path: Path, to: Path) -> Path:
        if len(waited) < times:
            raise PermissionError(13, "The process cannot access the file")
        return put(path, to)

    monkeypatch.setattr(Path, "replace", held)
    monkeypatch.setattr(whole_file.time, "sleep", waited.append)
    write_whole(target, "new\n")
    assert target.read_text("utf-8") == "new\n"
    assert sum(waited) < 1

    times = 1000
    with pytest.raises(PermissionError):
        write_whole(target, "newer\n")
    assert target.read_text("utf-8") == "new\n"
    assert list(target.parent.iterdir()) == [target]


def test_what_a_killed_run_left_behind_goes_and_the_draft_of_one_at_work_stays(
    target: Path,
) -> None:
    killed, at_work = (target.with_name(f".{target.name}.{at}.making") for at in ("0a", "1b"))
    for path in (killed, at_work):
        path.write_text("half", encoding="utf-8")
    os.utime(killed, (0, time.time() - 2 * whole_file.LEFT_BEHIND_S))
    write_whole(target, "new\n")
    assert set(target.parent.iterdir()) == {target, at_work}


def test_evidence_that_could_not_be_written_leaves_the_file_that_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    head = '"schema": "lengthwise/evidence/1", "tooth": "13", "canal": "single"'
    case = Evidence.from_json(f'{{{head}, "reference_point": "cusp tip", "evidence": []}}')
    path = tmp_path / "case.json"
    case.write(path)
    monkeypatch.setattr(Evidence, "to_json", lambda _: "half of it" + "\ud800")
    with pytest.raises(UnicodeEncodeError):
        case.write(path)
    assert Evidence.read(path) == case
    assert list(tmp_path.iterdir()) == [path]
