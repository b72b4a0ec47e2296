"""Fifty-odd damaged files in one class, graded once by real nbgrader: none stops another's grading,
each is repaired with the right score or told with a reason, none is silently nothing or everything.

The name of a damage is the student's id. Every student typed the answers of `filled_class`.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

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

UNDAMAGED = ("ada", "ben", "zoe")
pytestmark = pytest.mark.slow

Made = bytes | None
"""The bytes of the file, or None where the notebook was changed in place."""


@dataclass(frozen=True)
class Damage:
    """One damaged submission.

    ``says`` has to be said of it on the way; ``lost`` are the points of parts that come out lower,
    each of which waits for the instructor; ``left`` marks a file that is not taken.
    """

    name: str
    do: Callable[[Notebook], Made]
    says: str = ""
    lost: dict[str, float] = field(default_factory=dict)
    left: bool = False
    file: str = ""

    @property
    def path(self) -> str:
        return self.file or f"{self.name}/{ASSIGNMENT}.ipynb"


# ---- cells ---------------------------------------------------------------------------------------


def copied_stub_above(nb: Notebook) -> None:
    empty = copy.deepcopy(cell_of(nb, "q2"))
    empty["source"] = re.sub(r"= .*", "= ...", empty["source"])
    nb["cells"].insert(place(nb, "q2"), empty)


def copied_answer_below(nb: Notebook) -> None:
    copied = copy.deepcopy(cell_of(nb, "q2"))
    copied["source"] = re.sub(r"= .*", "= 11", copied["source"])
    nb["cells"].insert(place(nb, "q2") + 2, copied)


def copied_check(nb: Notebook) -> None:
    nb["cells"].insert(place(nb, "q1_check"), copy.deepcopy(cell_of(nb, "q1_check")))


def deleted_check(nb: Notebook) -> None:
    del nb["cells"][place(nb, "q3_check")]


def edited_check(nb: Notebook) -> None:
    cell_of(nb, "q1_check")["source"] += "  # done"


def deleted_answer(nb: Notebook) -> None:
    del nb["cells"][place(nb, "q3")]


def emptied_answer(nb: Notebook) -> None:
    cell_of(nb, "q3")["source"] = ""


def reordered(nb: Notebook) -> None:
    nb["cells"].reverse()


def retyped_as_text(nb: Notebook) -> None:
    cell = cell_of(nb, "q1")
    cell["cell_type"] = "markdown"
    del cell["outputs"], cell["execution_count"]


def typed_anew(nb: Notebook) -> None:
    nb["cells"][place(nb, "q2")] = code(cell_of(nb, "q2")["source"])


def stripped(nb: Notebook) -> None:
    for number, cell in enumerate(nb["cells"]):
        cell.update(metadata={}, id=f"new-{number}")


def emptied_labels(nb: Notebook) -> None:
    for name in ("identity", "q1", "q4", "i3"):
        cell_of(nb, name)["metadata"]["nbgrader"]["grade_id"] = ""


def equal_cell_ids(nb: Notebook) -> None:
    for cell in nb["cells"]:
        cell["id"] = "same"


def split_answer(nb: Notebook) -> None:
    at = place(nb, "q2")
    first, second = copy.deepcopy(nb["cells"][at]), copy.deepcopy(nb["cells"][at])
    lines = first["source"].split("\n")
    first["source"], second["source"] = "\n".join(lines[:2]), "\n".join(lines[2:])
    nb["cells"][at : at + 1] = [first, second]


def merged_with_check(nb: Notebook) -> None:
    check = nb["cells"].pop(place(nb, "q1_check"))
    cell_of(nb, "q1")["source"] += "\n" + check["source"]


def _into_own_cell(nb: Notebook, at: int, name: str) -> None:
    answer = cell_of(nb, name)
    own = code(answer["source"])
    answer["source"] = re.sub(r"= .*", "= ...", answer["source"])
    nb["cells"].insert(at, own)


def own_cell_under(nb: Notebook) -> None:
    _into_own_cell(nb, place(nb, "q3") + 1, "q3")


def own_cell_at_the_end(nb: Notebook) -> None:
    _into_own_cell(nb, len(nb["cells"]), "q1")


# ---- typing --------------------------------------------------------------------------------------


def _retype(nb: Notebook, name: str, pattern: str, by: str | Callable[[Any], str]) -> None:
    cell = cell_of(nb, name)
    changed = re.sub(pattern, by, cell["source"], flags=re.MULTILINE)
    assert changed != cell["source"], (name, pattern)
    cell["source"] = changed


def decimal_commas(nb: Notebook) -> None:
    for name in ("q2", "q3", "q4"):
        _retype(nb, name, r"(\d)\.(\d)", r"\1,\2")


def units(nb: Notebook) -> None:
    _retype(nb, "q2", r"$", " mm")
    _retype(nb, "q3", r"= (.*)$", r'= "\1 mm"')


def words_for_numbers(nb: Notebook) -> None:
    _retype(nb, "q3", r"^(average_short_by_mm) = .*$", r"\1 = two")


def about(nb: Notebook) -> None:
    _retype(nb, "q3", r"^(average_short_by_mm) = ", r"\1 = about ")


def full_width(nb: Notebook) -> None:
    wide = str.maketrans({str(n): chr(0xFF10 + n) for n in range(10)} | {".": "．"})
    _retype(nb, "q3", r"= (.*)$", lambda found: "= " + found[1].translate(wide))


def a_range(nb: Notebook) -> None:
    _retype(nb, "q2", r"^(foramen_mm) = .*$", r"\1 = 25-26")


def a_long_range(nb: Notebook) -> None:
    _retype(nb, "q2", r"^(foramen_mm) = .*$", r"\1 = 25–26")


def comma_in_a_calculation(nb: Notebook) -> None:
    _retype(nb, "q2", r"^(foramen_mm) = .*$", r"\1 = 25,5 - 0,5")


def split_lines(nb: Notebook) -> None:
    _retype(nb, "q2", r" = ", " =\n    ")


def value_in_a_comment(nb: Notebook) -> None:
    _retype(nb, "q3", r"= (.*)$", r"= ...  # \1")


def commented_out(nb: Notebook) -> None:
    _retype(nb, "q1", r"^", "# ")


def two_equals_signs(nb: Notebook) -> None:
    _retype(nb, "q1", r" = ", " == ")
    _retype(nb, "q2", r" = ", " = = ")


def from_a_web_page(nb: Notebook) -> None:
    _retype(nb, "q2", r"^(\w+) = (.*)$", r"\1&nbsp;= <b>\2</b>")
    _retype(nb, "q3", r" = ", "\u00a0=\u00a0")


def smart_quotes(nb: Notebook) -> None:
    _retype(nb, "q1", r'"(.)"', "“\\1”")
    _retype(nb, "i1", r'"(.)"', "„\\1“")
    _retype(nb, "i3", r'"(.)"', '"\\1')
    _retype(nb, "i4", r'"(.)"', "\\1")


def true_minus(nb: Notebook) -> None:
    _retype(nb, "q2", r"^(foramen_mm) = (.*)$", r"\1 = \2 − 0.00")


def dots_kept(nb: Notebook) -> None:
    _retype(nb, "q3", r" = ", " = ...")


def colons_and_indents(nb: Notebook) -> None:
    _retype(nb, "q3", r" = ", ": ")
    _retype(nb, "q2", r"^working", "   working")


def no_equals_sign(nb: Notebook) -> None:
    _retype(nb, "i1", " = ", " ")


def name_in_capitals(nb: Notebook) -> None:
    _retype(nb, "i1", "i1", "I1")


def id_in_capitals(nb: Notebook) -> None:
    _retype(nb, "identity", r'"(.*)"', lambda found: f"\" '{found[1].upper()} ' \"")


def id_without_quotes(nb: Notebook) -> None:
    _retype(nb, "identity", r'"(.*)"', r"\1  # mine")


# ---- files ---------------------------------------------------------------------------------------


def _bytes(nb: Notebook) -> bytes:
    return json.dumps(nb, indent=1).encode("utf-8")


def truncated(nb: Notebook) -> bytes:
    return _bytes(nb)[: len(_bytes(nb)) * 6 // 10]


def saved_midway(nb: Notebook) -> bytes:
    whole = _bytes(nb)
    return whole[: len(whole) // 2] + bytes(len(whole) // 2)


def web_page(nb: Notebook) -> bytes:
    return b"<!DOCTYPE html>\n<html><title>Please log in</title></html>"


def old_format(nb: Notebook) -> bytes:
    old = {"worksheets": [{"cells": nb["cells"]}], "metadata": {}, "nbformat": 3}
    return json.dumps(old).encode("utf-8")


def another_notebook(nb: Notebook) -> None:
    nb["cells"] = [code("import this"), code(cell_of(nb, "identity")["source"])]


def another_kernel(nb: Notebook) -> None:
    nb["metadata"] = {
        "kernelspec": {"name": "ir", "display_name": "R", "language": "R"},
        "language_info": {"name": "R", "file_extension": ".r"},
    }


def old_release(nb: Notebook) -> None:
    """Last term's: earlier words and points, and a notebook format without ids of cells."""
    nb["nbformat_minor"] = 4
    for cell in nb["cells"]:
        cell.pop("id")
    cell_of(nb, "q1_text")["source"] = "## First case\n\nAs it was asked a year ago."
    cell_of(nb, "q1_check")["metadata"]["nbgrader"]["points"] = 2


