"""The hooks that run before a commit mend what is careless, and leave kept outputs alone."""

import json
import shutil
import sys
from pathlib import Path

import house
import pytest

CELL = {
    "cell_type": "code", "execution_count": None, "source": ["1 + 1"],
    "outputs": [{"output_type": "execute_result", "execution_count": None, "metadata": {},
                 "data": {"text/plain": ["2"]}}],
}  # fmt: skip


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A small repository with the project's own hooks and settings."""
    (tmp_path / "lib").mkdir()
    for name in (".pre-commit-config.yaml", ".ruff.toml", "lib/pyproject.toml"):
        shutil.copy(house.ROOT / name, tmp_path / name)
    (tmp_path / ".venv").symlink_to(sys.prefix)
    (tmp_path / ".gitignore").write_text(".venv\nhooks\n")
    assert house.run("git", "init", "-q", ".", cwd=tmp_path).passed
    return tmp_path


def run_hooks(repository: Path) -> house.Outcome:
    assert house.run("git", "add", ".", cwd=repository).passed
    return house.run(
        house.PROGRAMS / "pre-commit", "run", "--all-files",
        cwd=repository, PRE_COMMIT_HOME=str(repository / "hooks"),
    )  # fmt: skip


@pytest.mark.slow
def test_a_careless_commit_is_stopped_and_mended(repository: Path) -> None:
    cells = [
        {**CELL, "id": "kept", "metadata": {"tags": ["keep_output"]}},
        {**CELL, "id": "dropped", "metadata": {}},
    ]
    notebook = repository / "lesson.ipynb"
    notebook.write_text(
        json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5})
    )
    module = repository / "module.py"
    module.write_text('"""A module."""\nimport os\nx = {  1:2 }\n')

    first = run_hooks(repository)
    assert not first.passed
    left = {cell["id"]: len(cell["outputs"]) for cell in json.loads(notebook.read_text())["cells"]}
    assert left == {"kept": 1, "dropped": 0}
    assert module.read_text() == '"""A module."""\n\nx = {1: 2}\n'

    second = run_hooks(repository)
    assert second.passed, second.words
