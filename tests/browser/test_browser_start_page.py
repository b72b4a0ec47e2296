"""The start page in a real browser: it opens, fits, and asks nothing of the outside."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import nbformat
import pytest
from browser_tools import WIDTHS, Server, Watch, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]


def open_page(page: Page, server: Server, path: str) -> None:
    page.goto(server.url(f"/voila/render/{path}"))
    page.wait_for_selector("main h1")


def test_the_start_page_opens_and_fits(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    open_page(page, server, "index.ipynb")
    keep_picture(page, f"start_page_{width}")
    assert page.locator("main").count() == 1
    assert page.locator("h1").count() == 1
    assert page.locator("html").get_attribute("lang") == "en"
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]
    assert not page.get_by_text("In [").count()
    watch.assert_quiet()


@pytest.mark.parametrize("width", ["desktop"])
def test_every_link_of_the_start_page_leads_somewhere(
    page: Page, server: Server, width: str
) -> None:
    open_page(page, server, "index.ipynb")
    links = page.locator("a[href]").evaluate_all("links => links.map(link => link.href)")
    assert len(links) >= 5
    for link in sorted(set(links)):
        target, _, part = link.partition("#")
        opened = re.search(r"/(?:voila/render|notebooks)/(.+)$", target)
        if part:
            assert page.locator(f"[id='{part}']").count() == 1, link
        elif opened:  # looked up only: to ask for a page would run it, and tests of its own do
            assert (server.folder / opened[1]).is_file(), link
        else:
            assert page.request.get(target).status == 200, link


def test_a_page_that_does_not_exist_says_so_plainly(page: Page, server: Server, width: str) -> None:
    page.goto(server.url("/voila/render/lessons/99_nothing.ipynb"))
    keep_picture(page, f"no_such_page_{width}")
    assert page.get_by_role("link", name="Back to the start page").is_visible()
    assert "Traceback" not in page.content()


@pytest.mark.parametrize("width", ["desktop"])
def test_the_watch_catches_a_request_to_the_outside(
    page: Page, server: Server, watch: Watch, width: str
) -> None:
    open_page(page, server, "index.ipynb")
    page.evaluate("fetch('http://outside.invalid/picture.png').catch(() => 0)")
    page.wait_for_timeout(500)
    with pytest.raises(AssertionError, match="outside"):
        watch.assert_quiet()


@pytest.mark.parametrize("width", ["desktop"])
def test_a_part_that_fails_is_told_in_a_plain_sentence(
    page: Page, server: Server, width: str
) -> None:
    broken = nbformat.v4.new_notebook(
        cells=[
            nbformat.v4.new_markdown_cell("# A broken page"),
            nbformat.v4.new_code_cell("1 / 0"),
        ],
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}},
    )
    nbformat.write(broken, server.folder / "broken.ipynb")
    open_page(page, server, "broken.ipynb")
    alert = page.get_by_role("alert")
    assert "This part of the page did not work." in alert.inner_text()
    for word in ("Traceback", "ZeroDivisionError", "--show_tracebacks"):
        assert page.get_by_text(word).count() == 0


@pytest.mark.parametrize("width", ["desktop"])
def test_a_page_that_is_left_takes_its_kernel_along(page: Page, server: Server, width: str) -> None:
    def kernels() -> set[str]:
        return {each["id"] for each in page.request.get(server.url("/api/kernels")).json()}

    before = kernels()
    open_page(page, server, "index.ipynb")
    own = kernels() - before
    assert own
    page.goto("about:blank")
    for _ in range(50):
        if not own & kernels():
            break
        page.wait_for_timeout(200)
    assert not own & kernels()
