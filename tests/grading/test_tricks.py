"""Thirty-odd tricks in one class, under limits of time and memory: no mark gained, nothing run,
nothing read from outside, each told.

Every student has the answers of `filled_class`; a trick stands where q3 was answered, or in how
the file is handed in. The name of a trick is the student's id.
"""

from __future__ import annotations

import copy
import json
import os
import resource
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

import pytest
from filled_class import (
    ASSIGNMENT,
    EARNED,
    FilledClass,
    Graded,
    Notebook,
    cell_of,
    code,
    filled_class,
    graded,
    place,
)
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.mark_cells import mark_cells

MARKER = "the secret that lies outside"
FILE = f"{ASSIGNMENT}.ipynb"
pytestmark = pytest.mark.slow


@dataclass(frozen=True)
class Yard:
    """Where files are handed in, and what lies outside: a canary that no one may make, a secret."""

    handed_in: Path
    outside: Path
    filled: FilledClass

    @property
    def canary(self) -> Path:
        return self.outside / "was_run"

    @property
    def secret(self) -> Path:
        return self.outside / "secret.ipynb"

    @property
    def writes_canary(self) -> str:
        return f"open({str(self.canary)!r}, 'w').write('run')"

    def put(self, name: str, data: bytes, file: str = FILE) -> None:
        path = self.handed_in / name / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


@dataclass(frozen=True)
class Trick:
    """``play`` hands it in; ``says`` is told; ``earned`` comes out otherwise; None: not taken."""

    name: str
    play: Callable[[Yard, str], None]
    says: str = ""
    earned: dict[str, float] | None = field(default_factory=lambda: {"q3": 0.0})
    by_hand: str = ""


def as_bytes(nb: Notebook) -> bytes:
    return json.dumps(nb).encode("utf-8")


# ---- in the notebook -----------------------------------------------------------------------------

Play = Callable[[Yard, str], None]
NAMES = ("estimated_working_length_mm", "average_short_by_mm", "working_length_mm")
STUB = "\n".join(f"{name} = ..." for name in NAMES)


def typing(text: Callable[[Yard], str] | str) -> Play:
    """The same after each of q3's equals signs; where it holds one itself, as the whole cell."""

    def play(yard: Yard, name: str) -> None:
        said = text if isinstance(text, str) else text(yard)
        nb = yard.filled.copy_of(name)
        whole = said if " = " in said else "\n".join(f"{each} = {said}" for each in NAMES)
        cell_of(nb, "q3")["source"] = whole
        yard.put(name, as_bytes(nb))

    return play


def doing(change: Callable[[Notebook, Yard], None]) -> Play:
    """Leave q3 blank and do this to the notebook."""

    def play(yard: Yard, name: str) -> None:
        nb = yard.filled.copy_of(name)
        cell_of(nb, "q3")["source"] = STUB
        change(nb, yard)
        yard.put(name, as_bytes(nb))

    return play


def lists_of_lists(yard: Yard) -> str:
    grown = "\n".join(f"a{n + 1} = [{', '.join([f'a{n}'] * 10)}]" for n in range(12))
    return f"a0 = 1\n{grown}\n" + "\n".join(f"{name} = a12" for name in NAMES)


def always_equal(yard: Yard) -> str:
    same = "class Same:\n    def __eq__(self, other):\n        return True\n"
    return same + "\n".join(f"{name} = Same()" for name in NAMES)


def own_programs(nb: Notebook, yard: Yard) -> None:
    programs = (yard.writes_canary, f"!touch {yard.canary}", "import os; os._exit(0)", "while 1: 1")
    for at in (0, place(nb, "q3"), len(nb["cells"])):
        nb["cells"][at:at] = [code(program) for program in programs]


def printed_score(nb: Notebook, yard: Yard) -> None:
    printed = [{"output_type": "stream", "name": "stdout", "text": "4.0\n"}]
    cell_of(nb, "q3_check")["outputs"] = printed
    nb["cells"].insert(place(nb, "q3_check"), {**code("print(4.0)"), "outputs": printed})


def forged_output(nb: Notebook, yard: Yard) -> None:
    value = {"output_type": "execute_result", "data": {"text/plain": "4.0"}, "metadata": {}}
    cell_of(nb, "q3_check")["outputs"] = [{**value, "execution_count": 9}]


def edited_points(nb: Notebook, yard: Yard) -> None:
    for name in ("q3_check", "i4_check"):
        cell_of(nb, name)["metadata"]["nbgrader"]["points"] = 400


def edited_check(nb: Notebook, yard: Yard) -> None:
    cell_of(nb, "q3_check")["source"] = "4.0"


