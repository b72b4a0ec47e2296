"""What a hand does with the course's own controls, without a kernel; at the end with a busy one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import nbformat
import pytest
from browser_tools import Server, Watch
from lengthwise.panels.player import player
from lengthwise.panels.slider import SHORT_PAST, slider
from lengthwise.panels.spoken import Spoken

if TYPE_CHECKING:
    from anywidget import AnyWidget
    from playwright.sync_api import Browser, Page

pytestmark = [pytest.mark.slow, pytest.mark.browser]

# The part of a widget's model that its script sees; what it sends is kept in `sent`.
DRAW = """async ({script, style, state}) => {
  const address = URL.createObjectURL(new Blob([script], {type: "text/javascript"}));
  const {default: widget} = await import(address);
  const heard = [];
  let changed = {};
  window.sent = [];
  window.model = {
    get: (name) => state[name],
    set: (name, value) => {
      if (state[name] === value) return;
      state[name] = changed[name] = value;
      for (const [names, call] of heard) if (names.includes(`change:${name}`)) call();
    },
    save_changes: () => { if (Object.keys(changed).length) sent.push(changed); changed = {}; },
    send: (message) => sent.push(message),
    on: (names, call) => heard.push([names.split(" "), call]),
  };
  document.body.innerHTML = `<style>${style}</style><div id="here"></div><button>Do it</button>`;
  document.querySelector("button").onclick = () => sent.push("press");
  window.ends?.(); // what was drawn before listens no more
  window.ends = widget.render({model, el: document.getElementById("here")});
}"""
SIMPLE = (str, int, float, list, tuple)
Draw = Callable[["AnyWidget"], "Page"]


@pytest.fixture(scope="module")
def draw(browser: Browser) -> Iterator[Draw]:
    context = browser.new_context(has_touch=True, viewport={"width": 390, "height": 800})
    page = context.new_page()

    def drawn(widget: AnyWidget) -> Page:
        of_script = (name for name in widget.traits(sync=True) if not name.startswith("_"))
        state = {name: getattr(widget, name) for name in of_script}
        state = {name: value for name, value in state.items() if isinstance(value, SIMPLE)}
        script, style = str(widget._esm), str(widget._css)
        page.evaluate(DRAW, {"script": script, "style": style, "state": state})
        return page

    yield drawn
    context.close()


def sent(page: Page) -> Any:
    """What was sent since the last time."""
    return page.evaluate("sent.splice(0)")


def test_what_was_typed_is_sent_before_the_tap_that_ends_the_typing(draw: Draw) -> None:
    page = draw(slider("Length", value=10, low=0, high=30, step=0.5))
    page.get_by_role("textbox").fill("24.5")
    page.get_by_role("button").tap()
    chosen = {"value": 24.5, "touched": True, "settled": 24.5}
    ahead = {"moves": 1, "hand": chosen}
    assert sent(page) == [chosen | {"moves": 1}, ahead, "press"]
    page.get_by_role("button").tap()
    assert sent(page) == ["press"]
    # A frame that is still to come holds nothing back.
    page.get_by_role("slider").focus()
    page.evaluate(
        """() => { const range = document.querySelector("[type=range]"); range.value = 25;
        range.dispatchEvent(new Event("input")); document.querySelector("button").click(); }"""
    )
    moved = {"value": 25, "moves": 2}
    ahead = {"moves": 2, "hand": chosen | {"value": 25}}
    assert sent(page) == [moved, ahead, "press"]


def test_what_is_no_number_changes_nothing_and_chooses_nothing(draw: Draw) -> None:
    page = draw(slider("Length", value=21, low=20, high=28, step=0.5))
    box = page.get_by_role("textbox")
    for typed in ("abc", "24..5", "0x1A", "1e1", "1,234.5", "Infinity", "25 cm", "."):
        box.fill(typed)
        box.press("Enter")
        said = f"“{typed}” is not a number. It stays at 21.0 mm."
        assert page.locator(".lengthwise-slider-note").inner_text() == said
        assert box.input_value() == "21.0"
    page.get_by_role("button").click()
    assert sent(page) == ["press"]


def test_a_number_is_understood_as_people_write_it(draw: Draw) -> None:
    said = {"25.": "", "+25": "", "25,": "", ".5": "You typed .5; here it goes from 20.0 mm to "
            "28.0 mm. It is set to 20.0 mm.", "24.5 mm": "", "24.5MM": "",
            "24.6": "You typed 24.6; it is set to the nearest step, 24.5 mm."}  # fmt: skip
    page = draw(slider("Length", value=21, low=20, high=28, step=0.5))
    box, note = page.get_by_role("textbox"), page.locator(".lengthwise-slider-note")
    for typed, words in said.items():
        box.fill(typed)
        box.press("Enter")
        assert note.inner_text() == words
    assert page.evaluate("model.get('value')") == 24.5
    page = draw(slider("It ends", value=-0.5, low=-4, high=2, step=0.1, sides=SHORT_PAST))
    for typed, value in (("0.4", -0.4), ("0.4 p", 0.4), ("0,3 mm short", -0.3), ("-1", -1.0),
                         ("+1", 1.0), ("3", -3.0), ("2 miles", -3.0)):  # fmt: skip
        box.fill(typed)
        box.press("Enter")
        assert page.evaluate("model.get('value')") == value


def test_a_number_box_shows_what_the_kernel_set_while_it_had_the_keyboard(draw: Draw) -> None:
    page = draw(slider("Length", value=21, low=20, high=28, step=0.5))
    box = page.get_by_role("textbox")
    box.focus()
    page.evaluate("model.set('value', 24)")
    assert box.input_value() == "21.0"  # nobody's typing is overwritten
    box.press("Tab")
    assert box.input_value() == "24.0"


def test_a_clock_that_is_halted_sends_nothing_more(draw: Draw) -> None:
    page = draw(player("Play", value=0.0, low=0.0, high=9.0, step=0.02))
    page.get_by_role("button", name="Play").click()
    page.wait_for_function("sent.some((one) => one.tick)")
    page.evaluate("model.set('halted', 1)")
    was = sent(page)
    assert was[0] == {"run": 1, "playing": True}
    assert was[-1]["playing"] is False
    assert {one["tick"][1] for one in was if "tick" in one} == {1}
    page.wait_for_timeout(100)
    assert sent(page) == []
    page.get_by_role("button", name="Play").click()
    page.evaluate("model.set('halted', 0); model.set('halted', 1)")  # of the run before
    assert page.get_by_role("button", name="Pause").is_visible()


def test_the_same_words_are_put_in_again_and_those_for_the_eye_are_not_announced(
    draw: Draw,
) -> None:
    page = draw(Spoken(text="Not this one."))
    region = page.get_by_role("status")
    page.evaluate("window.before = document.querySelector('p'); model.set('again', 1)")
    assert region.inner_text() == ""
    page.wait_for_function("document.querySelector('p')?.textContent === 'Not this one.'")
    assert page.evaluate("before !== document.querySelector('p')")
    page.evaluate("model.set('aloud', false); model.set('text', 'After 1.2 s')")
    assert (region.inner_text(), page.get_by_text("After 1.2 s").count()) == ("", 1)
    page.evaluate("model.set('aloud', true)")
    assert region.inner_text() == "After 1.2 s"


# --- with a kernel --------------------------------------------------------------------------------
SLOW = """
import time
from ipywidgets import VBox
from lengthwise.panels.check_items import text_button
from lengthwise.panels.choice import choice
from lengthwise.panels.slider import slider
from lengthwise.panels.spoken import Spoken