def byte_order_mark(nb: Notebook) -> bytes:
    return b"\xef\xbb\xbf" + _bytes(nb)


def utf_16(nb: Notebook) -> bytes:
    return _bytes(nb).decode("utf-8").encode("utf-16")


def windows_line_ends(nb: Notebook) -> bytes:
    for cell in nb["cells"]:
        cell["source"] = cell["source"].replace("\n", "\r\n")
    return _bytes(nb).replace(b"\n", b"\r\n")


def large_outputs(nb: Notebook) -> None:
    text = {"output_type": "stream", "name": "stdout", "text": "x" * 3_000_000}
    cell_of(nb, "q1_check")["outputs"] = [text]


def too_large_outputs(nb: Notebook) -> None:
    text = {"output_type": "stream", "name": "stdout", "text": "x" * 6_000_000}
    cell_of(nb, "q1_check")["outputs"] = [text]


def odd_everywhere(nb: Notebook) -> None:
    """Metadata nested deeply, outputs that are none, halves of characters, a cell that is none."""
    deep: list[Any] = []
    for _ in range(300):
        deep = [deep]
    nb["metadata"] = {"deep": deep}
    cell_of(nb, "q2").update(outputs=None, execution_count="x")
    cell_of(nb, "q3_text")["attachments"] = {"a.png": {"image/png": "AAAA"}}
    nb["cells"] += [code("half \ud800"), {"cell_type": "chart"}, 7]


