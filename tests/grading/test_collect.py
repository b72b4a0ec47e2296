"""Collecting: one regular notebook a student; contradictions are reported, never guessed away."""

from __future__ import annotations

import json
import os
import tempfile
import unicodedata
import zipfile
from pathlib import Path
from typing import Literal

import pytest
from all_users import with_no_more_rights_than_anybody
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.collect import Collection, Elsewhere, collect
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.handed_in import notebooks_in, read_regular
from lengthwise.classroom.notebook_file import clean_copy
from lengthwise.classroom.roster import Student
from lengthwise.classroom.zip_entries import name_in_zip

ASSIGNMENT = "a6_reconcile"
STUDENTS = (
    Student("student-1", "Ada", "Öberg", "ada@example.org"),
    Student("student-2", "Ben", "Ray"),
    Student("student-11", "Ben", "Ray"),
)


def sources(typed: str | None, note: str = "") -> list[str]:
    return [f'student_id = "{typed}"' if typed else "student_id = ...", note]


def notebook(typed: str | None, note: str = "") -> str:
    cells = [
        {"cell_type": "code", "metadata": {}, "source": source, "outputs": []}
        for source in sources(typed, note)
    ]
    return json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5})


@pytest.fixture
def taught(tmp_path: Path) -> ClassFolder:
    root = tmp_path / "class"
    root.mkdir()
    return ClassFolder(root, "class", 0.5, (ASSIGNMENT,), "0")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    folder = tmp_path / "handed_in"
    folder.mkdir()
    return folder


def put(place: Path, where: str, text: str) -> Path:
    path = place / where
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def collected(place: Path, taught: ClassFolder) -> Collection:
    return collect(place, taught, ASSIGNMENT, STUDENTS)


def submitted(taught: ClassFolder, student: str) -> Path:
    return taught.submission_folder(student, ASSIGNMENT) / f"{ASSIGNMENT}.ipynb"


@pytest.mark.parametrize(
    ("where", "typed"),
    [
        ("student-1.ipynb", "student-1"),
        ("student-1/a6_reconcile.ipynb", "student-1"),
        ("student-1/deep/er/work.ipynb", None),
        ("STUDENT-1_9917_a6_reconcile.ipynb", None),
        ("a6_reconcile (1).ipynb", "student-1"),
        ("a6_reconcile.IPYNB", "Student-1"),
        ("late/a6_reconcile-student-1-final.ipynb", "student-1"),
        ("Oberg Ada_20261125_file/a6_reconcile.ipynb", None),
        ("öberg, ada - a6.ipynb.txt", "student-1"),
        ("adaoberg_4411_a6_reconcile.ipynb", None),
        ("ada@example.org_a6.ipynb", None),
        ("Ben Ray.ipynb", "student-1"),  # two of that name: then the typed id counts
    ],
)
def test_a_file_finds_its_student_by_name_or_by_the_typed_id(
    place: Path, taught: ClassFolder, where: str, typed: str | None
) -> None:
    put(place, where, notebook(typed))
    done = collected(place, taught)
    assert [one.student for one in done.taken] == ["student-1"]
    kept = json.loads(submitted(taught, "student-1").read_text("utf-8"))
    assert [cell["source"] for cell in kept["cells"]] == sources(typed)
    assert done.missing == ("student-2", "student-11")


def test_a_longer_id_is_not_taken_for_a_shorter_one(place: Path, taught: ClassFolder) -> None:
    put(place, "student-11.ipynb", notebook("student-11"))
    assert [one.student for one in collected(place, taught).taken] == ["student-11"]


@pytest.mark.parametrize(
    ("where", "says"),
    [
        ("student-1/student-2.ipynb", "speaks of student-1 and of student-2"),
        ("Ada Öberg/student-2.ipynb", "speaks of student-1 and of student-2"),
        ("Ben Ray.ipynb", "neither its name nor the notebook"),
        ("1/a6_reconcile (1).ipynb", "neither its name nor the notebook"),
    ],
)
def test_a_name_that_speaks_of_nobody_or_of_two_is_left(
    place: Path, taught: ClassFolder, where: str, says: str
) -> None:
    put(place, where, notebook(None))
    done = collected(place, taught)
    assert done.taken == ()
    assert says in done.left[0].reason


