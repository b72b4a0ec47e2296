"""Read a student's answer cell without running it.

An answer cell holds lines such as ``foramen_mm = 25.5``. It is parsed with `ast` and only values
are read: numbers, words, lists, + - * / on numbers, and names given a value above in the same
cell. Whatever else stands there is never run; the answer counts as unanswered, with a reason
in plain words. Where a cell is not Python at all (``foramen_mm = 25.5 mm``), its lines are read
one by one, so that one slip does not take the other answers with it.
"""

from __future__ import annotations

import ast
import re
import textwrap
import warnings
from dataclasses import dataclass, field

from lengthwise.classroom.answer_form import tidy_typed_number
from lengthwise.classroom.plain_text import QUOTES, is_long_dash_range, is_range, plain
from lengthwise.classroom.read_values import TYPE_VALUE, CannotReadError, short, value_of

MAX_CELL_CHARS = 10_000

_ASSIGNED = re.compile(r"([^\W\d]\w*)\s*(?:=\s*)+(.*)", re.DOTALL)
_FIRST_WORD = re.compile(r"\s*([^\W\d]\w*)\b(?!\s*\()")
_NOTHING_AFTER = re.compile(r"\s*[^\W\d]\w*\s*=\s*(?:#.*)?")
_BLOCK = re.compile(
    r"\s*(?:if|elif|else|for|while|with|try|except|finally|def|class|match|async|@)\b|\s*@"
)
_DOTS = re.compile(r"^(?:\.{3})+\s*|\s*(?:\.{3})+$")
_WORD = re.compile(r"[^\W\d]\w*")


@dataclass
class CellReading:
    """What one cell says: ``values`` by name, and for the names that cannot be read, why.

    ``mended`` says by name what was read although it was not written quite right.
    """

    values: dict[str, object] = field(default_factory=dict)
    unread: dict[str, str] = field(default_factory=dict)
    mended: dict[str, str] = field(default_factory=dict)


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
        return reading
    lines = _whole_lines(plain(source).splitlines(), source.splitlines())
    blocks = any(_BLOCK.match(line) for line, _ in lines)
    for line, typed in lines:
        _read_line(line, typed, reading, may_be_set_in=not blocks)
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


def _whole_lines(lines: list[str], typed: list[str]) -> list[tuple[str, str]]:
    """Lines in plain signs beside the lines as typed; a value on the next line joins its name."""
    if len(lines) != len(typed):  # a sign from elsewhere broke a line: then plain ones are all
        typed = lines
    whole: list[tuple[str, str]] = []
    for line, as_typed in zip(lines, typed, strict=True):
        waits = bool(whole) and _NOTHING_AFTER.fullmatch(whole[-1][0])
        if waits and line.strip() and not re.search(r"[=#]", line):
            name = whole[-1][0].split("=")[0]
            whole[-1] = (f"{name}= {line.strip()}", f"{name}= {as_typed.strip()}")
        elif line.strip():
            whole.append((line, as_typed))
    return whole


def _read_line(line: str, typed: str, reading: CellReading, *, may_be_set_in: bool) -> None:
    """Read one line, in plain signs and as typed, of a cell that does not parse as a whole."""
    found = _ASSIGNED.match(line.lstrip())
    if line[:1].isspace() and found is not None and not may_be_set_in:
        _refuse(reading, found[1], "the line is set in from the left, so it is not read")
        return
    said = typed.partition("=")[2].split("#")[0].strip()
    tree = None if is_long_dash_range(said) else _parsed(line.strip())
    if tree is not None:
        for statement in tree.body:
            _read_statement(statement, reading)
            for name in _names_bound_in(statement):
                if plain(said) != said and name in reading.values:
                    _mend(reading, name, f"{short(said)} was read with plain signs")
    elif found is None:
        first = _FIRST_WORD.match(line)
        if first is not None and first[1] not in reading.values:
            _refuse(reading, first[1], f"this line cannot be read ({short(line)}); {TYPE_VALUE}")
    else:
        _rescue(found[1], found[2].split("#")[0].strip(), line, reading)


def _rescue(name: str, typed: str, line: str, reading: CellReading) -> None:
    """Read what stands after an equals sign although it is no Python: 25.5 mm, a lost quote."""
    value = _DOTS.sub("", typed).strip()
    number = tidy_typed_number(name, value)
    word = value.strip(QUOTES + " ")
    if not value:
        _keep(reading, name, ...)
    elif is_range(value):
        _refuse(reading, name, f"{short(value)} looks like a range; give one number")
    elif number.value is not None:
        _keep(reading, name, number.value)
        reading.mended[name] = number.mended
    elif _WORD.fullmatch(word):
        _keep(reading, name, word)
        _mend(reading, name, f'{short(value)} was read as "{word}" (straight quotes around it)')
    else:
        _refuse(reading, name, f"this line cannot be read ({short(line)}); {TYPE_VALUE}")


def _read_statement(statement: ast.stmt, reading: CellReading) -> None:
    if isinstance(statement, ast.Assign) and all(
        isinstance(target, ast.Name) for target in statement.targets
    ):
        names = [target.id for target in statement.targets if isinstance(target, ast.Name)]
        _assign(names, statement.value, reading)
    elif isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
        name = statement.target.id
        _assign([name], statement.value or statement.annotation, reading)
        if statement.value is None and name in reading.values:
            _mend(reading, name, "a colon was read as an equals sign")
    elif isinstance(statement, ast.Expr) and (compared := _compared(statement.value)) is not None:
        name, value = compared
        _assign([name], value, reading)
        if name in reading.values:
            _mend(reading, name, "two equals signs were read as one")
    else:
        for name in _names_bound_in(statement):
            _refuse(
                reading,
                name,
                "it gets its value from a piece of program; "
                f"answers are read, not run, so {TYPE_VALUE}",
            )


def _compared(expression: ast.expr) -> tuple[str, ast.expr] | None:
    """Name and value of ``foramen_mm == 25.5`` standing alone, which can only be a slip."""
    if (
        isinstance(expression, ast.Compare)
        and isinstance(expression.left, ast.Name)
        and [type(op) for op in expression.ops] == [ast.Eq]
    ):
        return expression.left.id, expression.comparators[0]
    return None


def _assign(names: list[str], expression: ast.expr, reading: CellReading) -> None:
    try:
        value = value_of(expression, reading)
    except CannotReadError as reason:
        for name in names:
            _refuse(reading, name, str(reason))
    else:
        for name in names:
            _keep(reading, name, value)
            if isinstance(value, (int, float)) and value < 0 and _is_subtraction(expression):
                typed = ast.unparse(expression)
                _mend(reading, name, f"{typed} is {value:g}; if you meant a range, give one number")
    for name in _names_bound_in(expression):  # the := form gives a name a value on the way
        _refuse(reading, name, f"it gets its value inside a calculation; {TYPE_VALUE}")


def _is_subtraction(expression: ast.expr) -> bool:
    return (
        isinstance(expression, ast.BinOp)
        and isinstance(expression.op, ast.Sub)
        and isinstance(expression.left, ast.Constant)
        and isinstance(expression.right, ast.Constant)
    )


def _mend(reading: CellReading, name: str, how: str) -> None:
    reading.mended[name] = f"{name}: {how}"


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
