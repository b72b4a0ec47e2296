"""Put a damaged submission back into the form of the release, keeping the student's answers.

The student's notebook is not patched: the marked copy is the released notebook with the
student's answers laid into it. So a copied cell, a deleted or edited check, a retyped cell, an
emptied label or a notebook without labels cannot stop a class. Answers are found by their label,
else by the cell's own id, else by their place. Cells that the student added stay, as text.

Notebooks and cells are plain dictionaries, as in their JSON.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lengthwise.classroom.read_answers import read_cell

MAX_EXTRA_CHARS = 50_000
_TAG_START = re.compile(r"<(?=[A-Za-z/!?])")

Cell = dict[str, Any]


@dataclass(frozen=True)
class Repaired:
    """The cells of the marked copy, what was mended (in sentences), and which answers are lost."""

    cells: list[Cell]
    mended: tuple[str, ...]
    lost: tuple[str, ...]


def label(cell: Mapping[str, Any]) -> str:
    """A cell's label (nbgrader's grade id), or an empty text."""
    metadata = cell.get("metadata")
    ours = metadata.get("nbgrader") if isinstance(metadata, Mapping) else None
    found = ours.get("grade_id") if isinstance(ours, Mapping) else None
    return found if isinstance(found, str) else ""


def holds_answer(cell: Mapping[str, Any]) -> bool:
    """Whether a cell of the release is one that the student fills in."""
    return bool(label(cell)) and bool(cell["metadata"]["nbgrader"].get("solution"))


def is_check(cell: Mapping[str, Any]) -> bool:
    """Whether a cell of the release is a locked check that carries points."""
    if not label(cell):
        return False
    ours = cell["metadata"]["nbgrader"]
    return bool(ours.get("grade")) and not ours.get("solution")


def source_of(cell: Mapping[str, Any]) -> str:
    """A cell's text, whichever way its JSON spells it."""
    source = cell.get("source", "")
    if isinstance(source, list):
        source = "".join(part for part in source if isinstance(part, str))
    return source if isinstance(source, str) else ""


def harmless(text: str) -> str:
    """A student's text with HTML switched off: it is shown in the instructor's browser.

    >>> harmless("low < high <script>")
    'low < high &lt;script>'
    """
    return _TAG_START.sub("&lt;", text)


def repair(submitted: Mapping[str, Any], release: Mapping[str, Any]) -> Repaired:
    """Lay the answers of ``submitted`` into a copy of ``release``."""
    released = [cell for cell in release["cells"] if isinstance(cell, dict)]
    cells = submitted.get("cells")
    handed_in = (
        [cell for cell in cells if isinstance(cell, dict)] if isinstance(cells, list) else []
    )
    places, by_place = _places(released, handed_in)
    mended = _Mended()
    if by_place:
        mended.say("the label of {} was lost, found by its place", by_place)
    rebuilt: list[list[Cell]] = []
    lost = []
    for index, cell in enumerate(released):
        fresh: Cell = {**copy.deepcopy(dict(cell)), "source": source_of(cell)}
        found = places[index]
        if holds_answer(cell):
            chosen = _chosen(found, handed_in, cell, _check_place(index, released, places))
            if chosen is None:
                lost.append(label(cell))
            else:
                _lay_in(fresh, handed_in[chosen])
                places[index] = [chosen]
                if len(found) > 1:
                    mended.say("{} was there more than once", [label(cell)])
                if handed_in[chosen].get("cell_type") != cell.get("cell_type"):
                    mended.say("the type of {} was put back", [label(cell)])
        elif is_check(cell):
            _say_of_check(cell, [handed_in[place] for place in found], mended)
        rebuilt.append([fresh])
    if lost:
        mended.say("answer {} was not found", lost)
    _keep_extras(rebuilt, places, handed_in, mended)
    return Repaired([cell for group in rebuilt for cell in group], mended.sentences(), tuple(lost))


class _Mended:
    """Collects what was mended, one sentence a kind."""

    def __init__(self) -> None:
        self._by_kind: dict[str, list[str]] = {}

    def say(self, kind: str, names: Sequence[str]) -> None:
        self._by_kind.setdefault(kind, []).extend(names)

    def sentences(self) -> tuple[str, ...]:
        return tuple(kind.format(", ".join(names)) for kind, names in self._by_kind.items())