def test_a_short_number_is_an_id_only_where_it_stands_alone(
    place: Path, taught: ClassFolder
) -> None:
    put(place, "a6_reconcile (1).ipynb", notebook("12"))
    put(place, "1/attempt 12.ipynb", notebook(None, "another"))
    done = collect(place, taught, ASSIGNMENT, (Student("1"), Student("12")))
    assert {(one.student, one.where) for one in done.taken} == {
        ("12", "a6_reconcile (1).ipynb"),
        ("1", "1/attempt 12.ipynb"),
    }


def test_a_name_and_a_typed_id_that_contradict_each_other_are_reported(
    place: Path, taught: ClassFolder
) -> None:
    put(place, "student-1.ipynb", notebook("student-2"))
    done = collected(place, taught)
    assert done.taken == ()
    assert "student-1" in done.left[0].reason
    assert "student-2" in done.left[0].reason
    assert not submitted(taught, "student-1").exists()


def test_two_files_of_one_student_are_a_conflict_and_neither_wins(
    place: Path, taught: ClassFolder
) -> None:
    put(place, "student-1.ipynb", notebook("student-1", "first"))
    put(place, "a6_reconcile (2).ipynb", notebook("student-1", "second"))
    put(place, "student-2.ipynb", notebook("student-2"))
    done = collected(place, taught)
    assert [one.student for one in done.taken] == ["student-2"]
    assert {one.where for one in done.left} == {"student-1.ipynb", "a6_reconcile (2).ipynb"}
    assert not submitted(taught, "student-1").exists()


def test_a_conflict_leaves_an_earlier_submission_as_it_was(
    place: Path, taught: ClassFolder
) -> None:
    put(place, "student-1.ipynb", notebook("student-1", "earlier"))
    collected(place, taught)
    put(place, "student-1.ipynb", notebook("student-1", "one"))
    put(place, "student-1 (1).ipynb", notebook("student-1", "two"))
    collected(place, taught)
    assert "earlier" in submitted(taught, "student-1").read_text("utf-8")


def test_the_same_file_twice_is_no_conflict(place: Path, taught: ClassFolder) -> None:
    put(place, "student-1.ipynb", notebook("student-1"))
    put(place, "student-1 (1).ipynb", notebook("student-1"))
    assert [one.student for one in collected(place, taught).taken] == ["student-1"]


def test_collecting_again_changes_nothing_and_a_better_file_replaces(
    place: Path, taught: ClassFolder
) -> None:
    put(place, "student-1.ipynb", notebook("student-1"))
    assert collected(place, taught).taken[0].how == "new"
    stamp = submitted(taught, "student-1").with_name("timestamp.txt")
    first = stamp.read_text("ascii")
    assert collected(place, taught).taken[0].how == "unchanged"
    assert stamp.read_text("ascii") == first
    put(place, "student-1.ipynb", notebook("student-1", "better"))
    assert collected(place, taught).taken[0].how == "replaced"
    assert "better" in submitted(taught, "student-1").read_text("utf-8")


def test_a_link_is_never_followed(place: Path, taught: ClassFolder, tmp_path: Path) -> None:
    hidden = put(tmp_path, "private/answers.ipynb", notebook("student-1"))
    os.symlink(hidden, place / "student-1.ipynb")
    os.symlink(hidden.parent, place / "student-2")
    done = collected(place, taught)
    assert done.taken == ()
    assert [left.where for left in done.left] == ["student-1.ipynb", "student-2"]
    assert all("link" in left.reason for left in done.left)


def test_a_second_name_of_a_file_elsewhere_is_not_taken(
    place: Path, taught: ClassFolder, tmp_path: Path
) -> None:
    os.link(
        put(tmp_path, "private/answers.ipynb", notebook("student-1")), place / "student-1.ipynb"
    )
    assert "several names" in collected(place, taught).left[0].reason


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "cut off"),
        ("[]", "no cells"),
        ('{"cells": {}}', "no cells"),
        ('{"cells": ["x"]}', "no cells"),
        ('{"cells": [], "nbformat": 3}', "old notebook format"),
        ("[" * 100_000, "nested too deeply"),
        ("", "empty"),
        ("<!doctype html><p>Please log in", "web page"),
        (json.dumps({"cells": [{"source": "x"}] * 2001, "nbformat": 4}), "2001 cells"),
        ("x" * 5_000_001, "5.0 MB"),
    ],
)
def test_what_is_no_notebook_is_refused_with_a_reason(
    place: Path, taught: ClassFolder, text: str, says: str
) -> None:
    put(place, "student-1.ipynb", text)
    done = collected(place, taught)
    assert done.taken == ()
    assert says in done.left[0].reason


