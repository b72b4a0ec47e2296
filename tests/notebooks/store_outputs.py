"""Run a lesson and store again the text outputs that its prose relies on.

    python tests/notebooks/store_outputs.py course/lessons/06_one_ruler.ipynb

Only cells tagged ``keep_output`` keep anything, and only text: no pictures, no widgets, no counts.
Read the difference before committing it: a number that moved may have moved under a sentence.
"""

from __future__ import annotations

import copy
import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

TEXT = ("text/plain", "text/html", "text/markdown")


def stored_again(notebook: nbformat.NotebookNode, folder: Path) -> nbformat.NotebookNode:
    """A copy with fresh outputs in the tagged cells and none elsewhere."""
    fresh = copy.deepcopy(notebook)
    ran = NotebookClient(
        copy.deepcopy(notebook), timeout=120, resources={"metadata": {"path": str(folder)}}
    ).execute()
    for cell, done in zip(fresh.cells, ran.cells, strict=True):
        if cell.cell_type != "code":
            continue
        cell.execution_count = None
        kept = "keep_output" in cell.metadata.get("tags", [])
        cell.outputs = [_text_only(output) for output in done.outputs] if kept else []
    return fresh


def _text_only(output: nbformat.NotebookNode) -> nbformat.NotebookNode:
    slim = copy.deepcopy(output)
    if "execution_count" in slim:
        slim.execution_count = None
    for kind in [kind for kind in slim.get("data", {}) if kind not in TEXT]:
        del slim.data[kind]
    return slim


if __name__ == "__main__":
    for name in sys.argv[1:]:
        path = Path(name)
        lesson = nbformat.read(path, as_version=4)
        nbformat.write(stored_again(lesson, path.resolve().parent), path)
        sys.stdout.write(f"{path}: stored again\n")
