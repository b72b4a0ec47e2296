"""Every check of the house rules fails on a bad sample, for the reason it should."""

import json
import shutil
from pathlib import Path

import house
import pytest

FLOORS = (
    "reference", "evidence", "bench", "reconciliation", "marking", "classroom", "panels",
)  # fmt: skip


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """A copy of the library's floors, to spoil."""
    package = tmp_path / "lengthwise"
    for floor in FLOORS:
        (package / floor).mkdir(parents=True)
        (package / floor / "__init__.py").write_text("")
    (package / "__init__.py").write_text("")
    return package


def test_a_sound_package_keeps_the_contracts(package: Path) -> None:
    (package / "marking" / "marks.py").write_text("import lengthwise.reconciliation\n")
    (package / "classroom" / "steps.py").write_text("import nbgrader\n")
    (package / "panels" / "slider.py").write_text("import ipywidgets\n")
    outcome = house.contracts(package.parent)
    assert outcome.passed, outcome.words


@pytest.mark.parametrize(
    ("floor", "imported", "contract"),
    [
        ("evidence", "lengthwise.marking", "floors below its own BROKEN"),
        ("classroom", "lengthwise.panels", "floors below its own BROKEN"),
        ("reconciliation", "lengthwise.bench", "never sees the simulated patient BROKEN"),
        ("evidence", "lengthwise.bench", "never sees the simulated patient BROKEN"),
        ("marking", "nbgrader", "knows nbgrader BROKEN"),
        ("classroom", "ipywidgets", "Only panels know widgets BROKEN"),
        ("marking", "matplotlib.pyplot", "Nothing below the panels draws"),
    ],
)
def test_a_forbidden_import_breaks_its_contract(
    package: Path, floor: str, imported: str, contract: str
) -> None:
    (package / floor / "wrong.py").write_text(f"import {imported}\n")
    outcome = house.contracts(package.parent)
    assert not outcome.passed
    assert contract in outcome.words


def test_two_modules_that_import_each_other_break_the_contract(package: Path) -> None:
    (package / "marking" / "marks.py").write_text("from . import words\n")
    (package / "marking" / "words.py").write_text("from . import marks\n")
    outcome = house.contracts(package.parent)
    assert not outcome.passed
    assert "import each other in a circle BROKEN" in outcome.words


def test_a_package_that_stands_on_no_floor_is_found(package: Path) -> None:
    (package / "cellar").mkdir()
    (package / "cellar" / "__init__.py").write_text("")
    outcome = house.contracts(package.parent)
    assert not outcome.passed
    assert "lengthwise.cellar" in outcome.words


def test_an_import_through_the_front_of_the_package_is_found(package: Path) -> None:
    (package / "marking" / "marks.py").write_text("from lengthwise import reconcile\n")
    (package / "marking" / "place.py").write_text(
        "import lengthwise\n\nX = lengthwise.__file__\nY = lengthwise.reconcile\n"
    )
    assert house.root_imports(package) == ["marking/marks.py:1", "marking/place.py:4"]


def test_an_untyped_function_fails_the_type_check(tmp_path: Path) -> None:
    sample = tmp_path / "sample.py"
    sample.write_text("def half(length_mm):\n    return length_mm / 2\n")
    outcome = house.types(sample, cache=tmp_path / "cache")
    assert not outcome.passed
    assert "no-untyped-def" in outcome.words


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("import os\n", "F401"),
        ("print('hello')\n", "T201"),
        ("import numpy as np\n\nnp.random.seed(1)\n", "NPY002"),
        ("X = '" + "x" * 100 + "'\n", "E501"),
    ],
)
def test_a_careless_line_fails_the_linter(tmp_path: Path, line: str, rule: str) -> None:
    sample = tmp_path / "sample.py"
    sample.write_text('"""A sample."""\n\n' + line)
    outcome = house.lint(sample)
    assert not outcome.passed
    assert rule in outcome.words


def test_a_careless_layout_fails_the_formatter(tmp_path: Path) -> None:
    sample = tmp_path / "sample.py"
    sample.write_text("x = {  'a':1 }\n")
    assert not house.layout(sample).passed


def test_a_wrong_example_in_a_docstring_fails(tmp_path: Path) -> None:
    sample = tmp_path / "sample.py"
    sample.write_text(
        'def two() -> int:\n    """Two.\n\n    >>> two()\n    3\n    """\n    return 2\n'
    )
    outcome = house.doctests(sample)
    assert not outcome.passed
    assert "Expected" in outcome.words
    sample.write_text(sample.read_text().replace("3", "2"))
    outcome = house.doctests(sample)
    assert outcome.passed, outcome.words