DAMAGES = (
    Damage("copied-stub", copied_stub_above, "q2 was there more than once"),
    Damage("copied-answer", copied_answer_below, "q2 was there more than once"),
    Damage("copied-check", copied_check, "q1_check was there more than once"),
    Damage("deleted-check", deleted_check, "q3_check was missing, put back"),
    Damage("edited-check", edited_check, "q1_check was changed, put back"),
    Damage("deleted-answer", deleted_answer, "answer q3 was not found", {"q3": 0}),
    Damage("emptied-answer", emptied_answer, "is missing in its cell", {"q3": 0}),
    Damage("reordered", reordered),
    Damage("retyped", retyped_as_text, "the type of q1 was put back"),
    Damage("typed-anew", typed_anew, "the label of q2 was lost, found by its place"),
    Damage("stripped", stripped, "the label of identity, q1"),
    Damage("emptied-labels", emptied_labels, "the label of identity, q1, q4, i3 was lost"),
    Damage("equal-cell-ids", equal_cell_ids),
    Damage("split-answer", split_answer, "q2 was split over several cells, joined"),
    Damage("merged-cells", merged_with_check, "q1_check was missing, put back"),
    Damage("own-cell", own_cell_under, "q3 stands in a cell of the student's own, joined"),
    Damage("own-cell-afar", own_cell_at_the_end, "elsewhere may hold the answer", {"q1": 0}),
    Damage("decimal-commas", decimal_commas, "was read as"),
    Damage("units", units, "mm was read as"),
    Damage("words", words_for_numbers, "two is not a number", {"q3": 2.67}),
    Damage("about", about, "average_short_by_mm could not be read", {"q3": 2.67}),
    Damage("full-width", full_width, "was read with plain signs"),
    Damage("range", a_range, "25 - 26 is -1; if you meant a range, give one", {"q2": 2.5}),
    Damage("long-range", a_long_range, "looks like a range; give one", {"q2": 2.5}),
    Damage("comma-sum", comma_in_a_calculation, "a comma in a calculation", {"q2": 2.5}),
    Damage("split-lines", split_lines),
    Damage("in-a-comment", value_in_a_comment, "beside the three dots", {"q3": 0}),
    Damage("commented-out", commented_out, "the line of cej_mark", {"q1": 0}),
    Damage("two-equals", two_equals_signs, "two equals signs were read as one"),
    Damage("web-paste", from_a_web_page, "was read with plain signs"),
    Damage("smart-quotes", smart_quotes, "was read with plain signs"),
    Damage("true-minus", true_minus, "was read with plain signs"),
    Damage("dots-kept", dots_kept, "was read as"),
    Damage("colons", colons_and_indents, "a colon was read as an equals sign"),
    Damage("no-equals", no_equals_sign, "i1 could not be read", {"i1": 0}),
    Damage("name-capitals", name_in_capitals, "the line of i1 is missing", {"i1": 0}),
    Damage("id-capitals", id_in_capitals, "taken by the id typed", file="caps.ipynb"),
    Damage("id-no-quotes", id_without_quotes, "taken by the id typed", file="bare.ipynb"),
    Damage("renamed", lambda nb: None, "taken by the id", file=f"{ASSIGNMENT} (1).ipynb"),
    Damage("saved-as-text", lambda nb: None, file=f"saved-as-text/{ASSIGNMENT}.ipynb.txt"),
    Damage("truncated", truncated, "it is cut off", left=True),
    Damage("saved-midway", saved_midway, "it is cut off", left=True),
    Damage("empty-file", lambda nb: b"", "the file is empty", left=True),
    Damage("web-page", web_page, "it is a web page", left=True),
    Damage("old-format", old_format, "old notebook format", left=True),
    Damage("wrong-notebook", another_notebook, "it is another notebook", left=True),
    Damage("too-large", too_large_outputs, "clear its outputs in JupyterLab", left=True),
    Damage("large-outputs", large_outputs),
    Damage("other-kernel", another_kernel),
    Damage("old-release", old_release, "q1_text is not as it was released"),
    Damage("order-mark", byte_order_mark),
    Damage("utf-16", utf_16),
    Damage("line-ends", windows_line_ends),
    Damage("odd-metadata", odd_everywhere),
)


