"""The value of an expression that a student typed, worked out from its syntax tree alone.

Numbers, words, lists, + - * / on numbers, and names that were given a value above. Everything else
is refused with a reason in plain words; nothing is ever run.
"""

from __future__ import annotations

import ast
import math
from itertools import pairwise
from typing import Protocol

from lengthwise.classroom.answer_form import BareWord

MAX_DEPTH = 20
TYPE_VALUE = "type the value itself"
_COMMA = "there is a comma in a calculation or a list; write decimals with a point"


class CannotReadError(Exception):
    """Why an expression is not read, in plain words."""


class Known(Protocol):
    """What the lines above have said: values by name, and why other names could not be read."""

    values: dict[str, object]
    unread: dict[str, str]


def value_of(node: ast.expr, known: Known) -> object:
    """The value of a right-hand side; raises `CannotReadError` with the reason.

    Tuples stay what was typed (``25,5``), so that the form rules can mend them; a single word
    without quotes is a `BareWord`.
    """
    if isinstance(node, ast.Tuple):
        return _typed_commas(node)
    if isinstance(node, ast.Name) and node.id not in {*known.values, *known.unread}:
        return BareWord(node.id)
    return _value(node, known, 0)


def _value(node: ast.expr, known: Known, depth: int) -> object:
    if depth >= MAX_DEPTH:
        raise CannotReadError(f"it is nested more than {MAX_DEPTH} deep; {TYPE_VALUE}")
    if isinstance(node, ast.Constant):
        return _constant(node.value)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.UAdd)):
        operand = _number(node.operand, known, depth)
        return -operand if isinstance(node.op, ast.USub) else operand
    if isinstance(node, ast.BinOp):
        return _calculated(node, known, depth)
    if isinstance(node, ast.List):
        return _listed([_value(part, known, depth + 1) for part in node.elts])
    if isinstance(node, ast.Tuple):
        raise CannotReadError(_COMMA)
    if isinstance(node, ast.Name):
        return _said_above(node.id, known)
    if isinstance(node, ast.NamedExpr):
        raise CannotReadError(f"it gives a name a value inside a calculation; {TYPE_VALUE}")
    raise CannotReadError(
        f"it holds a piece of program; answers are read, not run, so {TYPE_VALUE}"
    )


def _said_above(name: str, known: Known) -> object:
    if name in known.unread:
        raise CannotReadError(f"it uses {name}, which could not be read")
    if name not in known.values:
        raise CannotReadError(f"it uses {name}, which is given no value above in the same cell")
    return known.values[name]


def _listed(values: list[object]) -> list[object]:
    """A list of plain values: lists of lists of lists would outgrow any memory when shown."""
    if any(isinstance(value, (list, tuple)) for value in values):
        raise CannotReadError(f"there is a list inside a list; {TYPE_VALUE}")
    return values


def _constant(value: object) -> object:
    if value is None or value is Ellipsis or isinstance(value, str):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _finite(value)
    raise CannotReadError(f"{short(repr(value))} is neither a number nor a word")


def _typed_commas(node: ast.Tuple) -> tuple[object, ...] | str:
    """What was typed with commas: ``25,5`` is a slip for 25.5, but ``25,5 - 1`` could be anything.

    Only plain numbers are read. ``-0,5`` is returned as text: as numbers it would be 0 and 5.
    """
    first = node.elts[0] if node.elts else None
    minus = isinstance(first, ast.UnaryOp) and isinstance(first.op, ast.USub)
    parts = [first.operand, *node.elts[1:]] if isinstance(first, ast.UnaryOp) else node.elts
    values = [_constant(part.value) for part in parts if isinstance(part, ast.Constant)]
    if len(values) < len(node.elts):
        raise CannotReadError(_COMMA)
    if any(part.end_col_offset + 1 < after.col_offset for part, after in pairwise(node.elts)):  # type: ignore[operator]
        raise CannotReadError(
            f"there is more than one number ({', '.join(map(str, values))}); give one, with a "
            "point for its decimals"
        )
    typed = ",".join(map(str, values))
    return f"-{typed}" if minus else tuple(values)


def _calculated(node: ast.BinOp, known: Known, depth: int) -> int | float:
    if not isinstance(node.op, (ast.Add, ast.Sub, ast.Mult, ast.Div)):
        raise CannotReadError(f"only + - * / are read; {TYPE_VALUE}")
    left = _number(node.left, known, depth)
    right = _number(node.right, known, depth)
    try:
        if isinstance(node.op, ast.Add):
            return _finite(left + right)
        if isinstance(node.op, ast.Sub):
            return _finite(left - right)
        if isinstance(node.op, ast.Mult):
            return _finite(left * right)
        return _finite(left / right)
    except ZeroDivisionError:
        raise CannotReadError("it divides by zero") from None
    except OverflowError:
        raise CannotReadError("the number is too large") from None


def _number(node: ast.expr, known: Known, depth: int) -> int | float:
    value = _value(node, known, depth + 1)
    if isinstance(value, (int, float)):
        return value
    if isinstance(value, (tuple, list)):
        raise CannotReadError(_COMMA)
    raise CannotReadError("it calculates with something that is not a number")


def _finite(value: int | float) -> int | float:
    try:
        finite = math.isfinite(float(value))
    except OverflowError:
        finite = False
    if not finite:
        raise CannotReadError("the number is too large")
    return value


def short(text: str) -> str:
    """The text, cut where it would be too long for a sentence."""
    text = text.strip()
    return text if len(text) <= 40 else text[:37] + "..."
