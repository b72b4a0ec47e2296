"""Lesson 01 in a real browser, at desktop and at phone width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from conftest import Server, Watch
from lesson_steps import commit_number, press_and_compare

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

LESSON = "lessons/01_where_a_canal_ends.ipynb"
PLACE = "This tooth, of 100 in order of length, is number"


def test_a_number_is_committed_and_the_tooth_answers_the_keyboard(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    slider = commit_number(page, server, LESSON, PLACE, "You said 50 of 100")
    press_and_compare(page, slider, "ArrowRight", f"lesson_01_{width}", width)
    watch.assert_quiet()


def test_another_tooth_is_chosen(page: Page, server: Server, watch: Watch, width: str) -> None:
    page.goto(server.url(f"/voila/render/{LESSON}"))
    page.get_by_role("button", name="Commit my number").click()
    group = page.get_by_role("group", name="Tooth")
    group.get_by_role("radio", name="upper first molar, palatal (16, Universal 3)").check()
    page.get_by_text("the average, 20.1 mm").first.wait_for()
    watch.assert_quiet()
