"""Every lesson runs, says what its notebook stores, and hides no failure inside a widget."""

from __future__ import annotations

import copy
import re
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from store_outputs import stored_again

ROOT = Path(__file__).resolve().parents[2]
LESSONS = sorted((ROOT / "course" / "lessons").glob("*.ipynb"))
WIDGETS = "application/vnd.jupyter.widget-state+json"

pytestmark = pytest.mark.slow

Notebook = nbformat.NotebookNode


def with_counts(notebook: Notebook) -> Notebook:
    """A copy with its cells numbered: nbval takes stored outputs of unnumbered cells for strays."""
    numbered = copy.deepcopy(notebook)
    code = [cell for cell in numbered.cells if cell.cell_type == "code"]
    for count, cell in enumerate(code, start=1):
        cell.execution_count = count
        for output in cell.outputs:
            if output.output_type == "execute_result":
                output.execution_count = count
    return numbered


def compared(lesson: Path, notebook: Notebook, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run nbval on a notebook beside copies of the lesson's own files."""
    for file in lesson.parent.glob(f"{lesson.stem}.*"):
        shutil.copy(file, folder)
    nbformat.write(with_counts(notebook), folder / lesson.name)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
    return subprocess.run(
        [*command, "--nbval-lax", "--rootdir", str(folder), str(folder / lesson.name)],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_says_what_its_notebook_stores(lesson: Path, tmp_path: Path) -> None:
    done = compared(lesson, nbformat.read(lesson, as_version=4), tmp_path)
    assert done.returncode == 0, done.stdout


def test_a_changed_number_in_a_stored_text_is_caught(tmp_path: Path) -> None:
    lesson = LESSONS[0]
    notebook = nbformat.read(lesson, as_version=4)
    stored = [
        (output.data, kind)
        for cell in notebook.cells
        if cell.cell_type == "code"
        for output in cell.outputs
        if output.output_type == "execute_result"
        for kind in ("text/plain",)
    ]
    data, kind = stored[-1]
    data[kind] = re.sub(
        r"(\d)\.(\d)", lambda m: f"{m[1]}.{(int(m[2]) + 1) % 10}", data[kind], count=1
    )
    done = compared(lesson, notebook, tmp_path)
    assert done.returncode == 1
    assert "1 failed" in done.stdout


def swallowed_errors(notebook: Notebook) -> list[str]:
    """Errors that a widget's output area has kept to itself."""
    states = notebook.metadata.get("widgets", {}).get(WIDGETS, {}).get("state", {})
    return [
        f"{output['ename']}: {output['evalue']}"
        for state in states.values()
        if state.get("model_name") == "OutputModel"
        for output in state["state"].get("outputs", [])
        if output["output_type"] == "error"
    ]


def executed(notebook: Notebook, folder: Path) -> Notebook:
    client = NotebookClient(
        copy.deepcopy(notebook),
        timeout=120,
        kernel_name="python3",
        store_widget_state=True,
        resources={"metadata": {"path": str(folder)}},
    )
    return client.execute()


@pytest.fixture(scope="module", params=LESSONS, ids=lambda path: path.stem)
def ran(request: pytest.FixtureRequest) -> Notebook:
    """A lesson after it was run."""
    return executed(nbformat.read(request.param, as_version=4), request.param.parent)


def test_a_lesson_runs_without_a_hidden_error(ran: Notebook) -> None:
    assert ran.metadata.widgets[WIDGETS].state, "the lesson has no widgets at all"
    assert swallowed_errors(ran) == []


def test_running_a_lesson_warns_about_nothing(ran: Notebook) -> None:
    spoken = [
        output.text
        for cell in ran.cells
        if cell.cell_type == "code"
        for output in cell.outputs
        if output.output_type == "stream" and output.name == "stderr"
    ]
    assert spoken == []


def test_storing_the_outputs_again_changes_nothing_and_mends_what_is_stale() -> None:
    path = LESSONS[0]
    notebook = nbformat.read(path, as_version=4)
    stale = copy.deepcopy(notebook)
    for cell in stale.cells:
        if cell.cell_type == "code":
            cell.outputs = [nbformat.v4.new_output("stream", text="of last year")]
            cell.execution_count = 7
    again = stored_again(stale, path.parent)
    assert [c.get("outputs") for c in again.cells] == [c.get("outputs") for c in notebook.cells]


def test_an_error_that_a_widget_swallowed_is_found(tmp_path: Path) -> None:
    cell = nbformat.v4.new_code_cell(
        "import ipywidgets as w\nout = w.Output()\nwith out:\n    1 / 0\nout"
    )
    done = executed(nbformat.v4.new_notebook(cells=[cell]), tmp_path)
    assert swallowed_errors(done) == ["ZeroDivisionError: division by zero"]
