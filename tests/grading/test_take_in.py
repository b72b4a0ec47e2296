"""Get an assignment: only a release is taken in, and nothing that was typed is ever lost."""

from __future__ import annotations

import json
import stat
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from lengthwise.classroom import take_in as module
from lengthwise.classroom.answers_so_far import answer_cells
from lengthwise.classroom.cells import source_of
from lengthwise.classroom.take_in import TakenIn, take_in
from student_files import (
    DONE,
    Notebook,
    cases_json,
    release_entries,
    release_zip,
    typed_in,
    with_new_text,
    zipped,
)

NAME = "a6_reconcile"
NOW = datetime(2026, 3, 7, 21, 40)


def take(data: bytes, course: Path, name: str = "a6_reconcile.zip") -> TakenIn:
    return take_in(data, name, course, NOW)


def notebook_of(course: Path) -> Path:
    return course / NAME / f"{NAME}.ipynb"


def work_on(course: Path, notebook: Notebook, **changed: str) -> bytes:
    """Save a filled-in notebook as JupyterLab would; its bytes."""
    saved = json.dumps(typed_in(notebook, **changed), indent=1).encode()
    notebook_of(course).write_bytes(saved)
    return saved


def everything_in(course: Path) -> dict[str, bytes]:
    return {
        path.relative_to(course).as_posix(): path.read_bytes()
        for path in course.rglob("*")
        if path.is_file()
    }


def test_a_release_becomes_a_folder_with_its_two_files(
    tmp_path: Path, source_notebook: Notebook
) -> None:
    done = take(release_zip(source_notebook), tmp_path)
    assert done == ("a6_reconcile is here now, for class spring.", NAME)
    assert everything_in(tmp_path) == release_entries(source_notebook)


@pytest.mark.parametrize("prefix", ["", "files of the course/week 6/", "__MACOSX_not/"])
def test_a_release_that_was_packed_again_is_taken_in(
    tmp_path: Path, source_notebook: Notebook, prefix: str
) -> None:
    entries = {prefix + name: data for name, data in release_entries(source_notebook).items()}
    litter = {"__MACOSX/a6_reconcile/._a6_reconcile.ipynb": b"x", prefix + ".DS_Store": b"x"}
    assert take(zipped({**litter, **entries}), tmp_path).assignment == NAME
    assert sorted(everything_in(tmp_path)) == sorted(release_entries(source_notebook))


Spoil = Callable[[Notebook], bytes]


def _cases(change: Callable[[dict[str, Any]], object]) -> Spoil:
    def spoil(notebook: Notebook) -> bytes:
        cases = cases_json()
        change(cases)
        return release_zip(notebook, cases)

    return spoil


def _beside(**more: bytes) -> Spoil:
    return lambda notebook: zipped({**release_entries(notebook), **more})


def _without(ending: str) -> Spoil:
    return lambda notebook: zipped(
        {n: data for n, data in release_entries(notebook).items() if not n.endswith(ending)}
    )


def _with_link(notebook: Notebook) -> bytes:
    link = zipfile.ZipInfo("a6_reconcile/passwords.txt")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    return zipped({**release_entries(notebook), link: b"/etc/passwd"})  # type: ignore[dict-item]


def _locked(notebook: Notebook) -> bytes:
    """Every entry marked as locked, in the list at the end and in front of the entry."""
    data = bytearray(release_zip(notebook))
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(mark)
        while at >= 0:
            data[at + flags] |= 1
            at = data.find(mark, at + 4)
    return bytes(data)


def _flipped(notebook: Notebook) -> bytes:
    data = bytearray(release_zip(notebook))
    data[400:420] = bytes(20)
    return bytes(data)


def _bomb(notebook: Notebook) -> bytes:
    return zipped(
        {**release_entries(notebook), "a6_reconcile/a6_reconcile.ipynb": bytes(5_000_001)}
    )


def _lying_bomb(notebook: Notebook) -> bytes:
    """Its list says one byte; it unpacks to more than is read."""
    data = bytearray(_bomb(notebook))
    at = data.find(b"PK\x01\x02")
    data[at + 24 : at + 28] = (1).to_bytes(4, "little")
    return bytes(data)


def _no_checks(notebook: Notebook) -> bytes:
    cells = [cell for cell in notebook["cells"] if "check" not in source_of(cell)]
    return release_zip({**notebook, "cells": cells})


def _no_labels(notebook: Notebook) -> bytes:
    return release_zip(
        {**notebook, "cells": [{**cell, "metadata": {}} for cell in notebook["cells"]]}
    )


