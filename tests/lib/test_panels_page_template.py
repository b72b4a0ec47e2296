"""The page template travels with the package, loads nothing from outside, and speaks plainly."""

from __future__ import annotations

import re

import pytest
from lengthwise.panels.page_template import TEMPLATE_NAME, data_folder

FOLDER = data_folder() / "voila" / "templates" / TEMPLATE_NAME
FILES = sorted(path.name for path in FOLDER.iterdir())


def test_the_template_overrides_the_pages_that_a_person_can_reach() -> None:
    assert {"index.html.j2", "page.html", "error.html", "404.html", "conf.json"} <= set(FILES)


@pytest.mark.parametrize("name", FILES)
def test_no_file_of_the_template_names_an_address_outside(name: str) -> None:
    text = (FOLDER / name).read_text(encoding="utf-8")
    assert not re.search(r"https?://|(src|href)=[\"']//|@import|url\((?!data:)", text)


def test_the_template_is_found_the_way_the_page_server_looks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    paths = pytest.importorskip("voila.paths")
    monkeypatch.setenv("JUPYTER_PATH", str(data_folder()))
    found = paths.collect_template_paths(["voila", "nbconvert"], TEMPLATE_NAME, prune=True)
    assert found[0] == str(FOLDER)
    # It stands on the standard page, so that a new version of that keeps working.
    assert any(path.endswith("voila/templates/lab") for path in found)


def test_a_failed_part_is_told_in_a_plain_sentence_without_a_traceback() -> None:
    block = re.search(
        r"\{% block error -%\}(.*?)\{%- endblock error %\}",
        (FOLDER / "index.html.j2").read_text(encoding="utf-8"),
        re.DOTALL,
    )
    assert block
    assert "did not work" in block.group(1)
    assert "traceback" not in block.group(1)
    assert 'role="alert"' in block.group(1)
