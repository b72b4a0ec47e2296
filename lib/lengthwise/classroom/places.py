"""Where the cells of a release stand in the notebook that was handed in.

By their label, else by the cell's own id, else by their place. A place is an index into the cells
handed in; of every released cell there is a list, as a cell may be there more than once.
"""

from __future__ import annotations

from lengthwise.classroom.cells import Cell, holds_answer, is_check, label, source_of
from lengthwise.classroom.typed_beside import names_in


def places_of(released: list[Cell], handed_in: list[Cell]) -> tuple[list[list[int]], list[str]]:
    """Where each released cell stands in the submission, and the answers found by place alone.

    >>> ours = {"nbgrader": {"grade_id": "i1", "solution": True}}
    >>> stub = {"cell_type": "code", "metadata": ours, "source": "i1 = ..."}
    >>> words = {"cell_type": "markdown", "metadata": {}, "source": "Some words."}
    >>> places_of([words, stub], [words, {**stub, "metadata": {}, "source": "i1 = 'B'"}])
    ([[0], [1]], ['i1'])
    """
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
    wanted = names_in(source_of(released[index]))
    free = [
        place
        for place in range(start, stop)
        if place not in taken and source_of(handed_in[place]).strip()
    ]
    if released[index].get("cell_type") == "code":
        free = [place for place in free if wanted & names_in(source_of(handed_in[place]))]
    return free[:1]


def blocks_of(released: list[Cell], places: list[list[int]], many: int) -> list[int]:
    """For every cell handed in, the index of the answer whose question it stands in; else -1."""
    ends = []
    for index, cell in enumerate(released):
        if holds_answer(cell):
            after = index + 1 < len(released) and is_check(released[index + 1])
            ends.append((index + 1 if after else index, index))
    owner = {place: index for index, found in enumerate(places) for place in found}
    blocks = []
    current = 0
    for place in range(many):
        current = owner.get(place, current)
        blocks.append(next((answer for end, answer in ends if current <= end), -1))
    return blocks


def place_of_check(index: int, released: list[Cell], places: list[list[int]]) -> int | None:
    """Where the check of an answer stands in the submission, if it follows the answer at once."""
    after = index + 1
    if after < len(released) and is_check(released[after]) and places[after]:
        return places[after][-1]
    return None