def _places(released: list[Cell], handed_in: list[Cell]) -> tuple[list[list[int]], list[str]]:
    """Where each released cell stands in the submission, and the answers found by place alone."""
    by_label: dict[str, list[int]] = {}
    by_id: dict[str, int] = {}
    by_source: dict[str, list[int]] = {}
    for place, cell in enumerate(handed_in):
        if label(cell):
            by_label.setdefault(label(cell), []).append(place)
        if isinstance(cell.get("id"), str):
            by_id.setdefault(cell["id"], place)
        by_source.setdefault(source_of(cell), []).append(place)
    places: list[list[int]] = []
    unlabelled = []
    for cell in released:
        found = by_label.get(label(cell), [])
        if not found and cell.get("id") in by_id:
            candidate = by_id[cell["id"]]
            found = [] if label(handed_in[candidate]) else [candidate]
            unlabelled += [label(cell)] if found and holds_answer(cell) else []
        if not found and not holds_answer(cell):
            found = by_source.get(source_of(cell), [])[:1]
        places.append(list(found))
    taken = {place for found in places for place in found}
    for index, cell in enumerate(released):
        if holds_answer(cell) and not places[index]:
            found = _by_neighbours(index, released, places, handed_in, taken)
            places[index] = found
            taken.update(found)
            unlabelled += [label(cell)] if found else []
    return places, unlabelled


def _by_neighbours(
    index: int,
    released: list[Cell],
    places: list[list[int]],
    handed_in: list[Cell],
    taken: set[int],
) -> list[int]:
    """The unlabelled cells between the neighbours of a missing answer that could be it."""
    before = [place for found in places[:index] for place in found]
    after = [place for found in places[index + 1 :] for place in found]
    start = max(before, default=-1) + 1
    stop = min((place for place in after if place >= start), default=len(handed_in))
    wanted = _answer_names(source_of(released[index]))
    free = [
        place
        for place in range(start, stop)
        if place not in taken and source_of(handed_in[place]).strip()
    ]
    if released[index].get("cell_type") == "code":
        free = [place for place in free if wanted & _answer_names(source_of(handed_in[place]))]
    return free[:1]


def _answer_names(source: str) -> set[str]:
    reading = read_cell(source)
    return set(reading.values) | set(reading.unread)


def _check_place(index: int, released: list[Cell], places: list[list[int]]) -> int | None:
    """Where the check of an answer stands in the submission, if it follows the answer at once."""
    after = index + 1
    if after < len(released) and is_check(released[after]) and places[after]:
        return places[after][-1]
    return None


def _chosen(
    found: list[int], handed_in: list[Cell], released: Cell, check: int | None
) -> int | None:
    """Of several copies the filled-in one; of several filled-in ones the last above the check."""
    if not found:
        return None
    stub = source_of(released).strip()
    filled = [place for place in found if source_of(handed_in[place]).strip() != stub] or found
    above = [place for place in filled if check is None or place < check]
    return (above or filled)[-1]


def _lay_in(fresh: Cell, cell: Cell) -> None:
    source = source_of(cell)
    fresh["source"] = harmless(source) if fresh.get("cell_type") == "markdown" else source


def _say_of_check(released: Cell, found: list[Cell], mended: _Mended) -> None:
    name = label(released)
    if not found:
        mended.say("{} was missing, put back", [name])
        return
    if len(found) > 1:
        mended.say("{} was there more than once", [name])
    if any(source_of(cell).strip() != source_of(released).strip() for cell in found) or any(
        cell.get("cell_type") != released.get("cell_type") for cell in found
    ):
        mended.say("{} was changed, put back", [name])


def _keep_extras(
    rebuilt: list[list[Cell]], places: list[list[int]], handed_in: list[Cell], mended: _Mended
) -> None:
    """Add the student's own cells after the released cell that they followed."""
    owner = {place: index for index, found in enumerate(places) for place in found}
    current = 0
    chars = 0
    left_out = 0
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
        rebuilt[current].append(_extra(f"added-{place}", cell.get("cell_type") == "code", source))
    if left_out:
        mended.say("{} cells of the student's own were too long to keep", [str(left_out)])


def _extra(cell_id: str, code: bool, source: str) -> Cell:
    if code:
        return {"cell_type": "code", "id": cell_id, "metadata": {}, "source": source,
                "outputs": [], "execution_count": None}  # fmt: skip
    return {"cell_type": "markdown", "id": cell_id, "metadata": {}, "source": harmless(source)}
