"""Put a damaged submission back into the form of the release, keeping the student's answers.

The student's notebook is not patched: the marked copy is the released notebook with the
student's answers laid into it. So a copied cell, a deleted or edited check, a retyped cell, an
emptied label or a notebook without labels cannot stop a class. Answers are found by their label,
else by the cell's own id, else by their place. Cells that the student added stay, as text.

Notebooks and cells are plain dictionaries, as in their JSON.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from lengthwise.classroom.cells import (
    Cell,
    compact,
    harmless,
    holds_answer,
    is_check,
    label,
    source_of,
)
from lengthwise.classroom.places import blocks_of, place_of_check, places_of
from lengthwise.classroom.read_answers import MAX_CELL_CHARS
from lengthwise.classroom.typed_beside import answered_in, names_in, typed_for, typed_in_words

MAX_EXTRA_CHARS = 50_000


@dataclass(frozen=True)
class Repaired:
    """The cells of the marked copy, what was mended (in sentences), and what is unclear.

    ``lost`` says by label why an answer was not found, or may not be what the student meant.
    """

    cells: list[Cell]
    mended: tuple[str, ...]
    lost: dict[str, str] = field(default_factory=dict)


def repair(submitted: Mapping[str, Any], release: Mapping[str, Any]) -> Repaired:
    """Lay the answers of ``submitted`` into a copy of ``release``; both are left as they are.

    >>> ours = {"nbgrader": {"grade_id": "i1", "solution": True}}
    >>> stub = {"cell_type": "code", "metadata": ours, "source": "i1 = ..."}
    >>> typed = {"cell_type": "markdown", "metadata": {}, "source": "i1 = B"}
    >>> repaired = repair({"cells": [typed]}, {"cells": [stub]})
    >>> repaired.cells[0]["source"], repaired.mended[0]
    ('i1 = B', 'the label of i1 was lost, found by its place')
    """
    released = [cell for cell in release["cells"] if isinstance(cell, dict)]
    cells = submitted.get("cells")
    handed_in = (
        [cell for cell in cells if isinstance(cell, dict)] if isinstance(cells, list) else []
    )
    places, by_place = places_of(released, handed_in)
    mended = _Mended()
    if by_place:
        mended.say("the label of {} was lost, found by its place", by_place)
    blocks = blocks_of(released, places, len(handed_in))
    rebuilt: list[list[Cell]] = []
    lost = {}
    for index, cell in enumerate(released):
        fresh: Cell = {**copy.deepcopy(dict(cell)), "source": source_of(cell)}
        found = [handed_in[place] for place in places[index]]
        if holds_answer(cell):
            unclear = _answer(index, released, handed_in, places, blocks, fresh, mended)
            if unclear:
                lost[label(cell)] = unclear
        elif is_check(cell):
            _say_of_check(cell, found, mended)
        elif any(compact(source_of(one)) != compact(source_of(cell)) for one in found):
            mended.say("{} is not as it was released, put back", [label(cell)])
        rebuilt.append([fresh])
    gone = [name for name, why in lost.items() if why == _NOT_FOUND]
    if gone:
        mended.say("answer {} was not found", gone)
    _keep_extras(rebuilt, places, handed_in, mended)
    return Repaired([cell for group in rebuilt for cell in group], mended.sentences(), lost)


_NOT_FOUND = "the answer was not found in the file"


def _answer(
    index: int,
    released: list[Cell],
    handed_in: list[Cell],
    places: list[list[int]],
    blocks: list[int],
    fresh: Cell,
    mended: _Mended,
) -> str:
    """Lay one answer into its fresh cell; return what is unclear about it."""
    cell, found = released[index], places[index]
    name, stub = label(cell), source_of(cell)
    owned = {place for each in places for place in each}
    beside = [place for place, block in enumerate(blocks) if block == index and place not in owned]
    if not found:
        return _NOT_FOUND
    check = place_of_check(index, released, places)
    if cell.get("cell_type") == "code":
        typed = typed_for(stub, found, beside, handed_in, check)
    else:
        typed = typed_in_words(stub, found, handed_in, check)
    # One sign more than is read, so that the reader refuses what is too long.
    source = typed.source[: MAX_CELL_CHARS + 1]
    fresh["source"] = harmless(source) if fresh.get("cell_type") == "markdown" else source
    places[index] = list(typed.places)
    if typed.how:
        mended.say(typed.how, [name])
    elif len(found) > 1:
        mended.say("{} was there more than once", [name])
    used = [handed_in[place] for place in typed.places]
    if any(one.get("cell_type") != cell.get("cell_type") for one in used):
        mended.say("the type of {} was put back", [name])
    if any(one.get("attachments") for one in used):
        mended.say("a picture in {} is not shown, look at the file", [name])
    if len(source) < len(typed.source):
        mended.say(f"{{}} was cut after {MAX_CELL_CHARS} characters", [name])
    if typed.unclear or cell.get("cell_type") != "code" or answered_in(typed.source):
        return typed.unclear
    return _answered_elsewhere(stub, owned, handed_in)


def _answered_elsewhere(stub: str, owned: set[int], handed_in: list[Cell]) -> str:
    """Of a blank answer: whether a cell of the student's own, somewhere else, may hold it."""
    wanted = names_in(stub)
    for place, cell in enumerate(handed_in):
        if place not in owned and answered_in(source_of(cell)) & wanted:
            return (
                "its cell is blank, but a cell of the student's own elsewhere may hold the answer"
            )
    return ""


