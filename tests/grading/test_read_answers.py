"""A student's answer cell is read, never run."""

from __future__ import annotations

import ast
import builtins
import math
from importlib import import_module
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from lengthwise.classroom.answer_form import BareWord, determination_form, tidy_number, tidy_word
from lengthwise.classroom.read_answers import MAX_CELL_CHARS, read_cell

WORDS = ("confirm", "film", "reading", "points", "dry", "ask", "longer")


@pytest.mark.parametrize(
    ("source", "value"),
    [
        ("a = 25.5", 25.5),
        ("a = -1", -1),
        ("a = +2", 2),
        ("a = 25 + 0.5", 25.5),
        ("a = (20 + 31) / 2", 25.5),
        ("b = 26\na = b - 0.5", 25.5),
        ("a = 1\na = 25.5", 25.5),
        ("a = c = 25.5", 25.5),
        ("a: float = 25.5", 25.5),
        ("    a = 25.5\n    b = 2", 25.5),
        ("a = 25.5  # from the film\n\n", 25.5),
        ("a = 25.5;", 25.5),
        ('a = "film"', "film"),
        ("a = [1, 2, 'x']", [1, 2, "x"]),
        ("a = ...", Ellipsis),
        ("a = None", None),
        ("a = 25,5", (25, 5)),
        ("a = film", BareWord("film")),
        ("a = 25.5 mm", 25.5),
        ("a = 25,05", 25.05),
        ("a = 24,75 mm  # film", 24.75),
        ("a = “film”", "film"),
        ("this is not Python\na = 25.5", 25.5),
        ("%matplotlib inline\na = 25.5", 25.5),
        ("print(open('x').read())\na = 25.5", 25.5),
        ("a = -0,5", "-0,5"),  # as numbers it would be 0 and 5: the sign would be lost
        ("a = −0.5", -0.5),
        ("a = 26 − 0.5", 25.5),
        ("a = ２５．５", 25.5),
        ("a = 25.5\u200b", 25.5),
        ("\ufeffa = 25.5", 25.5),
        ("a\u00a0= 25.5", 25.5),
        ("a&nbsp;= <b>25.5</b>", 25.5),
        ("a == 25.5", 25.5),
        ("a = = 25.5", 25.5),
        ("a: 25.5", 25.5),
        ("a =\n    25.5", 25.5),
        ("a = ...25.5", 25.5),
        ("a = …", Ellipsis),
        ("a =\nb = 3", Ellipsis),
        ("   a = 25.5\nb = 2", 25.5),
        ('a = "film', "film"),
        ("a = .5 mm", 0.5),
        ("a = 25.5\rb = 2", 25.5),
        ("a = 25.5\nso a is about 26", 25.5),
    ],
)
def test_an_answer_is_read_as_it_was_meant(source: str, value: object) -> None:
    reading = read_cell(source)
    assert reading.values["a"] == value
    assert "a" not in reading.unread


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ("a = open('x', 'w')", "piece of program"),
        ("a = 2 ** 3", "only + - * /"),
        ("a = 7 // 2", "only + - * /"),
        ("a = 7 % 2", "only + - * /"),
        ("a = x.y", "piece of program"),
        ("a = [1, 2][0]", "piece of program"),
        ("a = [i for i in (1, 2)]", "piece of program"),
        ("a = {'b': 1}", "piece of program"),
        ("a = lambda: 1", "piece of program"),
        ("a = 1 if b else 2", "piece of program"),
        ("a = f'{1}'", "piece of program"),
        ("a = 1 < 2", "piece of program"),
        ("a = (b := 3)", "inside a calculation"),
        ("a = b + 1", "no value above"),
        ("b = len('x')\na = b", "could not be read"),
        ("a = 1 / 0", "divides by zero"),
        ("a = 1e999", "too large"),
        ("a = 1e300 * 1e300", "too large"),
        ("a = 3j", "neither a number nor a word"),
        ("a = True", "neither a number nor a word"),
        ("a = b'x'", "neither a number nor a word"),
        ("a = 'x' * 3", "not a number"),
        ("a = 25,5 - 1", "comma in a calculation"),
        ("a = (25,5) - 1", "comma in a calculation"),
        ("a = " + "-" * 30 + "1", "deep"),
        ("a = " + "1+" * 30 + "1", "deep"),
        ("a = 1\na += 1", "piece of program"),
        ("a, b = 1, 2", "piece of program"),
        ("a = 1\nif True:\n    a = 2", "piece of program"),
        ("a = 1\nfor a in []:\n    pass", "piece of program"),
        ("a = 1\nimport os as a", "piece of program"),
        ("a = 1\ndef a(): pass", "piece of program"),
        ("a = 1\ndel a", "piece of program"),
        ("a = 1\ntry:\n    pass\nexcept Exception as a:\n    pass", "piece of program"),
        ("a = 1\nmatch 1:\n    case a:\n        pass", "piece of program"),
        ("a = 25 roughly", "cannot be read"),
        ("a 25.5", "cannot be read"),
        ("a = 2,55 cm", "cannot be read"),
        ("a = 25½", "cannot be read"),
        ("a = 25–26", "looks like a range"),
        ("a = 25 to 26", "looks like a range"),
        ("a = 25, 26", "more than one number"),
        ("a = [[1]]", "list inside a list"),
        ("a = not yet, film", "comma"),
        ("if True\n    a = 3", "set in from the left"),
        ("a = 1\n" + "#" * MAX_CELL_CHARS, "longer than"),
    ],
)
def test_what_cannot_be_read_is_unanswered_with_a_reason(source: str, says: str) -> None:
    reading = read_cell(source)
    assert "a" not in reading.values
    assert says in reading.unread["a"]


