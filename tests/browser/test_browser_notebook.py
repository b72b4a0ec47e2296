"""A lesson opened as a notebook and in the laboratory view: it runs, without graders' menus."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from browser_tools import SCREENSHOTS, Server, Watch, run_all_cells
from lesson_steps import moved, slider

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/06_one_ruler.ipynb"


def assert_a_students_view(page: Page) -> None:
    """No grader's menus, and no news."""
    page.get_by_role("menuitem", name="File", exact=True).wait_for()
    for name in ("Nbgrader", "Formgrader"):
        assert page.get_by_role("menuitem", name=name).count() == 0
        assert page.get_by_role("tab", name=name).count() == 0
        assert page.get_by_text(name, exact=True).count() == 0
    assert page.locator(".Toastify__toast").count() == 0


@pytest.mark.parametrize(
    ("width", "view"), [("phone", "/notebooks/"), ("desktop", "/lab/tree/")], ids=["note", "lab"]
)
def test_a_lesson_runs_as_a_notebook_and_in_the_laboratory_view(
    page: Page, server: Server, watch: Watch, width: str, view: str
) -> None:
    page.goto(server.url(f"{view}{LESSON}"))
    page.get_by_role("heading", name="Putting it on one ruler").wait_for()
    repeats = slider(page, "Wet points with the same result")
    run_all_cells(page, repeats)
    repeats.scroll_into_view_if_needed()
    moved(page, repeats, "ArrowRight", 2)
    page.screenshot(path=SCREENSHOTS / f"lesson_as_{view.split('/')[1]}_{width}.png")
    assert page.locator('[data-mime-type$="stderr"], [data-mime-type$="error"]').count() == 0
    assert_a_students_view(page)
    watch.assert_quiet()


@pytest.mark.parametrize("width", ["desktop"])
def test_the_list_of_files_shows_no_graders_menus_and_no_news(
    page: Page, server: Server, width: str
) -> None:
    page.goto(server.url("/tree"))
    page.get_by_role("menuitem", name="File", exact=True).wait_for()
    page.wait_for_timeout(2000)  # extensions and news come after the rest
    assert_a_students_view(page)
