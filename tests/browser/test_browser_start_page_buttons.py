"""The first button of the start page in a real browser: by keyboard, by dropping, with large files.

The whole way of an assignment through both buttons is in test_browser_assignment.
"""

from __future__ import annotations

import io
import os
import zipfile
from typing import TYPE_CHECKING

import pytest
from browser_tools import Server, Watch

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

DROP = """([box, name, text]) => {
  const files = new DataTransfer();
  files.items.add(new File([text], name));
  box.dispatchEvent(new DragEvent("drop", { dataTransfer: files, bubbles: true }));
}"""


def zip_of(size: int) -> bytes:
    """A zip that cannot be made smaller and holds no assignment."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("film.bin", os.urandom(size))
    return made.getvalue()


@pytest.mark.parametrize("width", ["phone"])
def test_a_file_comes_by_keyboard_or_by_dropping_and_a_wrong_one_is_told_apart(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    page.goto(server.url("/voila/render/index.ipynb"))
    button = page.get_by_role("button", name="Get an assignment")
    button.wait_for()
    said = button.locator("xpath=following-sibling::*[@role='status']")
    hint = button.get_attribute("aria-describedby")
    assert "zip file" in page.locator(f"[id='{hint}']").inner_text()

    with page.expect_file_chooser() as chooser:
        button.press("Enter")
    # More than fits into one message to the kernel.
    large = {"name": "week6.zip", "mimeType": "application/zip", "buffer": zip_of(12_000_000)}
    chooser.value.set_files(large)  # type: ignore[arg-type]
    said.get_by_text("week6.zip holds no assignment of this course.").wait_for()

    box = button.locator("xpath=..").element_handle()
    page.evaluate(DROP, [box, "a6_reconcile.ipynb", '{"cells": []}'])
    said.get_by_text("a6_reconcile.ipynb is a notebook, not a zip file.").wait_for()
    page.evaluate(DROP, [box, "empty.zip", ""])
    said.get_by_text("empty.zip is empty.").wait_for()
    assert not [path for path in server.folder.iterdir() if path.name.startswith(".taking-in")]
    watch.assert_quiet()