def second_checks(nb: Notebook, yard: Yard) -> None:
    for name in ("q3_check", "bonus_check"):
        check = copy.deepcopy(cell_of(nb, "q3_check"))
        check.update(source="4.0", id=name)
        check["metadata"]["nbgrader"].update(grade_id=name, points=100)
        nb["cells"].append(check)


def forged_metadata(nb: Notebook, yard: Yard) -> None:
    nb["metadata"]["lengthwise"] = {"lost": {}, "repaired": ["q3 earned 4 points"]}
    cell_of(nb, "q3")["metadata"]["nbgrader"].update(grade=True, points=4, grade_id="q3")


def script_in_a_note(nb: Notebook, yard: Yard) -> None:
    note = "<script>document.title = 'run'</script><img src=x onerror=alert(1)>"
    nb["cells"].append({"cell_type": "markdown", "metadata": {}, "source": note})


def many_cells(nb: Notebook, yard: Yard) -> None:
    nb["cells"] += [{}] * 500_000


def another_students_cases(yard: Yard, name: str) -> None:
    nb = yard.filled.copy_of("ada")
    cell_of(nb, "identity")["source"] = f'student_id = "{name}"'
    yard.put(name, as_bytes(nb))


def another_students_file(yard: Yard, name: str) -> None:
    yard.put(name, as_bytes(yard.filled.notebooks["ada"]))


def tampered_cases(yard: Yard, name: str) -> None:
    doing(lambda nb, yard: None)(yard, name)
    given = yard.filled.taught.release_folder(ASSIGNMENT) / "cases.json"
    cases = json.loads(given.read_text("utf-8"))
    for one in cases["students"].values():
        one["cases"]["q3"]["asked"] = []
    yard.put(name, json.dumps(cases).encode(), "cases.json")
    yard.put(name, yard.writes_canary.encode(), "lengthwise.py")


def odd_file_name(yard: Yard, name: str) -> None:
    nb = yard.filled.copy_of(name)
    cell_of(nb, "q3")["source"] = STUB
    yard.put(name, as_bytes(nb), f"a\x1b[2J\n  eve   new \u202e{FILE}")


# ---- in how it is handed in ----------------------------------------------------------------------


def linked(yard: Yard, name: str) -> None:
    (yard.handed_in / name).mkdir()
    os.symlink(yard.secret, yard.handed_in / name / FILE)


def linked_folder(yard: Yard, name: str) -> None:
    os.symlink(yard.outside, yard.handed_in / name)


def hard_linked(yard: Yard, name: str) -> None:
    (yard.handed_in / name).mkdir()
    os.link(yard.secret, yard.handed_in / name / FILE)


def a_pipe(yard: Yard, name: str) -> None:
    (yard.handed_in / name).mkdir()
    os.mkfifo(yard.handed_in / name / FILE)


def a_large_cell(yard: Yard, name: str) -> None:
    yard.put(name, b'{"nbformat": 4, "cells": [{"source": "' + b"1" * 100_000_000 + b'"}]}')


def nested_json(yard: Yard, name: str) -> None:
    yard.put(name, b'{"cells": ' + b"[" * 200_000 + b"]" * 200_000 + b', "nbformat": 4}')


def zipped(entries: Iterator[tuple[str | zipfile.ZipInfo, bytes]]) -> bytes:
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in entries:
            archive.writestr(name, data)
    return packed.getvalue()


def zip_bomb(yard: Yard, name: str) -> None:
    yard.put(name, zipped((n, bytes(300_000_000)) for n in [FILE]), "mine.zip")


def zip_of_many_megabytes(yard: Yard, name: str) -> None:
    yard.put(name, zipped((f"{n}.ipynb", bytes(4_900_000)) for n in range(40)), "mine.zip")


def zip_of_many_files(yard: Yard, name: str) -> None:
    yard.put(name, zipped((f"{n}.ipynb", b"") for n in range(5_000)), "mine.zip")


def zips_in_zips(yard: Yard, name: str) -> None:
    data = as_bytes(yard.filled.notebooks[name])
    for layer in (FILE, "inner.zip"):
        data = zipped((n, data) for n in [layer])
    yard.put(name, data, "mine.zip")


