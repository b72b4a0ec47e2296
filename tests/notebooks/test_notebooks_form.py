"""The form of the course's notebooks: headings, links, alternative texts, nothing stored in excess.

The rules are small functions that return complaints, so that each can be shown to complain.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest

ROOT = Path(__file__).resolve().parents[2]
COURSE = ROOT / "course"
PAGES = [COURSE / "index.ipynb", COURSE / "practice" / "practice.ipynb"]
NOTEBOOKS = sorted([*PAGES, *(COURSE / "lessons").glob("*.ipynb")])
ASSIGNMENTS = sorted((COURSE / "source").glob("*/*.ipynb"))
GUIDE = sorted((ROOT / "instructor_guide").glob("*.ipynb"))
VAGUE_LINKS = {"here", "this", "link", "click here", "more", "this page"}
LONGEST_CODE_CELL = 3  # lines; a lesson calls functions, it does not program
KEPT = {"keep_output", "nbval-check-output"}

Notebook = nbformat.NotebookNode


def markdown(notebook: Notebook) -> str:
    return "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")


def headings(notebook: Notebook) -> list[tuple[int, str]]:
    found = re.findall(r"^(#{1,6}) +(.+)$", markdown(notebook), re.MULTILINE)
    return [(len(marks), title) for marks, title in found]


def heading_complaints(notebook: Notebook) -> list[str]:
    ranks = [rank for rank, _ in headings(notebook)]
    complaints = [] if ranks.count(1) == 1 and ranks[0] == 1 else ["not one H1, at the top"]
    skipped = [
        f"{before} to {after}" for before, after in itertools.pairwise(ranks) if after > before + 1
    ]
    return complaints + [f"heading rank skipped: {step}" for step in skipped]


def link_complaints(notebook: Notebook) -> list[str]:
    links = re.findall(r"(?<!!)\[([^\]]+)\]\(([^)]+)\)", markdown(notebook))
    vague = [f"link says nothing: {text}" for text, _ in links if text.lower() in VAGUE_LINKS]
    bare = re.findall(r"(?<!\]\()<?(?:https?://|www\.)[^\s)>]+", markdown(notebook))
    return vague + [f"an address instead of words: {address}" for address in bare]


def picture_complaints(notebook: Notebook) -> list[str]:
    complaints = [
        f"picture without alternative text: {target}"
        for text, target in re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", markdown(notebook))
        if not text.strip()
    ]
    for tag in re.findall(r"<img\b[^>]*>", markdown(notebook)):
        if not re.search(r"alt=[\"'][^\"']+[\"']", tag):
            complaints.append(f"picture without alternative text: {tag}")
    return complaints


def storage_complaints(notebook: Notebook) -> list[str]:
    complaints = []
    if "widgets" in notebook.metadata:
        complaints.append("widget state stored in the notebook")
    for number, cell in enumerate(notebook.cells):
        if cell.get("attachments"):
            complaints.append(f"cell {number}: attachment stored")
        if cell.cell_type != "code":
            continue
        tags = set(cell.metadata.get("tags", []))
        if cell.execution_count is not None:
            complaints.append(f"cell {number}: execution count stored")
        if tags & KEPT and not tags >= KEPT:
            complaints.append(f"cell {number}: kept output that is not checked, or the reverse")
        if cell.outputs and not tags & KEPT:
            complaints.append(f"cell {number}: output stored that nothing checks")
        if tags >= KEPT and not cell.outputs:
            complaints.append(f"cell {number}: tagged as kept, and nothing is stored")
        for output in cell.outputs:
            kinds = set(output.get("data", {}))
            if kinds - {"text/plain", "text/markdown", "text/html"}:
                complaints.append(f"cell {number}: stores {sorted(kinds)}")
            if "<img" in "".join(output.get("data", {}).get("text/html", "")):
                complaints.append(f"cell {number}: stores a picture")
    return complaints


def code_complaints(notebook: Notebook) -> list[str]:
    return [
        f"cell {number}: {len(cell.source.splitlines())} lines of code"
        for number, cell in enumerate(notebook.cells)
        if cell.cell_type == "code" and len(cell.source.splitlines()) > LONGEST_CODE_CELL
    ]


def hidden_code_complaints(notebook: Notebook) -> list[str]:
    """Whoever opens a page of the course as a notebook meets words and pictures, not programs."""
    return [
        f"cell {number}: its code is not folded away"
        for number, cell in enumerate(notebook.cells)
        if cell.cell_type == "code"
        and cell.metadata.get("jupyter", {}).get("source_hidden") is not True
    ]


def language_complaints(notebook: Notebook) -> list[str]:
    """Without a kernel and its language a notebook asks for one before it opens."""
    said = (
        notebook.metadata.get("kernelspec", {}).get("name"),
        notebook.metadata.get("language_info", {}).get("name"),
    )
    return [] if said == ("python3", "python") else [f"kernel and language: {said}"]


def minutes_of(notebook: Notebook) -> int | None:
    """How long a lesson says it takes, in its first cell."""
    said = re.search(r"About (\d+) minutes\.", notebook.cells[0].source)
    return int(said[1]) if said else None


WORDS = [heading_complaints, link_complaints, picture_complaints, language_complaints]
RULES = [*WORDS, storage_complaints, code_complaints, hidden_code_complaints]
CHECKED = [
    *[(path, rule) for path in NOTEBOOKS for rule in RULES],
    *[(path, rule) for path in ASSIGNMENTS + GUIDE for rule in [*WORDS, storage_complaints]],
]


def read(path: Path) -> Notebook:
    return nbformat.read(path, as_version=4)


@pytest.mark.parametrize(
    ("path", "rule"), CHECKED, ids=[f"{path.stem}-{rule.__name__}" for path, rule in CHECKED]
)
def test_a_notebook_keeps_the_house_rules(
    path: Path, rule: Callable[[Notebook], list[str]]
) -> None:
    assert rule(read(path)) == []


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_has_a_title_and_lasting_cell_names(path: Path) -> None:
    notebook = read(path)
    nbformat.validate(notebook)
    assert notebook.metadata.get("title")
    ids = [cell.id for cell in notebook.cells]
    assert len(set(ids)) == len(ids)


def test_every_lesson_says_its_minutes_and_the_start_page_says_the_same() -> None:
    start = markdown(read(PAGES[0]))
    lessons = [path for path in NOTEBOOKS if path.parent.name == "lessons"]
    assert len(lessons) == 7
    for path in lessons:
        minutes = minutes_of(read(path))
        assert minutes in range(20, 31), path.stem  # as the course is planned
        assert re.search(rf"\({path.parent.name}/{path.name}\) \| {minutes} \|", start), path.stem


def test_a_lesson_without_minutes_is_noticed() -> None:
    assert minutes_of(made_of(MD("# A lesson\n\nLesson 09. It takes a while."))) is None


def made_of(*cells: Notebook, **metadata: object) -> Notebook:
    return nbformat.v4.new_notebook(cells=list(cells), metadata=metadata)


def kept_cell(**output: object) -> Notebook:
    cell = nbformat.v4.new_code_cell("show()", metadata={"tags": sorted(KEPT)})
    cell.outputs = [nbformat.v4.new_output("display_data", data=output)]
    return cell


MD = nbformat.v4.new_markdown_cell
CODE = nbformat.v4.new_code_cell


@pytest.mark.parametrize(
    ("rule", "spoiled", "complaint"),
    [
        (heading_complaints, made_of(MD("# One\n\n# Two")), "one H1"),
        (heading_complaints, made_of(MD("## Two")), "one H1"),
        (heading_complaints, made_of(MD("# One\n\n### Three")), "skipped: 1 to 3"),
        (link_complaints, made_of(MD("see [here](a.ipynb)")), "says nothing"),
        (link_complaints, made_of(MD("see https://example.org/x for more")), "an address"),
        (hidden_code_complaints, made_of(CODE("1")), "not folded away"),
        (language_complaints, made_of(), "kernel and language"),
        (picture_complaints, made_of(MD("![](tooth.png)")), "alternative"),
        (picture_complaints, made_of(MD('<img src="tooth.png">')), "alternative"),
        (storage_complaints, made_of(widgets={"state": {}}), "widget state"),
        (storage_complaints, made_of(CODE("1", execution_count=3)), "count"),
        (storage_complaints, made_of(kept_cell(**{"image/png": "AAAA"})), "image/png"),
        (storage_complaints, made_of(kept_cell(**{"text/html": "<img src=x>"})), "a picture"),
        (
            storage_complaints,
            made_of(CODE("1", metadata={"tags": ["keep_output"]})),
            "not checked",
        ),
        (storage_complaints, made_of(CODE("1", metadata={"tags": sorted(KEPT)})), "nothing is"),
        (
            storage_complaints,
            made_of(CODE("1", outputs=[nbformat.v4.new_output("stream", text="1")])),
            "nothing checks",
        ),
        (code_complaints, made_of(CODE("a = 1\n" * 4)), "4 lines"),
    ],
)
def test_each_house_rule_can_complain(
    rule: Callable[[Notebook], list[str]], spoiled: Notebook, complaint: str
) -> None:
    assert complaint in "; ".join(rule(spoiled))
