"""A damaged submission comes back in the form of the release, with the student's answers."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lengthwise.classroom.cells import harmless, is_check, label, source_of
from lengthwise.classroom.repair import MAX_EXTRA_CHARS, Repaired, repair

Notebook = dict[str, Any]

ANSWERS = {
    "identity": 'student_id = "ada"',
    **{
        name: f"foramen_mm = {n}\nworking_length_mm = ...\nlow_mm = ...\nhigh_mm = ...\n"
        "next_step = 'film'"
        for n, name in enumerate(("q1", "q2", "q3"))
    },
    **{f"i{n}": f'i{n} = "B"' for n in (1, 2, 3, 4)},
    "reason": "Because the film was turned.",
}


@pytest.fixture
def filled(source_notebook: Notebook) -> Notebook:
    notebook = copy.deepcopy(source_notebook)
    for cell in notebook["cells"]:
        if label(cell) in ANSWERS:
            cell["source"] = ANSWERS[label(cell)]
    return notebook


def place(notebook: Notebook, name: str) -> int:
    return next(i for i, cell in enumerate(notebook["cells"]) if label(cell) == name)


def answers_of(repaired: Repaired) -> dict[str, str]:
    return {label(cell): source_of(cell) for cell in repaired.cells if label(cell) in ANSWERS}


def in_form_of(repaired: Repaired, release: Notebook) -> bool:
    """Every labelled cell of the release once, in order, checks word for word."""
    labelled = [cell for cell in repaired.cells if label(cell)]
    same_order = [label(cell) for cell in labelled] == [label(cell) for cell in release["cells"]]
    return same_order and all(
        source_of(cell) == source_of(wanted) and cell["cell_type"] == wanted["cell_type"]
        for cell, wanted in zip(labelled, release["cells"], strict=True)
        if label(wanted) not in ANSWERS
    )


def test_an_undamaged_file_needs_no_mending(filled: Notebook, source_notebook: Notebook) -> None:
    repaired = repair(filled, source_notebook)
    assert repaired.mended == ()
    assert repaired.lost == {}
    assert answers_of(repaired) == ANSWERS
    assert in_form_of(repaired, source_notebook)


def copied_stub_above(notebook: Notebook) -> None:
    stub = copy.deepcopy(notebook["cells"][place(notebook, "q2")])
    stub["source"] = "foramen_mm = ...\nworking_length_mm = ...\nlow_mm = ...\nhigh_mm = ...\n"
    stub["source"] += 'next_step = ...  # a word in quotes; "not yet": fill in only this one'
    notebook["cells"].insert(place(notebook, "q2"), stub)


def copied_answer_below_check(notebook: Notebook) -> None:
    copied = copy.deepcopy(notebook["cells"][place(notebook, "q2")])
    copied["source"] = "foramen_mm = 99"
    notebook["cells"].insert(place(notebook, "q2") + 2, copied)


def deleted_check(notebook: Notebook) -> None:
    del notebook["cells"][place(notebook, "q3_check")]


def copied_check(notebook: Notebook) -> None:
    where = place(notebook, "q1_check")
    notebook["cells"].insert(where, copy.deepcopy(notebook["cells"][where]))


def edited_check(notebook: Notebook) -> None:
    notebook["cells"][place(notebook, "q1_check")]["source"] = "4.0"


def raised_points(notebook: Notebook) -> None:
    notebook["cells"][place(notebook, "q1_check")]["metadata"]["nbgrader"]["points"] = 400


def forged_value(notebook: Notebook) -> None:
    value = {"output_type": "execute_result", "data": {"text/plain": "4.0"}}
    notebook["cells"][place(notebook, "q1_check")]["outputs"] = [value]


def retyped_answer(notebook: Notebook) -> None:
    cell = notebook["cells"][place(notebook, "q1")]
    cell["cell_type"] = "markdown"
    del cell["outputs"], cell["execution_count"]


def retyped_reason(notebook: Notebook) -> None:
    notebook["cells"][place(notebook, "reason")]["cell_type"] = "raw"


def emptied_labels(notebook: Notebook) -> None:
    for name in ("q1", "i2", "reason"):
        notebook["cells"][place(notebook, name)]["metadata"]["nbgrader"]["grade_id"] = ""


def lost_metadata(notebook: Notebook) -> None:
    for cell in notebook["cells"]:
        cell["metadata"] = {}


def lost_metadata_and_ids(notebook: Notebook) -> None:
    for cell in notebook["cells"]:
        cell["metadata"] = {}
        cell.pop("id")


def odd_metadata(notebook: Notebook) -> None:
    for cell, odd in zip(notebook["cells"][:4], (None, [], 3, {"nbgrader": 7}), strict=True):
        cell["metadata"] = odd


def locked_text_deleted(notebook: Notebook) -> None:
    for name in ("opening", "q1_text", "q1_case", "reason_text"):
        del notebook["cells"][place(notebook, name)]


def sources_as_lists(notebook: Notebook) -> None:
    for cell in notebook["cells"]:
        cell["source"] = source_of(cell).splitlines(keepends=True)


@pytest.mark.parametrize(
    ("damage", "says"),
    [
        (copied_stub_above, "q2 was there more than once"),
        (copied_answer_below_check, "q2 was there more than once"),
        (deleted_check, "q3_check was missing"),
        (copied_check, "q1_check was there more than once"),
        (edited_check, "q1_check was changed"),
        (raised_points, "the points of q1_check were changed"),
        (forged_value, "there was a value under q1_check"),
        (retyped_answer, "type of q1"),
        (retyped_reason, "type of reason"),
        (emptied_labels, "label of q1, i2, reason"),
        (lost_metadata, "label of identity, q1"),
        (lost_metadata_and_ids, "label of identity, q1"),
        (odd_metadata, "label of identity was lost"),
        (locked_text_deleted, ""),
        (sources_as_lists, ""),
    ],
)
def test_damage_is_mended_said_and_costs_no_answer(
    filled: Notebook,
    source_notebook: Notebook,
    damage: Callable[[Notebook], None],
    says: str,
) -> None:
    damage(filled)
    repaired = repair(filled, source_notebook)
    assert answers_of(repaired) == ANSWERS
    assert in_form_of(repaired, source_notebook)
    assert repaired.lost == {}
    assert says in "; ".join(repaired.mended)
    assert bool(says) or not repaired.mended


def test_of_two_filled_in_copies_the_one_just_above_the_check_counts(
    filled: Notebook, source_notebook: Notebook
) -> None:
    earlier = copy.deepcopy(filled["cells"][place(filled, "q2")])
    earlier["source"] = "foramen_mm = 11"
    filled["cells"].insert(place(filled, "q2"), earlier)
    assert answers_of(repair(filled, source_notebook))["q2"] == ANSWERS["q2"]


def test_an_answer_that_is_gone_is_said_to_be_lost(
    filled: Notebook, source_notebook: Notebook
) -> None:
    del filled["cells"][place(filled, "q2")]
    repaired = repair(filled, source_notebook)
    assert repaired.lost == {"q2": "the answer was not found in the file"}
    assert "answer q2 was not found" in repaired.mended
    assert "..." in answers_of(repaired)["q2"]


def test_the_students_own_cells_stay_where_they_were(
    filled: Notebook, source_notebook: Notebook
) -> None:
    note = {"cell_type": "markdown", "metadata": {}, "source": "my note <img src=x onerror=y>"}
    code = {"cell_type": "code", "metadata": {}, "source": "1 + 1", "outputs": [{"x": 1}]}
    where = place(filled, "q1_check")
    filled["cells"][where:where] = [note, code]
    repaired = repair(filled, source_notebook)
    assert repaired.mended == ("code of the student's own is kept as text and was not run (1)",)
    cells = repaired.cells
    at = next(i for i, cell in enumerate(cells) if label(cell) == "q1")
    assert [source_of(cell) for cell in cells[at + 1 : at + 3]] == [
        "my note &lt;img src=x onerror=y>",
        "1 + 1",
    ]
    assert cells[at + 2]["outputs"] == []


def test_a_flood_of_own_cells_is_cut(filled: Notebook, source_notebook: Notebook) -> None:
    flood = {"cell_type": "raw", "metadata": {}, "source": "x" * 9_000}
    filled["cells"] += [copy.deepcopy(flood) for _ in range(50)]
    repaired = repair(filled, source_notebook)
    kept = sum(len(source_of(cell)) for cell in repaired.cells if not label(cell))
    assert kept <= MAX_EXTRA_CHARS
    assert "too long to keep" in repaired.mended[-1]


def test_html_of_a_student_is_switched_off_and_a_comparison_stays() -> None:
    assert "<" not in harmless("<script>alert(1)</script><!-- x --><?y?><img>").replace("&lt;", "")
    assert harmless("20 < 25") == "20 < 25"


damages = st.lists(
    st.tuples(
        st.sampled_from(["delete", "copy", "unlabel", "unid", "retype", "move", "empty"]),
        st.integers(0, 36),
        st.integers(0, 36),
    ),
    max_size=12,
)


def damaged(notebook: Notebook, steps: list[Any]) -> Notebook:
    cells = notebook["cells"]
    for what, first, second in steps:
        if not cells:
            break
        at, other = first % len(cells), second % len(cells)
        if what == "delete":
            del cells[at]
        elif what == "copy":
            cells.insert(other, copy.deepcopy(cells[at]))
        elif what == "unlabel":
            cells[at]["metadata"] = {}
        elif what == "unid":
            cells[at].pop("id", None)
        elif what == "retype":
            cells[at]["cell_type"] = "raw"
        elif what == "move":
            cells.insert(other, cells.pop(at))
        else:
            cells[at]["source"] = ""
    return notebook


@settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(damages)
def test_no_damage_can_stop_a_class(source_notebook: Notebook, steps: list[Any]) -> None:
    repaired = repair(damaged(copy.deepcopy(source_notebook), steps), source_notebook)
    assert in_form_of(repaired, source_notebook)
    assert all(label(cell) for cell in repaired.cells if is_check(cell))


@settings(
    max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(damages)
def test_no_answer_is_lost_without_a_word(filled: Notebook, steps: list[Any]) -> None:
    release = copy.deepcopy(filled)
    for cell in release["cells"]:
        if label(cell) in ANSWERS and cell["cell_type"] == "code":
            cell["source"] = re.sub(r"= .*", "= ...", source_of(cell))
    repaired = repair(damaged(copy.deepcopy(filled), steps), release)
    told = " ".join((*repaired.mended, *repaired.lost))
    for name, text in answers_of(repaired).items():
        if name != "reason":  # words are read by the instructor, whatever they are
            assert text == ANSWERS[name] or re.search(rf"\b{name}\b", told), name


@pytest.mark.parametrize("cells", [None, [], "x", [1, "y"], [{}], [{"source": 3}]])
def test_a_file_without_usable_cells_gives_an_empty_copy_of_the_release(
    source_notebook: Notebook, cells: object
) -> None:
    repaired = repair({"cells": cells}, source_notebook)
    assert in_form_of(repaired, source_notebook)
    assert set(repaired.lost) == set(ANSWERS)