def test_a_subtraction_that_may_be_a_range_is_told() -> None:
    reading = read_cell("a = 25-26\nb = 26-25")
    assert reading.values == {"a": -1, "b": 1}
    assert reading.mended == {"a": "a: 25 - 26 is -1; if you meant a range, give one number"}


def test_lists_of_lists_do_not_outgrow_memory() -> None:
    grown = "\n".join(f"a{n + 1} = [{', '.join([f'a{n}'] * 10)}]" for n in range(12))
    reading = read_cell(f"a0 = 1\n{grown}")
    assert set(reading.values) == {"a0", "a1"}
    assert "list inside a list" in reading.unread["a2"]


def test_a_value_from_a_loop_never_falls_back_to_an_earlier_one() -> None:
    reading = read_cell("low_mm = 20\nwhile True:\n    low_mm = 25\n    break")
    assert "low_mm" not in reading.values


def test_nothing_in_a_cell_is_run(tmp_path: Path) -> None:
    target = tmp_path / "written"
    source = f"a = open({str(target)!r}, 'w').write('x')\nb = __import__('os').getcwd()"
    reading = read_cell(source)
    assert set(reading.unread) == {"a", "b"}
    assert not target.exists()


# What a reader of values may do, written as a grammar whose meaning Python itself can tell us.
numbers = st.one_of(
    st.integers(0, 10_000),
    st.floats(0, 1e4, allow_nan=False, allow_infinity=False),
)
sums = st.recursive(
    numbers.map(repr),
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from("+-*/"), inner).map(lambda t: f"({t[0]} {t[1]} {t[2]})"),
        inner.map(lambda t: f"-({t})"),
    ),
    max_leaves=8,
)


@given(sums)
def test_arithmetic_that_is_read_means_what_python_says(expression: str) -> None:
    reading = read_cell(f"a = {expression}")
    try:
        expected = eval(expression)  # the grammar above holds numbers and + - * / alone
    except ZeroDivisionError:
        assert "zero" in reading.unread["a"]
        return
    if "a" in reading.values:
        assert reading.values["a"] == expected
    else:
        assert not math.isfinite(expected) or "deep" in reading.unread["a"]


hostile = st.one_of(
    st.text(max_size=300),
    st.text(alphabet="ab=()[]{}+-*/.,:'\"\\ \n\t#%!@0123456789eE_x", max_size=300),
    st.lists(
        st.sampled_from(
            [
                "a = ",
                "...",
                "(",
                ")",
                "[",
                "25,5",
                "\n",
                " ",
                "if 1:",
                "lambda:",
                "mm",
                "exit()",
                "__import__('os').abort()",
                ":=",
                "'",
                '"""',
                "\\",
                "not ",
                "-",
                "for a in b:",
                ";",
            ]
        ),
        max_size=60,
    ).map("".join),
)


