"""What the page's own script does with its content, without a server or a kernel."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from browser_tools import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

pytestmark = [pytest.mark.slow, pytest.mark.browser]

TEMPLATE = ROOT / "lib/lengthwise/panels/pages/voila/templates/lengthwise"
SCRIPT = TEMPLATE / "on_this_page.js"
CONTENT = """<!DOCTYPE html><nav id="lengthwise-jumps" hidden></nav><a id="to-cautions"></a><main>
<h2 id="Predict">Predict</h2><p>Opened as a notebook? Press Run.</p>
<h3 id="The-picture">The picture</h3><h3 id="The-second-picture">The second picture</h3>
<h2 id="Why">Why it matters</h2>
<table style="display: block; overflow: auto"><td style="min-width: 3000px">wide</td></table>
<table><td>narrow</td></table>
<div class="lengthwise-hands"></div>
<div class="lengthwise-hands"><p style="height: 70px">one sentence</p><button>move</button></div>
</main>"""
# A line to a kernel that stays open, whatever becomes of the server.
LINE = """<!DOCTYPE html><p>a page</p><div id="lengthwise-gone" hidden>gone</div><script>
window.WebSocket = class extends EventTarget { constructor(url) { super(); this.url = url; } };
</script>"""
# What is laid out anew is measured a frame or two later.
NEXT_FRAMES = "new Promise(done => setTimeout(() => requestAnimationFrame(done), 100))"


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    opened = browser.new_page(viewport={"width": 800, "height": 600})
    opened.set_content(CONTENT)
    opened.add_script_tag(path=SCRIPT)
    opened.evaluate(NEXT_FRAMES)
    yield opened
    opened.close()


def sentence_height(page: Page, nth: int) -> str:
    hands = page.locator(".lengthwise-hands").nth(nth)
    return str(hands.evaluate("one => one.style.getPropertyValue('--sentence')"))


def test_headings_that_say_what_to_do_and_pictures_can_be_jumped_to(page: Page) -> None:
    jumps = page.locator("#lengthwise-jumps a")
    assert jumps.all_inner_texts() == ["Predict", "Picture", "Picture 2"]
    assert page.locator("#lengthwise-jumps").is_visible()
    assert "Opened as a notebook" not in page.locator("main").inner_text()


def test_the_keyboard_reaches_a_table_that_scrolls_and_no_other(page: Page) -> None:
    tables = page.locator("table")
    assert [tables.nth(n).get_attribute("tabindex") for n in range(2)] == ["0", None]


def test_a_panel_that_is_still_being_filled_stops_nothing_and_is_measured_when_it_is_full(
    page: Page,
) -> None:
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    assert [sentence_height(page, nth) for nth in range(2)] == ["", "70px"]
    page.locator(".lengthwise-hands").first.evaluate(
        "one => { one.innerHTML = '<p style=\"height: 50px\">late</p>'; }"
    )
    page.evaluate(NEXT_FRAMES)
    assert sentence_height(page, 0) == "50px"
    page.locator(".lengthwise-hands").first.evaluate("one => { one.textContent = ''; }")
    page.evaluate(NEXT_FRAMES)
    assert complaints == []


def test_what_becomes_another_one_while_the_page_stays_as_high_is_measured_again(
    page: Page,
) -> None:
    page.evaluate("document.body.style.height = '2000px'")
    page.evaluate(NEXT_FRAMES)
    page.evaluate(
        """() => { const table = document.querySelector("table");
        table.removeAttribute("tabindex");
        table.outerHTML = table.outerHTML;
        const [sentence] = document.querySelectorAll(".lengthwise-hands")[1].children;
        sentence.outerHTML = "<p style='height: 90px'>a longer sentence</p>"; }"""
    )
    page.evaluate(NEXT_FRAMES)
    assert page.locator("table").first.get_attribute("tabindex") == "0"
    assert sentence_height(page, 1) == "90px"


@pytest.mark.parametrize(("status", "gone"), [(403, False), (404, True), (424, True)])
def test_a_server_that_a_hub_has_stopped_is_not_taken_for_one_that_is_there(
    browser: Browser, status: int, gone: bool
) -> None:
    page = browser.new_page()
    page.clock.install()
    asked: list[str] = []

    def answer(route: Route) -> None:
        asked.append(route.request.url)
        route.fulfill(status=status)

    page.route("http://course.test/page", lambda route: route.fulfill(body=LINE))
    page.route("http://course.test/api/kernels/one?*", answer)
    page.goto("http://course.test/page")
    page.add_script_tag(path=TEMPLATE / "connection.js")
    page.evaluate("new WebSocket('ws://course.test/api/kernels/one/channels')")
    page.locator("p").click()
    for _ in range(10):  # only two silences in a row count
        page.clock.run_for(1000)
    assert bool(asked)
    assert page.locator("#lengthwise-gone").is_visible() == gone
    page.close()
