"""Every screen was looked at, and the note says so: a new one is missed until it is listed."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def listed(text: str) -> set[str]:
    """What the table of screens names in code, in its first column."""
    table = text.partition("## The screens")[2]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| ")]
    return set(re.findall(r"`([\w ]+)`", "".join(rows)))


def screens() -> set[str]:
    """Pages of the course and of the guide, and every picture of a panel."""
    pages = [*ROOT.glob("course/*.ipynb"), *ROOT.glob("course/lessons/*.ipynb")]
    pages += [*ROOT.glob("course/practice/*.ipynb"), *ROOT.glob("instructor_guide/*.ipynb")]
    pictures = ROOT.glob("lib/lengthwise/panels/*_picture.py")
    return {path.stem for path in (*pages, *pictures)}


def test_every_screen_is_in_the_table_of_screens_and_the_table_has_no_other() -> None:
    named = listed((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(screens()) >= 18
    assert named - {"lengthwise pages"} == screens()


def test_a_screen_that_is_not_listed_is_missed() -> None:
    text = "## The screens\n\n| screen | what |\n|---|---|\n| `index` | text `not_this` |\n"
    assert listed(text) == {"index"}