def notebook(*, source: str = "# Title", output: dict[str, object] | None, tags: list[str]) -> str:
    """A notebook of one Markdown cell and one code cell."""
    outputs = [] if output is None else [output]
    code = {
        "cell_type": "code", "id": "b", "execution_count": None, "source": ["1 + 1"],
        "metadata": {"tags": tags}, "outputs": outputs,
    }  # fmt: skip
    words = {"cell_type": "markdown", "id": "a", "metadata": {}, "source": [source]}
    return json.dumps({"cells": [words, code], "metadata": {}, "nbformat": 4, "nbformat_minor": 5})


TEXT = {
    "output_type": "execute_result", "execution_count": None, "metadata": {},
    "data": {"text/plain": ["2"]},
}  # fmt: skip
PICTURE = {"output_type": "display_data", "metadata": {}, "data": {"image/png": "iVBORw0KGgo="}}
WRITTEN_PICTURE = {
    "output_type": "display_data", "metadata": {},
    "data": {"text/html": ["<img alt='x' src='data:image/png;base64,iVBO'>"]},
}  # fmt: skip


def test_an_output_left_in_a_notebook_is_found_unless_its_cell_says_keep(tmp_path: Path) -> None:
    sample = tmp_path / "sample.ipynb"
    sample.write_text(notebook(output=TEXT, tags=[]))
    assert not house.stripped(sample).passed
    sample.write_text(notebook(output=TEXT, tags=["keep_output"]))
    outcome = house.stripped(sample)
    assert outcome.passed, outcome.words


@pytest.mark.parametrize("output", [PICTURE, WRITTEN_PICTURE])
def test_a_stored_picture_is_found_even_where_outputs_are_kept(output: dict[str, object]) -> None:
    problems = house.notebook_problems(notebook(output=output, tags=["keep_output"]))
    assert problems == ["cell 2 stores a picture"]


@pytest.mark.parametrize(
    ("source", "problem"),
    [
        ("no title", "0 headings of the first rank where there should be one"),
        ("# One\n\n# Two", "2 headings of the first rank where there should be one"),
        ("# One\n\n### Three", "a heading rank is skipped"),
        ("# One\n\n![](tooth.png)", "cell 1 shows a picture without a text for it"),
        ('# One\n\n<img src="tooth.png">', "cell 1 shows a picture without a text for it"),
    ],
)
def test_a_notebook_hard_to_read_aloud_is_found(source: str, problem: str) -> None:
    assert house.notebook_problems(notebook(source=source, output=None, tags=[])) == [problem]


def test_a_sound_notebook_has_no_problems() -> None:
    source = "# One\n\n## Two\n\n![a tooth beside a ruler](tooth.png)\n\n```\n# not a heading\n```"
    assert house.notebook_problems(notebook(source=source, output=TEXT, tags=[])) == []


def test_a_module_of_301_lines_is_found(tmp_path: Path) -> None:
    (tmp_path / "long.py").write_text("x = 1\n" * 301)
    (tmp_path / "fits.py").write_text("x = 1\n" * 300)
    assert house.long_modules(tmp_path) == ["long.py: 301 lines"]


def test_a_heavy_import_is_found(tmp_path: Path) -> None:
    (tmp_path / "weighty.py").write_text("import rich\n")
    assert house.heavy_after("import weighty", path=tmp_path) == ["rich"]


@pytest.mark.parametrize("folder", ["root", "home", "Users"])
def test_a_path_of_one_machine_is_found(tmp_path: Path, folder: str) -> None:
    sample = tmp_path / "notes.md"
    sample.write_text(f"fine: course/lessons and https://example.org/home/x\nsee /{folder}/ann/x\n")
    assert house.machine_paths([sample]) == [f"notes.md:2: see /{folder}/ann/x"]


def test_a_stray_file_at_the_top_is_found() -> None:
    assert house.strange_entries(["course", ".ruff.toml", "notes.txt"]) == ["notes.txt"]


@pytest.mark.parametrize(
    "name", ["lengthwise/items/a6.csv", "lengthwise/secret", "lengthwise/answers/a6.json",
             "lengthwise/solution.ipynb", "lengthwise/gradebook.db"],
)  # fmt: skip
def test_a_key_in_a_built_package_is_found(name: str) -> None:
    carried = ["lengthwise/marking/items.py", "lengthwise/_datasets/teeth.csv"]
    assert house.strange_members([*carried, name]) == [name]


@pytest.mark.parametrize(
    "line",
    ["numpy>=2", "numpy", "--index-url https://example.org/simple", "numpy @ file:///tmp/numpy.whl",
     "numpy==2.0 --hash=sha256:00"],
)  # fmt: skip
def test_a_loose_line_in_the_lock_is_found(line: str) -> None:
    assert house.loose_lines(f"# made by a command\nscipy==1.17.1\n{line}\n") == [line]


def test_git_must_answer_before_files_are_judged(tmp_path: Path) -> None:
    shutil.rmtree(tmp_path / ".git", ignore_errors=True)
    with pytest.raises(RuntimeError, match="not a git repository"):
        house.project_files(tmp_path)