TRICKS = (
    Trick("program", typing(lambda yard: yard.writes_canary), "a piece of program", by_hand="q3"),
    Trick(
        "import",
        typing(lambda yard: f"__import__('os').system('touch {yard.canary}')"),
        "a piece of program",
        by_hand="q3",
    ),
    Trick("huge-power", typing("9**9**9**9"), "only + - * / are read", by_hand="q3"),
    Trick("huge-product", typing("1e300 * 1e300"), "the number is too large", by_hand="q3"),
    Trick("nested", typing("[" * 1000 + "]" * 1000), "could not be read", by_hand="q3"),
    Trick("minuses", typing("-" * 1000 + "1"), "nested more than 20 deep", by_hand="q3"),
    Trick("long-cell", typing("1" + " " * 10_000), "longer than 10000", by_hand="q3"),
    Trick("nan", typing("nan"), "nan is not a number", by_hand="q3"),
    Trick("infinity", typing("1e999"), "the number is too large", by_hand="q3"),
    Trick("lists", typing(lists_of_lists), "could not be read", by_hand="q3"),
    Trick("always-equal", typing(always_equal), "a piece of program", by_hand="q3"),
    Trick("own-programs", doing(own_programs), "kept as text and was not run (12)"),
    Trick("printed-score", doing(printed_score), "kept as text and was not run (1)"),
    Trick("forged-output", doing(forged_output), "there was a value under q3_check"),
    Trick("edited-points", doing(edited_points), "the points of q3_check, i4_check were changed"),
    Trick("edited-check", doing(edited_check), "q3_check was changed, put back"),
    Trick("second-checks", doing(second_checks), "q3_check was there more than once"),
    Trick("forged-words", doing(forged_metadata)),
    Trick("script", doing(script_in_a_note)),
    Trick("odd-name", odd_file_name, "a?[2J?  eve   new ?"),
    Trick("tampered", tampered_cases),
    Trick("other-cases", another_students_cases, earned={}),
    Trick("other-file", another_students_file, "but the id typed in it is ada", None),
    Trick("link", linked, "it is a link, not a file", None),
    Trick("link-folder", linked_folder, "it is a link, not a file", None),
    Trick("hard-link", hard_linked, "under several names", None),
    Trick("pipe", a_pipe, "it is not a regular file", None),
    Trick("large-cell", a_large_cell, "it has 100.0 MB", None),
    Trick("many-cells", doing(many_cells), "cells, and at most 2000 are read", None),
    Trick("nested-json", nested_json, "it is nested too deeply", None),
    Trick("zip-bomb", zip_bomb, "it has 300.0 MB", None),
    Trick("zip-megabytes", zip_of_many_megabytes, "unpacked, it has", None),
    Trick("zip-files", zip_of_many_files, "far too many files", None),
    Trick("zips-in-zips", zips_in_zips, "it is a zip inside a zip", None),
)

# What a platform's own zip may hold: the name of the entry, and why it is not taken.
ENTRIES = (
    ("climbs", "../../climbs.ipynb", "points outside of the zip"),
    ("absolute", "/tmp/absolute.ipynb", "points outside of the zip"),
    ("drive", "C:\\temp\\drive.ipynb", "points outside of the zip"),
    ("linked-entry", "linked-entry.ipynb", "it is a link, not a file"),
    ("twice", "twice.ipynb", "handed in more than one file"),
    ("odd-packing", "odd-packing.ipynb", "packed in a way that is not read"),
    ("damaged", "damaged.ipynb", "it is damaged in the zip"),
)
HONEST = ("ada", "ben", "zipped")


def platforms_zip(yard: Yard) -> Path:
    """The zip of a platform, with entries that it should not hold."""
    target = yard.handed_in.parent / "platform.zip"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("zipped_991/a1.ipynb", as_bytes(yard.filled.notebooks["zipped"]))
        for name, entry, _ in ENTRIES:
            info = zipfile.ZipInfo(entry)
            info.compress_type = zipfile.ZIP_BZIP2 if name == "odd-packing" else 8
            if name == "linked-entry":
                info.external_attr = 0o120777 << 16
            archive.writestr(info, as_bytes(yard.filled.notebooks[name]))
        nb = yard.filled.copy_of("twice")
        cell_of(nb, "i4")["source"] = 'i4 = "A"  # another'
        with pytest.warns(UserWarning, match="Duplicate name"):
            archive.writestr("twice.ipynb", as_bytes(nb))
        at = archive.getinfo("damaged.ipynb").header_offset + 200
    data = bytearray(target.read_bytes())
    data[at : at + 50] = b"\xff" * 50
    target.write_bytes(data)
    return target


