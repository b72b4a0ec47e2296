"""Read a student's answer cell without running it.

An answer cell holds lines such as ``foramen_mm = 25.5``. It is parsed with `ast` and only values
are read: numbers, words, lists, + - * / on numbers, and names given a value above in the same
cell. Whatever else stands there is never run; the answer counts as unanswered, with a reason
in plain words. Where a cell is not Python at all (``foramen_mm = 25.5 mm``), its lines are read
one by one, so that one slip does not take the other answers with it.
"""

from __future__ import annotations

import ast
import math
import re
import textwrap
import warnings
from dataclasses import dataclass, field

from lengthwise.classroom.answer_form import BareWord, tidy_typed_number

MAX_CELL_CHARS = 10_000
MAX_DEPTH = 20

_ASSIGNED = re.compile(r"([A-Za-z_]\w*)\s*=(?!=)\s*(.*)")
_CURLY_QUOTED = re.compile(r"[‘’‚“”„«»'\"]([^‘’‚“”„«»'\"]*)[‘’‚“”„«»'\"]")
_TYPE_VALUE = "type the value itself"


@dataclass
class CellReading:
    """What one cell says: ``values`` by name, and for the names that cannot be read, why.

    ``mended`` says by name what was read although it was not written quite right.
    """

    values: dict[str, object] = field(default_factory=dict)
    unread: dict[str, str] = field(default_factory=dict)
    mended: dict[str, str] = field(default_factory=dict)


class _CannotReadError(Exception):
    """Inside this module only: why an expression is not read."""


def read_cell(source: str) -> CellReading:
    r"""Read the answers of one cell. Never raises, never runs anything.

    Tuples stay tuples (``25,5`` is one), so that the form rules can mend them; a single word
    without quotes becomes a `BareWord`.

    >>> reading = read_cell("high_mm = 25 + 0.5\nfilm = len('x')\nlow_mm = film")
    >>> reading.values
    {'high_mm': 25.5}
    >>> reading.unread["film"]
    'it holds a piece of program; answers are read, not run, so type the value itself'
    """
    reading = CellReading()
    if len(source) > MAX_CELL_CHARS:
        _refuse_all(
            reading, source[:MAX_CELL_CHARS], f"the cell is longer than {MAX_CELL_CHARS} characters"
        )
        return reading
    source = textwrap.dedent(source)
    tree = _parsed(source)
    if tree is not None:
        for statement in tree.body:
            _read_statement(statement, reading)
    else:
        for line in source.splitlines():
            _read_line(line, reading)
    return reading


