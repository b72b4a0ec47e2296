"""The matrix of the instructor's guide: what simulated students believe, against what is named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from simulated_students import BELIEFS, Outcome

GUIDE = "instructor_guide/misconceptions.md"
NONE = "none"
NAMED = (*BELIEFS, NONE)
BEGINS, ENDS = "<!-- matrix begins -->", "<!-- matrix ends -->"

Matrix = dict[str, dict[str, float]]
"""Share of the students of a kind who are told a belief; who is told two counts in both."""


def matrix_of(outcomes: Mapping[str, Sequence[Outcome]]) -> Matrix:
    """The matrix of what came out."""
    return {
        kind: {name: float(np.mean([_is_told(one, name) for one in many])) for name in NAMED}
        for kind, many in outcomes.items()
    }


def _is_told(outcome: Outcome, name: str) -> bool:
    return not outcome.named if name == NONE else name in outcome.named


def as_markdown(matrix: Matrix) -> str:
    """A table in per cent; a dot is none at all."""
    lines = [f"| believes | {' | '.join(NAMED)} |", f"|---|{'---|' * len(NAMED)}"]
    for kind, row in matrix.items():
        cells = [
            f"{100 * row[name]:.1f}".removesuffix(".0") if row[name] else "·" for name in NAMED
        ]
        lines.append(f"| {kind} | {' | '.join(cells)} |")
    return "\n".join([BEGINS, *lines, ENDS])


def matrix_in(guide: str) -> Matrix:
    """The matrix that stands in the guide."""
    table = guide.split(BEGINS)[1].split(ENDS)[0].strip().splitlines()[2:]
    matrix = {}
    for line in table:
        kind, *cells = (cell.strip() for cell in line.strip("|").split("|"))
        shares = [0.0 if cell == "·" else float(cell) / 100 for cell in cells]
        matrix[kind] = dict(zip(NAMED, shares, strict=True))
    return matrix


def with_matrix(guide: str, table: str) -> str:
    """The guide with this table in place of the old one."""
    before, rest = guide.split(BEGINS)
    return before + table + rest.split(ENDS)[1]