def limit() -> None:
    """Limits of the processes that touch the tricks: memory, time, size of a file, open files."""
    for what, most in (
        (resource.RLIMIT_AS, 3_000_000_000),
        (resource.RLIMIT_CPU, 90),
        (resource.RLIMIT_FSIZE, 20_000_000),
        (resource.RLIMIT_NOFILE, 256),
    ):
        resource.setrlimit(what, (most, most))


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory, course: Path) -> Yard:
    root = tmp_path_factory.mktemp("tricks")
    students = (*HONEST, *(one.name for one in TRICKS), *(name for name, _, _ in ENTRIES))
    yard = Yard(root / "in", root / "outside", filled_class(root, course, students))
    yard.handed_in.mkdir()
    yard.outside.mkdir()
    secret = yard.filled.copy_of("link")
    secret["cells"].append(code(f"# {MARKER}"))
    yard.secret.write_bytes(as_bytes(secret))
    return yard


@pytest.fixture(scope="module")
def result(yard: Yard) -> Graded:
    for name in ("ada", "ben"):
        yard.put(name, as_bytes(yard.filled.notebooks[name]))
    for trick in TRICKS:
        trick.play(yard, trick.name)
    places = [yard.handed_in, platforms_zip(yard)]
    return graded(yard.filled.taught, places, pages=["program", "script"], limit=limit)


def by_name(trick: Trick) -> str:
    return trick.name


def points_of(result: Graded, student: str) -> dict[str, float]:
    return {part: float(result.marks[student][part]) for part in EARNED}


@pytest.mark.parametrize("trick", [one for one in TRICKS if one.earned], ids=by_name)
def test_a_trick_gains_no_mark_and_is_told(trick: Trick, result: Graded) -> None:
    expected = {**EARNED, **(trick.earned or {})}
    assert points_of(result, trick.name) == pytest.approx(expected, abs=0.06)
    assert result.marks[trick.name]["max"] == "20"
    assert result.marks[trick.name]["needs_hand_marking"] == trick.by_hand
    assert trick.says in result.line("collect", trick.name) + result.line("grade", trick.name)


@pytest.mark.parametrize("trick", [one for one in TRICKS if one.earned is None], ids=by_name)
def test_what_cannot_be_a_students_file_is_left_and_told(trick: Trick, result: Graded) -> None:
    assert trick.says in result.line("collect", trick.name)
    assert result.marks[trick.name]["remark"] == "nothing collected"


@pytest.mark.parametrize(("name", "entry", "says"), ENTRIES)
def test_an_entry_that_a_zip_should_not_hold_is_left_and_told(
    name: str, entry: str, says: str, result: Graded
) -> None:
    assert says in result.line("collect", name)
    assert result.marks[name]["remark"] == "nothing collected"


def test_everybody_else_is_graded(result: Graded) -> None:
    for student in HONEST:
        assert points_of(result, student) == pytest.approx(EARNED, abs=0.06)


def test_another_students_answers_are_marked_against_ones_own_cases(
    yard: Yard, result: Graded
) -> None:
    key = read_key(yard.filled.taught, ASSIGNMENT).of("other-cases")
    marks = mark_cells(yard.filled.notebooks["ada"]["cells"], key).marks
    expected = {name.removesuffix("_check"): one.points for name, one in marks.items()}
    assert points_of(result, "other-cases") == pytest.approx(expected, abs=0.006)
    assert float(result.marks["other-cases"]["total"]) < sum(EARNED.values()) - 2


def test_nothing_was_run(yard: Yard, result: Graded) -> None:
    assert not yard.canary.exists()


def test_nothing_was_read_from_outside_or_written_there(yard: Yard, result: Graded) -> None:
    assert not holds(yard.filled.taught.root, MARKER)
    assert MARKER in yard.secret.read_text("utf-8")
    assert [path.name for path in yard.outside.iterdir()] == ["secret.ipynb"]
    for name, _, _ in ENTRIES:
        assert not list(yard.handed_in.parent.parent.glob(f"**/{name}.ipynb"))
        assert not Path(f"/tmp/{name}.ipynb").exists()


def test_a_page_shows_a_program_as_text_and_runs_no_script(result: Graded) -> None:
    assert "was_run" in result.page("program")
    assert "a piece of program" in result.page("program")
    assert "<script" not in result.page("script")
    assert "<img src=x" not in result.page("script")


def test_no_word_of_a_student_moves_the_cursor(result: Graded) -> None:
    assert "\x1b" not in "".join(result.said.values())
    assert "\u202e" not in "".join(result.said.values())


def holds(folder: Path, text: str) -> bool:
    return any(
        text.encode() in path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.is_symlink()
    )


def test_the_two_proofs_above_can_fail(yard: Yard, tmp_path: Path) -> None:
    moved = Yard(yard.handed_in, tmp_path, yard.filled)
    subprocess.run([sys.executable, "-c", f"a = {moved.writes_canary}"], check=True)
    assert moved.canary.exists()
    (tmp_path / "copied").write_bytes(yard.secret.read_bytes())
    assert holds(tmp_path, MARKER)