def _parsed(source: str) -> ast.Module | None:
    """The syntax tree, or None where the text is not Python or is too tangled to parse."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return ast.parse(source)
        except (SyntaxError, ValueError, RecursionError, MemoryError):
            return None


def _refuse_all(reading: CellReading, source: str, reason: str) -> None:
    for name in re.findall(r"^\s*([A-Za-z_]\w*)\s*=(?!=)", source, re.MULTILINE):
        _refuse(reading, name, reason)


def _read_line(line: str, reading: CellReading) -> None:
    """Read one line of a cell that does not parse as a whole."""
    tree = _parsed(line)
    if tree is not None:
        for statement in tree.body:
            _read_statement(statement, reading)
        return
    found = _ASSIGNED.match(line.lstrip())
    if found is None:
        return
    name, typed = found.group(1), found.group(2).split("#")[0].strip()
    number = tidy_typed_number(name, typed)
    quoted = _CURLY_QUOTED.fullmatch(typed)
    if line[:1].isspace():
        _refuse(reading, name, "the line is set in from the left, so it is not read")
    elif number.value is not None:
        _keep(reading, name, number.value)
        reading.mended[name] = number.mended
    elif quoted is not None:
        _keep(reading, name, quoted.group(1))
        reading.mended[name] = f'{name}: curly quotes were read as straight ones (use ")'
    else:
        _refuse(reading, name, f"this line cannot be read ({_short(line)}); {_TYPE_VALUE}")


def _read_statement(statement: ast.stmt, reading: CellReading) -> None:
    if isinstance(statement, ast.Assign) and all(
        isinstance(target, ast.Name) for target in statement.targets
    ):
        names = [target.id for target in statement.targets if isinstance(target, ast.Name)]
        _assign(names, statement.value, reading)
    elif (
        isinstance(statement, ast.AnnAssign)
        and isinstance(statement.target, ast.Name)
        and statement.value is not None
    ):
        _assign([statement.target.id], statement.value, reading)
    else:
        for name in _names_bound_in(statement):
            _refuse(
                reading,
                name,
                "it gets its value from a piece of program; "
                f"answers are read, not run, so {_TYPE_VALUE}",
            )


def _assign(names: list[str], expression: ast.expr, reading: CellReading) -> None:
    try:
        value = _value(expression, reading, 0, whole=True)
    except _CannotReadError as reason:
        for name in names:
            _refuse(reading, name, str(reason))
    else:
        for name in names:
            _keep(reading, name, value)
    for name in _names_bound_in(expression):  # the := form gives a name a value on the way
        _refuse(reading, name, f"it gets its value inside a calculation; {_TYPE_VALUE}")


def _keep(reading: CellReading, name: str, value: object) -> None:
    reading.unread.pop(name, None)
    reading.mended.pop(name, None)
    reading.values[name] = value


def _refuse(reading: CellReading, name: str, reason: str) -> None:
    """The last thing said about a name counts, as in Python: an earlier value is not used."""
    reading.values.pop(name, None)
    reading.mended.pop(name, None)
    reading.unread[name] = reason


def _names_bound_in(node: ast.AST) -> list[str]:
    names = []
    for part in ast.walk(node):
        if isinstance(part, ast.Name) and not isinstance(part.ctx, ast.Load):
            names.append(part.id)
        elif isinstance(part, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
            names.append(part.name)
        elif isinstance(part, ast.alias):
            names.append((part.asname or part.name).split(".")[0])
        elif isinstance(part, (ast.ExceptHandler, ast.MatchAs, ast.MatchStar)) and part.name:
            names.append(part.name)
        elif isinstance(part, ast.MatchMapping) and part.rest:
            names.append(part.rest)
    return names


def _value(node: ast.expr, reading: CellReading, depth: int, *, whole: bool = False) -> object:
    """The value of an expression; ``whole`` marks the right-hand side itself."""
    if depth >= MAX_DEPTH:
        raise _CannotReadError(f"it is nested more than {MAX_DEPTH} deep; {_TYPE_VALUE}")
    if isinstance(node, ast.Constant):
        return _constant(node.value)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.USub, ast.UAdd)):
        operand = _number(node.operand, reading, depth)
        return -operand if isinstance(node.op, ast.USub) else operand
    if isinstance(node, ast.BinOp):
        return _calculated(node, reading, depth)
    if isinstance(node, ast.List):
        return [_value(part, reading, depth + 1) for part in node.elts]
    if isinstance(node, ast.Tuple):
        return _typed_tuple(node, reading, depth)
    if isinstance(node, ast.Name):
        if node.id in reading.values:
            return reading.values[node.id]
        if node.id in reading.unread:
            raise _CannotReadError(f"it uses {node.id}, which could not be read")
        if whole:
            return BareWord(node.id)
        raise _CannotReadError(f"it uses {node.id}, which is given no value above in the same cell")
    if isinstance(node, ast.NamedExpr):
        raise _CannotReadError(f"it gives a name a value inside a calculation; {_TYPE_VALUE}")
    raise _CannotReadError(
        f"it holds a piece of program; answers are read, not run, so {_TYPE_VALUE}"
    )


def _constant(value: object) -> object:
    if value is None or value is Ellipsis or isinstance(value, str):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _finite(value)
    raise _CannotReadError(f"{_short(repr(value))} is neither a number nor a word")


def _typed_tuple(node: ast.Tuple, reading: CellReading, depth: int) -> tuple[object, ...]:
    """Only plain numbers: ``25,5`` is a slip for 25.5, but ``25,5 - 1`` could be anything."""
    parts = [
        part.operand
        if index == 0 and isinstance(part, ast.UnaryOp) and isinstance(part.op, ast.USub)
        else part
        for index, part in enumerate(node.elts)
    ]
    if not all(isinstance(part, ast.Constant) for part in parts):
        raise _CannotReadError("there is a comma in a calculation; write decimals with a point")
    return tuple(_value(part, reading, depth + 1) for part in node.elts)


def _calculated(node: ast.BinOp, reading: CellReading, depth: int) -> int | float:
    if not isinstance(node.op, (ast.Add, ast.Sub, ast.Mult, ast.Div)):
        raise _CannotReadError(f"only + - * / are read; {_TYPE_VALUE}")
    left = _number(node.left, reading, depth)
    right = _number(node.right, reading, depth)
    try:
        if isinstance(node.op, ast.Add):
            return _finite(left + right)
        if isinstance(node.op, ast.Sub):
            return _finite(left - right)
        if isinstance(node.op, ast.Mult):
            return _finite(left * right)
        return _finite(left / right)
    except ZeroDivisionError:
        raise _CannotReadError("it divides by zero") from None
    except OverflowError:
        raise _CannotReadError("the number is too large") from None


def _number(node: ast.expr, reading: CellReading, depth: int) -> int | float:
    value = _value(node, reading, depth + 1)
    if isinstance(value, (int, float)):
        return value
    if isinstance(value, tuple):
        raise _CannotReadError("there is a comma in a calculation; write decimals with a point")
    raise _CannotReadError("it calculates with something that is not a number")


def _finite(value: int | float) -> int | float:
    try:
        finite = math.isfinite(float(value))
    except OverflowError:
        finite = False
    if not finite:
        raise _CannotReadError("the number is too large")
    return value


def _short(text: str) -> str:
    text = text.strip()
    return text if len(text) <= 40 else text[:37] + "..."