REFUSED: dict[str, tuple[Spoil, str]] = {
    "nothing": (lambda _: b"", "is empty. Download it again"),
    "a notebook": (
        lambda n: json.dumps(n).encode(),
        "a notebook, not a zip file. Choose the zip as",
    ),
    "a web page": (lambda _: b"<!DOCTYPE html><html>Log in</html>", "is a web page, not a zip"),
    "a picture": (lambda _: b"\x89PNG\r\n", "is not a zip file. Choose the zip file that your"),
    "cut off at its end": (lambda n: release_zip(n)[:-300], "is cut off: its end is missing"),
    "changed bytes": (_flipped, "is damaged or cut off. Download it again"),
    "a password": (_locked, "locked with a password"),
    "another zip": (
        lambda _: zipped({"slides.pdf": b"%PDF"}),
        "holds no assignment of this course",
    ),
    "an empty zip": (lambda _: zipped({}), "holds no assignment of this course"),
    "zips in a zip": (lambda n: zipped({"a6_reconcile.zip": release_zip(n)}), "holds further zip"),
    "two assignments": (
        _beside(**{"a1_x/a1_x.ipynb": b"{}", "a1_x/cases.json": b"{}"}),
        "holds a1_x, a6_reconcile. Choose the zip of one",
    ),
    "no cases": (_without("cases.json"), "a notebook without its cases.json"),
    "no notebook": (_without(".ipynb"), "cases.json without its notebook"),
    "a path upwards": (_beside(**{"../../.bashrc": b"x"}), "leads outside its folder"),
    "a path from the top": (_beside(**{"/etc/cron": b"x"}), "leads outside its folder"),
    "a path of Windows": (_beside(**{"C:\\Users\\x": b"x"}), "leads outside its folder"),
    "a link": (_with_link, "a link or a path"),
    "hundreds of files": (
        lambda n: zipped({**release_entries(n), **{f"{k}": b"" for k in range(300)}}),
        "holds 302 files",
    ),
    "far too large": (_bomb, "larger than 5 MB"),
    "larger than it says": (_lying_bomb, "damaged or cut off"),
    "cases of another": (_cases(lambda c: c.update(assignment="a1_x")), "does not belong to it"),
    "cases that are a list": (_cases(lambda c: c.update(students=[])), "does not belong to it"),
    "cases without a class": (_cases(lambda c: c.pop("class")), "but it is damaged"),
    "a later version": (_cases(lambda c: c.update(schema="lengthwise/cases/9")), "another version"),
    "broken cases": (
        lambda n: zipped({**release_entries(n), "a6_reconcile/cases.json": b"{"}),
        "but it is damaged",
    ),
    "no questions": (_no_labels, "without its questions"),
    "no checks": (_no_checks, "without its checks"),
    "somebody's work": (lambda n: release_zip(typed_in(n)), "it is somebody's work"),
}


@pytest.mark.parametrize(("spoil", "said"), REFUSED.values(), ids=REFUSED)
def test_whatever_is_no_release_is_refused_in_a_plain_sentence_and_changes_nothing(
    tmp_path: Path, source_notebook: Notebook, spoil: Spoil, said: str
) -> None:
    take(release_zip(source_notebook), tmp_path)
    before = everything_in(tmp_path)
    done = take(spoil(source_notebook), tmp_path, "week6.zip")
    assert done.assignment is None
    assert done.sentence.startswith("week6.zip ") or "in week6.zip" in done.sentence
    assert said in done.sentence
    assert done.sentence.endswith(".")
    assert everything_in(tmp_path) == before