# ---- what came of them ---------------------------------------------------------------------------


def by_name(damage: Damage) -> str:
    return damage.name


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory, course: Path) -> FilledClass:
    students = (*UNDAMAGED, *(one.name for one in DAMAGES))
    return filled_class(tmp_path_factory.mktemp("damaged"), course, students)


@pytest.fixture(scope="module")
def result(filled: FilledClass, tmp_path_factory: pytest.TempPathFactory) -> Graded:
    place = tmp_path_factory.mktemp("handed_in")
    for student in UNDAMAGED:
        write(
            place / student / f"{ASSIGNMENT}.ipynb", json.dumps(filled.notebooks[student]).encode()
        )
    for damage in DAMAGES:
        notebook = filled.copy_of(damage.name)
        made = damage.do(notebook)
        write(place / damage.path, json.dumps(notebook).encode() if made is None else made)
    return graded(filled.taught, [place], pages=["ada", *(one.name for one in DAMAGES if one.lost)])


def write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def test_the_undamaged_answers_earn_what_was_worked_out_by_hand(filled: FilledClass) -> None:
    key = read_key(filled.taught, ASSIGNMENT)
    for student, notebook in filled.notebooks.items():
        marks = mark_cells(notebook["cells"], key.of(student)).marks
        earned = {name.removesuffix("_check"): one.points for name, one in marks.items()}
        assert earned == pytest.approx(EARNED, abs=0.06), student


def test_every_other_student_is_graded(result: Graded) -> None:
    for student in UNDAMAGED:
        assert points_of(result, student) == pytest.approx(EARNED, abs=0.06)
        assert result.line("grade", student).split() == [student, "graded"]
    assert "0 failed" in result.said["grade"]
    assert "Your instructor is told" not in result.page("ada")


@pytest.mark.parametrize("damage", [one for one in DAMAGES if not one.left], ids=by_name)
def test_damage_costs_no_mark_or_is_told_with_its_reason(damage: Damage, result: Graded) -> None:
    expected = {**EARNED, **damage.lost}
    assert points_of(result, damage.name) == pytest.approx(expected, abs=0.06)
    assert result.marks[damage.name]["needs_hand_marking"] == " ".join(damage.lost)
    said = result.line("collect", damage.name) + result.line("grade", damage.name)
    assert damage.says in said
    if damage.lost:
        assert "Your instructor is told" in result.page(damage.name)


@pytest.mark.parametrize("damage", [one for one in DAMAGES if one.left], ids=by_name)
def test_a_file_that_cannot_be_read_is_told_and_earns_no_mark_at_all(
    damage: Damage, result: Graded
) -> None:
    assert damage.says in result.line("collect", damage.path)
    assert result.marks[damage.name]["total"] == ""
    assert result.marks[damage.name]["remark"] == "nothing collected"
    missing = next(x for x in result.said["collect"].splitlines() if x.startswith("Handed in, but"))
    assert damage.name in missing


def test_nothing_is_silently_nothing_or_everything(result: Graded) -> None:
    for damage in DAMAGES:
        total = result.marks[damage.name]["total"]
        assert damage.left or 0 < float(total) < 20, damage.name


def points_of(result: Graded, student: str) -> dict[str, float]:
    return {part: float(result.marks[student][part]) for part in EARNED}