def test_every_cell_of_a_clean_copy_has_an_id_of_its_own() -> None:
    ids = ["handed-in-2", "handed-in-1", "handed-in-1", None, "q 1", "handed-in-4", "q1", "q1"]
    cells = [{"source": "", "cell_type": "code"} | ({"id": one} if one else {}) for one in ids]
    clean = clean_copy({"cells": cells})
    given = [cell["id"] for cell in json.loads(clean)["cells"]]
    assert len(set(given)) == len(ids)
    assert given[:2] == ids[:2]
    assert clean_copy(json.loads(clean)) == clean


def test_a_folder_that_is_shut_is_left_and_everything_else_is_collected() -> None:
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        place.chmod(0o755)
        put(place, "student-1.ipynb", notebook("student-1"))
        shut = put(place, "student-2/a6.ipynb", notebook("student-2")).parent
        shut.chmod(0o000)
        with with_no_more_rights_than_anybody():
            found = {one.where: one.refused for one in notebooks_in(place)}
        shut.chmod(0o700)
    assert found == {
        "student-1.ipynb": "",
        "student-2": "it cannot be opened (Permission denied)",
    }


def test_a_submission_that_was_stopped_half_way_is_done_again_with_the_time_of_that(
    place: Path, taught: ClassFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(place, "student-1.ipynb", notebook("student-1", "early"))
    collected(place, taught)
    stamp = submitted(taught, "student-1").with_name("timestamp.txt")
    stamp.write_text("2026-01-01 00:00:00.000000 UTC", encoding="ascii")
    put(place, "student-1.ipynb", notebook("student-1", "late"))
    write, written = Path.write_bytes, []

    def stopped(path: Path, data: bytes) -> int:
        written.append(path.name)
        if len(written) == 2:
            raise KeyboardInterrupt
        return write(path, data)

    monkeypatch.setattr(Path, "write_bytes", stopped)
    with pytest.raises(KeyboardInterrupt):
        collected(place, taught)
    monkeypatch.undo()
    assert collected(place, taught).taken[0].how == "replaced"
    assert not stamp.read_text("ascii").startswith("2026-01-01")


@pytest.mark.parametrize("typed", [None, "nobody"])
def test_a_file_of_nobody_is_left(place: Path, taught: ClassFolder, typed: str | None) -> None:
    put(place, "a6_reconcile.ipynb", notebook(typed))
    assert collected(place, taught).taken == ()


def test_a_file_that_is_gone_again_is_refused_in_words(place: Path) -> None:
    gone = read_regular(place / "ada.ipynb", "ada.ipynb")
    assert gone.refused == "it cannot be opened (No such file or directory)"


def test_a_named_pipe_is_not_read(place: Path, taught: ClassFolder) -> None:
    os.mkfifo(place / "student-1.ipynb")
    assert "regular" in collected(place, taught).left[0].reason


def test_a_zip_is_collected_without_being_unpacked(taught: ClassFolder, tmp_path: Path) -> None:
    place = tmp_path / "all.zip"
    with zipfile.ZipFile(place, "w") as archive:
        archive.writestr("course/student-1_77/a6_reconcile.ipynb", notebook("student-1"))
        archive.writestr("../../student-2.ipynb", notebook("student-2"))
        archive.writestr("/tmp/student-2.ipynb", notebook("student-2"))
        archive.writestr("__MACOSX/student-11.ipynb", notebook("student-11"))
        link = zipfile.ZipInfo("student-11.ipynb")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/passwd")
    before = {path for path in tmp_path.rglob("*") if taught.root not in path.parents}
    done = collected(place, taught)
    assert [one.student for one in done.taken] == ["student-1"]
    reasons = {left.where: left.reason for left in done.left}
    assert "outside" in reasons["../../student-2.ipynb"]
    assert "outside" in reasons["/tmp/student-2.ipynb"]
    assert "link" in reasons["student-11.ipynb"]
    after = {path for path in tmp_path.rglob("*") if taught.root not in path.parents}
    assert after == before


@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_a_name_in_utf8_that_a_zip_does_not_flag_is_read_as_it_was_meant(
    form: Literal["NFC", "NFD"], taught: ClassFolder, tmp_path: Path
) -> None:
    name = unicodedata.normalize(form, "a6_reconcile_m\xfcller-03.ipynb")
    place = tmp_path / "all.zip"
    with zipfile.ZipFile(place, "w") as archive:
        archive.writestr(name, notebook(None))
    data = bytearray(place.read_bytes())
    for head, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(head) + flags + 1] &= ~0x08  # bit 11
    place.write_bytes(data)
    with zipfile.ZipFile(place) as archive:
        assert "\xfc" not in archive.namelist()[0], "without the flag it is read as code page 437"
    done = collect(place, taught, "a6_reconcile", (Student("m\xfcller-03"),))
    assert [(one.student, one.where) for one in done.taken] == [("m\xfcller-03", name)]