class _Mended:
    """Collects what was mended, one sentence a kind."""

    def __init__(self) -> None:
        self._by_kind: dict[str, list[str]] = {}

    def say(self, kind: str, names: Sequence[str]) -> None:
        self._by_kind.setdefault(kind, []).extend(names)

    def sentences(self) -> tuple[str, ...]:
        return tuple(kind.format(", ".join(names)) for kind, names in self._by_kind.items())


def _say_of_check(released: Cell, found: list[Cell], mended: _Mended) -> None:
    name = label(released)
    ours = released["metadata"]["nbgrader"].get("points")
    if any(_points(cell) not in (None, ours) for cell in found):
        mended.say("the points of {} were changed, put back", [name])
    if any(_holds_value(cell) for cell in found):
        mended.say("there was a value under {}, which no check gives, left out", [name])
    if not found:
        mended.say("{} was missing, put back", [name])
        return
    if len(found) > 1:
        mended.say("{} was there more than once", [name])
    if any(compact(source_of(cell)) != compact(source_of(released)) for cell in found) or any(
        cell.get("cell_type") != released.get("cell_type") for cell in found
    ):
        mended.say("{} was changed, put back", [name])


def _points(cell: Mapping[str, Any]) -> object:
    metadata = cell.get("metadata")
    ours = metadata.get("nbgrader") if isinstance(metadata, Mapping) else None
    return ours.get("points") if isinstance(ours, Mapping) else None


def _holds_value(cell: Mapping[str, Any]) -> bool:
    outputs = cell.get("outputs")
    return isinstance(outputs, list) and any(
        isinstance(one, Mapping) and one.get("output_type") == "execute_result" for one in outputs
    )


def _keep_extras(
    rebuilt: list[list[Cell]], places: list[list[int]], handed_in: list[Cell], mended: _Mended
) -> None:
    """Add the student's own cells after the released cell that they followed."""
    owner = {place: index for index, found in enumerate(places) for place in found}
    current = 0
    chars = 0
    left_out = programs = 0
    for place, cell in enumerate(handed_in):
        if place in owner:
            current = max(current, owner[place])
            continue
        source = source_of(cell)
        if not source.strip():
            continue
        if chars + len(source) > MAX_EXTRA_CHARS:
            left_out += 1
            continue
        chars += len(source)
        is_code = cell.get("cell_type") == "code"
        programs += is_code and not label(cell)
        rebuilt[current].append(_extra(f"added-{place}", is_code, source))
    if programs:
        mended.say(
            "code of the student's own is kept as text and was not run ({})", [str(programs)]
        )
    if left_out:
        mended.say("{} cells of the student's own were too long to keep", [str(left_out)])


def _extra(cell_id: str, code: bool, source: str) -> Cell:
    if code:
        return {"cell_type": "code", "id": cell_id, "metadata": {}, "source": source,
                "outputs": [], "execution_count": None}  # fmt: skip
    return {"cell_type": "markdown", "id": cell_id, "metadata": {}, "source": harmless(source)}
