"""Steps that the browser tests of several pages take, and what has to hold of every page."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from accessible import findings
from browser_tools import WIDTHS, Server, keep_picture

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

T = TypeVar("T")

LEAST_TOUCH_PX = 44
PROJECTOR = (853, 600)  # a screen of 1280 by 900 on which a page was enlarged to 150 %

# What is wrong with a page as it stands, one line each; nothing is an empty list.
WRONG = """(least) => {
  const wrong = [];
  const seen = (one) => one.getClientRects().length > 0;
  const all = (what) => [...document.querySelectorAll(what)].filter(seen);
  const tell = (one, words) => wrong.push(`${words}: ${one.outerHTML.slice(0, 150)}`);
  const wide = document.documentElement.scrollWidth, has = window.innerWidth;
  if (wide > has) {
    wrong.push(`the page is ${wide} px wide in a window of ${has}`);
    for (const one of all("main *"))
      if (one.getBoundingClientRect().right > has + 1 && !one.closest("table, [role=region]"))
        tell(one, "runs out of the window");
  }
  if (all("h1").length !== 1) wrong.push(`${all("h1").length} headings of the first rank`);
  for (const one of all('[role="alert"], [data-mime-type$="stderr"], [data-mime-type$="error"]'))
    tell(one, "says an error");
  for (const one of all(".jp-InputArea-editor")) tell(one, "shows code");
  for (const one of all("main img")) {
    if (!one.getAttribute("alt")) tell(one, "has no words");
    if (!one.complete || !one.naturalWidth) tell(one, "is not there");
    if (one.getBoundingClientRect().right > has) tell(one, "is cut off");
  }
  for (const one of all('main input[type="range"]')) {
    if (!one.labels[0] || !one.labels[0].textContent) tell(one, "has no name");
    if (one.getBoundingClientRect().height < least) tell(one, "has no room for a finger");
  }
  for (const one of all("main .lengthwise-option, main button"))
    if (!one.textContent.trim() || one.getBoundingClientRect().height < least)
      tell(one, "has no name, or no room for a finger");
  return wrong;
}"""

# Wherever one comes to move something, from above or from below, the picture stands beside it or
# above it, whole, and nothing covers either.
APART = """() => {
  const wrong = [];
  for (const panel of document.querySelectorAll(".lengthwise-panel")) {
    const picture = panel.querySelector(".lengthwise-picture img");
    const hands = panel.querySelector(".lengthwise-hands");
    panel.scrollIntoView();
    const moves = [...hands.querySelectorAll("input:not([type=text]), button")];
    for (const one of [...moves, ...moves.toReversed()]) {
      if (!one.getClientRects().length) continue;
      one.scrollIntoView({block: "nearest"});
      const seen = picture.getBoundingClientRect(), hand = one.getBoundingClientRect();
      const name = one.labels?.[0]?.textContent || one.textContent;
      if (seen.top < 0 || seen.bottom > innerHeight + 1) wrong.push(`without picture: ${name}`);
      const [x, y] = [(hand.left + hand.right) / 2, (hand.top + hand.bottom) / 2];
      const there = document.elementFromPoint(x, y);
      if (!hands.contains(there)) wrong.push(`covered: ${name}`);
    }
  }
  return wrong;
}"""


def open_page(page: Page, server: Server, path: str) -> None:
    """Open a notebook of the course as a page."""
    page.goto(server.url(f"/voila/render/{path}"))


def slider(page: Page | Locator, name: str) -> Locator:
    """A slider that can be seen, by its whole name."""
    return page.get_by_role("slider", name=name, exact=True)


def panel_of(control: Locator) -> Locator:
    """The innermost box that holds the control and a picture."""
    return control.locator("xpath=ancestor::*[.//img][1]")


def picture_words(panel: Locator) -> str:
    """The alternative text of a panel's picture."""
    return panel.locator("img").first.get_attribute("alt") or ""


def at_rest(page: Page, read: Callable[[], T]) -> T:
    """What is read when it is the same twice: a frame may still be under way."""
    seen = read()
    for _ in range(100):
        page.wait_for_timeout(300)
        now = read()
        if now == seen:
            return now
        seen = now
    raise AssertionError(f"does not come to rest: {seen}")


def assert_said(page: Page, panel: Locator) -> str:
    """What is shown to the eye is what is said to the ear; gives it."""

    def both() -> tuple[str, str]:
        sentence = " ".join(panel.get_by_role("status").first.inner_text().split())
        return picture_words(panel), sentence

    for _ in range(10):  # of a slow frame, the one may rest before the other has come
        shown, said = at_rest(page, both)
        if shown == said:
            break
    assert shown == said
    return said


def moved(page: Page, control: Locator, key: str, times: int = 5) -> str:
    """Move a slider by keyboard until picture and sentence are others; gives the sentence."""
    panel, number = panel_of(control), float(control.input_value())
    before = at_rest(page, lambda: picture_words(panel))
    for _ in range(20):  # a page that is still being put together takes no key
        control.focus()
        for _ in range(times):
            page.keyboard.press(key)
        if float(control.input_value()) != number:
            break
        page.wait_for_timeout(500)
    else:
        has_keys = page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
        raise AssertionError(f"stays at {number} for {key}; the keyboard is at {has_keys}")
    # The picture is another element after every change, so it is looked for anew.
    page.wait_for_function(
        "([panel, old]) => panel.querySelector('img').alt !== old",
        arg=[panel.element_handle(), before],
    )
    said = assert_said(page, panel)
    assert said != before
    return said


def choose_as_it_stands(control: Locator) -> None:
    """Move the slider of a prediction and move it back: untouched it cannot be committed."""
    for key in ("ArrowRight", "ArrowLeft"):
        before = control.input_value()
        for _ in range(50):
            control.press(key)
            control.page.wait_for_timeout(200)
            if control.input_value() != before:
                break
        else:
            raise AssertionError(f"stays at {before} for {key}")


def commit(button: Locator) -> None:
    """Commit the number of the slider that belongs to a button, as it stands."""
    button.wait_for()
    own = button.locator("xpath=ancestor::*[.//input[@type='range']][1]").get_by_role("slider")
    choose_as_it_stands(own.first)
    button.click()


def commit_number(page: Page, server: Server, lesson: str, name: str, said: str) -> Locator:
    """Open a lesson and commit a number: only then the slider of its panel is there."""
    open_page(page, server, lesson)
    button = page.get_by_role("button", name="Commit my number").first
    button.wait_for()
    found = slider(page, name)
    assert not found.is_visible()
    commit(button)
    found.wait_for()
    assert page.get_by_text(said).first.is_visible()
    return found


def assert_together(page: Page) -> None:
    """Picture and control are on the screen together, on a phone and enlarged for a room."""
    for wide, high in (WIDTHS["phone"], PROJECTOR):
        page.set_viewport_size({"width": wide, "height": high})
        page.wait_for_timeout(200)
        wrong = page.evaluate(APART)
        assert not wrong, f"at {wide} by {high}: " + "\n".join(wrong)


def assert_whole(page: Page, name: str) -> None:
    """Nothing is wrong with the page at both widths; keeps a picture of each."""
    for width, (wide, high) in WIDTHS.items():
        page.set_viewport_size({"width": wide, "height": high})
        page.wait_for_timeout(300)
        keep_picture(page, f"{name}_{width}")
        wrong = page.evaluate(WRONG, LEAST_TOUCH_PX)
        if width == "desktop":  # the checker takes a second, and what it reads is the same on both
            wrong += findings(page)
        assert not wrong, f"{name} at {width} width: " + "\n".join(wrong)