length = slider("Length", value=10, low=0, high=30, step=0.5)
what = choice("What next?", ["look", "film", "point"], value="look")
do, done = text_button("Do it"), Spoken()
for control in (length, what):
    control.observe(lambda change: time.sleep(0.4), "value")

def act(_button):
    done.text += f"{what.value} at {length.value:g}\\n"
    length.value, what.value = 10, "look"

do.on_click(act)
VBox([length, what, do, done])
"""
PLAYED = "from lengthwise.panels.trial_panel import trial_panel\n\ntrial_panel()"


@pytest.mark.parametrize("width", ["phone"])
def test_a_busy_kernel_acts_on_what_is_on_the_screen_and_the_hand_wins_over_the_clock(
    page: Page, server: Server, watch: Watch
) -> None:
    cells = [nbformat.v4.new_code_cell(code) for code in (SLOW, PLAYED)]
    cells.insert(0, nbformat.v4.new_markdown_cell("# Hands"))
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3"}}
    notebook = nbformat.v4.new_notebook(cells=cells, metadata=kernel)
    nbformat.write(notebook, server.folder / "hands.ipynb")
    page.goto(server.url("/voila/render/hands.ipynb"))
    contact = page.get_by_role("slider", name="Left in contact for", exact=True)
    contact.wait_for()
    length = page.get_by_role("slider", name="Length", exact=True)
    box = page.get_by_role("textbox", name="Length, as a number")
    for name in ("film", "point"):
        page.get_by_role("radio", name=name).check()
    length.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(60)
    box.fill("24.5")
    page.get_by_role("button", name="Do it").tap()
    page.get_by_text("point at 24.5").wait_for()
    # What comes in after the press does not set again what the press has put back.
    page.wait_for_timeout(1000)
    assert (length.input_value(), box.input_value()) == ("10", "10.0")
    assert page.get_by_role("radio", name="look").is_checked()
    assert page.get_by_text(re.compile("^(look|film|point) at")).count() == 1

    contact.press("Home")
    page.get_by_role("button", name="Play, second by second").click()
    page.wait_for_function("(one) => one.value > 0.6", arg=contact.element_handle())
    contact.press("End")
    page.get_by_text("After 10.0 s").first.wait_for()
    page.wait_for_timeout(1000)
    assert contact.input_value() == "10"
    assert page.get_by_role("button", name="Play, second by second").is_visible()
    watch.assert_quiet()