def test_a_name_in_the_old_code_page_stays_as_it_is() -> None:
    entry = zipfile.ZipInfo(b"m\x81ller.ipynb".decode("cp437"))
    assert name_in_zip(entry) == "m\xfcller.ipynb"


def test_a_zip_with_a_damaged_list_of_its_files_is_said_to_be_damaged(
    taught: ClassFolder, tmp_path: Path
) -> None:
    place = tmp_path / "all.zip"
    with zipfile.ZipFile(place, "w") as archive:
        archive.writestr("student-1.ipynb", notebook("student-1"))
    data = place.read_bytes()
    place.write_bytes(data.replace(b"PK\x01\x02", b"PK\x01\x03"))
    with pytest.raises(ClassroomError, match=r"all\.zip is damaged or cut off; download it again"):
        collected(place, taught)


def test_a_zip_inside_is_read_once_and_what_lies_deeper_is_not(
    place: Path, taught: ClassFolder
) -> None:
    with zipfile.ZipFile(place / "student-1.zip", "w") as archive:
        archive.writestr("a6_reconcile/cases.json", "{}")
        archive.writestr("a6_reconcile/a6_reconcile.ipynb", notebook("student-1"))
    with zipfile.ZipFile(place / "student-2.zip", "w") as archive:
        archive.write(place / "student-1.zip", "again.zip")
    (place / "student-11.zip").write_bytes(b"PK\x03\x04 and then nothing")
    done = collected(place, taught)
    assert [one.where for one in done.taken] == ["student-1.zip/a6_reconcile/a6_reconcile.ipynb"]
    reasons = {left.where: left.reason for left in done.left}
    assert reasons == {
        "student-2.zip/again.zip": "it is a zip inside a zip",
        "student-11.zip": "the zip is damaged",
    }


def test_a_file_that_is_no_notebook_is_told_of_those_who_handed_in_nothing_else(
    place: Path, taught: ClassFolder
) -> None:
    for name in ("student-1.pdf", "student-2.docx", "notes.txt"):
        put(place, name, "x")
    put(place, "student-1.ipynb", notebook("student-1"))
    left = collected(place, taught).left
    assert [one.where for one in left] == ["student-2.docx"]
    assert ".ipynb" in left[0].reason


@pytest.fixture
def both(tmp_path: Path) -> ClassFolder:
    """A class with two assignments, each released with a text of its own."""
    taught = ClassFolder(tmp_path / "both", "both", 0.5, (ASSIGNMENT, "a1_landmarks"), "0")
    for name in taught.assignments:
        text = notebook(None, f"# {name}").replace('"code"', '"markdown"')
        put(taught.root, f"release/{name}/{name}.ipynb", text)
    return taught


def test_files_of_another_assignment_are_counted_and_left_where_they_are(
    place: Path, both: ClassFolder
) -> None:
    put(place, "student-1.ipynb", notebook("student-1", "# a1_landmarks"))
    put(place, "student-2 (2).ipynb", notebook("student-2", "# a1_landmarks"))
    put(place, "student-2.ipynb", notebook("student-2", f"# {ASSIGNMENT}"))
    put(place, "student-11.ipynb", notebook("student-11", "nothing of either"))
    done = collected(place, both)
    assert [one.student for one in done.taken] == ["student-2"]
    assert done.elsewhere == (Elsewhere("a1_landmarks", 2, ("student-1", "student-2")),)
    assert [one.where for one in done.left] == ["student-11.ipynb"]
    assert "another notebook" in done.left[0].reason
    assert done.missing == ("student-1", "student-11")
    assert done.untaken == ("student-11",)  # it came, and is not in the class


def test_a_place_that_is_no_folder_is_said_so(taught: ClassFolder, tmp_path: Path) -> None:
    with pytest.raises(ClassroomError, match="not a folder"):
        collected(tmp_path / "nowhere", taught)
    (tmp_path / "file.txt").write_text("x", encoding="utf-8")
    with pytest.raises(ClassroomError, match="neither a folder nor a zip"):
        collected(tmp_path / "file.txt", taught)