@settings(max_examples=400)
@given(hostile)
@example("a = " + "-" * 9_900 + "1")
@example("a = " + "(" * 4_000 + ")" * 4_000)
@example("a = " + "1+" * 4_000 + "1")
@example("a = " + "9" * 9_900)
@example("a = " + "2**" * 3_000 + "2")
@example("a = '\ud800'")
@example("a = 1\0")
@example("a = -\t5 mm")
@example("a = -\u20285 mm")
def test_reading_never_raises_and_never_calls(source: str) -> None:
    def called(*_: object, **__: object) -> None:
        raise AssertionError("something of the student's was run")

    kept = builtins.exec, builtins.eval, builtins.exit
    builtins.exec = builtins.eval = builtins.exit = called  # type: ignore[assignment]
    try:
        reading = read_cell(source)
    finally:
        builtins.exec, builtins.eval, builtins.exit = kept
    assert not set(reading.values) & set(reading.unread)
    for name, value in reading.values.items():
        tidy_number(name, value)
        tidy_word(name, value, WORDS)
    determination_form(reading.values, WORDS)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.just(Ellipsis),
        lambda inner: st.lists(inner, max_size=3) | st.tuples(inner, inner),
        max_leaves=5,
    )
)
def test_the_form_of_any_value_can_be_looked_at(value: object) -> None:
    form = determination_form(dict.fromkeys(("foramen_mm", "low_mm", "next_step"), value), WORDS)
    for length in (form.foramen_mm, form.low_mm):
        assert length is None or 5 <= length <= 45
    assert form.next_step is None or form.next_step in WORDS


@pytest.mark.parametrize(
    ("raw", "value", "mended"),
    [
        ((25, 5), 25.5, True),
        ("25.5 mm", 25.5, True),
        ("25,5", 25.5, True),
        ("25.5", 25.5, True),
        (25, 25.0, False),
        ("−0,5", -0.5, True),
        ("２５．５\u3000ｍｍ", 25.5, True),
        ("- 0.5", -0.5, True),
    ],
)
def test_a_slip_in_writing_a_number_is_mended_with_a_word(
    raw: object, value: float, mended: bool
) -> None:
    tidied = tidy_number("low_mm", raw)
    assert tidied.value == value
    assert bool(tidied.mended) is mended
    assert not tidied.problem


@pytest.mark.parametrize("raw", ["25-26", "25 – 26 mm", "25 or 26"])
def test_two_numbers_in_quotes_are_told_to_be_one(raw: str) -> None:
    assert "looks like a range" in tidy_number("low_mm", raw).problem


def test_low_has_to_be_before_high() -> None:
    form = determination_form({"low_mm": 26.0, "high_mm": 25.0}, WORDS)
    assert form.low_mm is None
    assert form.high_mm is None
    assert "smaller" in form.problems[0]


def test_255_for_25_5_is_noticed() -> None:
    form = determination_form({"foramen_mm": 255}, WORDS)
    assert form.foramen_mm is None
    assert "decimal point" in form.problems[0]


def test_a_missing_quote_and_a_capital_are_mended_in_the_next_step() -> None:
    assert tidy_word("next_step", BareWord("film"), WORDS).value == "film"
    assert tidy_word("next_step", BareWord("film"), WORDS).mended
    assert tidy_word("next_step", " Film ", WORDS).value == "film"
    assert "did you mean 'reading'" in tidy_word("next_step", "readin", WORDS).problem


def test_an_untouched_cell_is_blank_and_not_a_problem() -> None:
    source = "\n".join(f"{name} = ..." for name in ("foramen_mm", "low_mm", "next_step"))
    form = determination_form(read_cell(source).values, WORDS)
    assert form.blank
    assert not form.problems


def test_what_reads_answers_never_compiles_or_evaluates() -> None:
    """The reader's source, and all of ours that it imports, holds no call that could run a text."""
    names, seen = ["lengthwise.classroom.read_answers"], set()
    called: set[str] = set()
    while names:
        name = names.pop()
        seen.add(name)
        tree = ast.parse(Path(str(import_module(name).__file__)).read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                called.add(node.func.id)
            elif isinstance(node, ast.ImportFrom) and str(node.module).startswith("lengthwise."):
                names += {str(node.module)} - seen
    assert seen >= {f"lengthwise.classroom.{one}" for one in ("read_values", "answer_form")}
    assert not called & {"eval", "exec", "compile", "__import__", "literal_eval", "import_module"}
