"""What an automatic checker finds wrong with a page as it stands, and what a keyboard meets on it.

The checker is axe-core, with all its rules for WCAG 2.x levels A and AA and its best practices. It
finds perhaps half of what can be wrong; a person who uses a screen reader finds the rest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from axe_playwright_python.sync_playwright import Axe

if TYPE_CHECKING:
    from playwright.sync_api import Page

GRAVE = ("moderate", "serious", "critical")

# What holds the focus now: what it is, what it is called, and whether one can see that it has it.
# A ring around it counts, and so does a ring around the box that a widget draws for it.
FOCUSED = """() => {
  const one = document.activeElement;
  const style = getComputedStyle(one);
  const ring = (s) => (s.outlineStyle !== "none" && parseFloat(s.outlineWidth) > 0)
    || s.boxShadow !== "none";
  const box = one.getBoundingClientRect();
  const label = one.labels && one.labels[0] ? one.labels[0].textContent : "";
  return {
    kind: one.tagName.toLowerCase() + (one.type ? ":" + one.type : ""),
    name: (one.getAttribute("aria-label") || label || one.textContent || "").trim().slice(0, 60),
    seen: ring(style) || (one.parentElement && ring(getComputedStyle(one.parentElement))),
    there: box.width > 0 && box.height > 0 && box.bottom > 0 && box.top < innerHeight,
  };
}"""


class Focused(NamedTuple):
    """What the Tab key came to."""

    kind: str
    name: str
    seen: bool
    there: bool


def findings(page: Page) -> list[str]:
    """What is wrong with a page, one line each: how grave, which rule, where."""
    return [
        f"{one['impact']}: {one['id']}: {one['nodes'][0]['html'][:160]} ({len(one['nodes'])})"
        for one in Axe().run(page).response["violations"]
        if one["impact"] in GRAVE
    ]


def focused(page: Page) -> Focused:
    """What has the focus now."""
    return Focused(**page.evaluate(FOCUSED))


def tab_to(page: Page, kind: str, name: str, *, most: int = 60) -> list[Focused]:
    """Press Tab until something of this kind and name has the focus; everything on the way."""
    way: list[Focused] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        way.append(focused(page))
        if way[-1].kind.startswith(kind) and name in way[-1].name:
            return way
    raise AssertionError(f"{most} times Tab, and no {kind} called {name}: {[w.name for w in way]}")