def test_every_place_where_a_zip_can_be_cut_off_is_refused(
    tmp_path: Path, source_notebook: Notebook
) -> None:
    whole = release_zip(source_notebook)
    for end in range(0, len(whole), len(whole) // 40):
        assert take(whole[:end], tmp_path).assignment is None
    assert everything_in(tmp_path) == {}


def test_an_untouched_copy_is_replaced(tmp_path: Path, source_notebook: Notebook) -> None:
    take(release_zip(source_notebook), tmp_path)
    assert "already; nothing is typed" in take(release_zip(source_notebook), tmp_path).sentence
    newer = with_new_text(source_notebook)
    assert "takes the place" in take(release_zip(newer), tmp_path).sentence
    assert everything_in(tmp_path) == release_entries(newer)


def test_the_same_release_again_keeps_what_was_typed(
    tmp_path: Path, source_notebook: Notebook
) -> None:
    take(release_zip(source_notebook), tmp_path)
    work_on(tmp_path, source_notebook)
    before = everything_in(tmp_path)
    done = take(release_zip(source_notebook), tmp_path)
    assert done.sentence == (
        "a6_reconcile was here already: your answers are kept, and nothing was changed."
    )
    assert everything_in(tmp_path) == before


def test_one_answer_is_enough_to_be_kept(tmp_path: Path, source_notebook: Notebook) -> None:
    take(release_zip(source_notebook), tmp_path)
    blank = dict.fromkeys(DONE, "")
    saved = work_on(tmp_path, source_notebook, **{**blank, "reason": "My reason."})
    assert "your answers are kept" in take(release_zip(source_notebook), tmp_path).sentence
    assert notebook_of(tmp_path).read_bytes() == saved


def test_renewed_cases_of_the_same_student_leave_the_notebook_alone(
    tmp_path: Path, source_notebook: Notebook
) -> None:
    take(release_zip(source_notebook), tmp_path)
    saved = work_on(tmp_path, source_notebook)
    late = cases_json()
    late["students"]["0123456789"] = {"cases": {}, "items": {}}  # somebody who joined late
    done = take(release_zip(source_notebook, late), tmp_path)
    assert "your answers are kept, and its cases were renewed" in done.sentence
    assert notebook_of(tmp_path).read_bytes() == saved
    assert json.loads((tmp_path / NAME / "cases.json").read_bytes()) == late


def test_a_changed_text_gets_the_answers_and_the_old_notebook_stays_beside(
    tmp_path: Path, source_notebook: Notebook
) -> None:
    take(release_zip(source_notebook), tmp_path)
    saved = work_on(tmp_path, source_notebook)
    newer = with_new_text(source_notebook)
    done = take(release_zip(newer), tmp_path)
    beside = f"{NAME}_old_2026-03-07_2140.ipynb"
    assert beside in done.sentence
    assert (tmp_path / NAME / beside).read_bytes() == saved
    now = json.loads(notebook_of(tmp_path).read_bytes())
    assert source_of(now["cells"][0]) == source_of(newer["cells"][0])
    assert {name: source_of(cell) for name, cell in answer_cells(now).items()} == DONE


@pytest.mark.parametrize("other", [{"class_name": "autumn"}, {"drawn": "again"}])
def test_answers_to_other_cases_are_set_aside_with_their_cases(
    tmp_path: Path, source_notebook: Notebook, other: dict[str, str]
) -> None:
    take(release_zip(source_notebook), tmp_path)
    work_on(tmp_path, source_notebook)
    before = everything_in(tmp_path)
    done = take(release_zip(source_notebook, cases_json(**other)), tmp_path)
    aside = f"{NAME}_old_2026-03-07_2140"
    assert f"kept in the folder {aside}" in done.sentence
    now = everything_in(tmp_path)
    assert {n.replace(aside, NAME): d for n, d in now.items() if n.startswith(aside)} == before
    fresh = {n: d for n, d in now.items() if not n.startswith(aside)}
    assert fresh == release_entries(source_notebook, cases_json(**other))


def test_a_notebook_that_cannot_be_read_is_kept_beside_a_fresh_one(
    tmp_path: Path, source_notebook: Notebook
) -> None:
    take(release_zip(source_notebook), tmp_path)
    notebook_of(tmp_path).write_bytes(b'{"cells": [')
    assert "could not be read" in take(release_zip(source_notebook), tmp_path).sentence
    assert (tmp_path / NAME / f"{NAME}_old_2026-03-07_2140.ipynb").read_bytes() == b'{"cells": ['
    notebook_of(tmp_path).write_bytes(b"again")  # in the same minute
    take(release_zip(source_notebook), tmp_path)
    assert (tmp_path / NAME / f"{NAME}_old_2026-03-07_2140_2.ipynb").read_bytes() == b"again"


def test_a_lost_notebook_or_lost_cases_come_back(tmp_path: Path, source_notebook: Notebook) -> None:
    take(release_zip(source_notebook), tmp_path)
    notebook_of(tmp_path).unlink()
    assert "now it is" in take(release_zip(source_notebook), tmp_path).sentence
    saved = work_on(tmp_path, source_notebook)
    (tmp_path / NAME / "cases.json").unlink()
    assert "your answers are kept" in take(release_zip(source_notebook), tmp_path).sentence
    assert notebook_of(tmp_path).read_bytes() == saved
    assert (tmp_path / NAME / "cases.json").is_file()


@pytest.mark.parametrize("fails_at", range(3))
def test_a_disk_that_fails_at_any_step_loses_nothing(
    tmp_path: Path, source_notebook: Notebook, fails_at: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(release_zip(source_notebook), tmp_path)
    saved = work_on(tmp_path, source_notebook)
    steps = 0
    write = module._write_bytes

    def failing(target: Path, data: bytes) -> None:
        nonlocal steps
        if steps == fails_at:
            raise OSError(28, "No space left on device")
        steps += 1
        write(target, data)

    monkeypatch.setattr(module, "_write_bytes", failing)
    done = take(release_zip(with_new_text(source_notebook)), tmp_path)
    assert done.assignment is None
    assert saved in everything_in(tmp_path).values()
    assert (
        answer_cells(json.loads(notebook_of(tmp_path).read_bytes()))["q1"]["source"] == DONE["q1"]
    )
    assert "No space left" in done.sentence


def test_a_first_one_that_cannot_be_written_leaves_nothing(
    tmp_path: Path, source_notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(target: Path, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "_write_bytes", full)
    assert take(release_zip(source_notebook), tmp_path).assignment is None
    assert list(tmp_path.iterdir()) == []
