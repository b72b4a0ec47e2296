"""Text that a screen reader speaks when it changes.

A live region must stay in the page while its text changes; an HTML widget replaces the whole
element, which many screen readers pass over in silence. This one keeps the element.
"""

from __future__ import annotations

import anywidget
import traitlets

_ESM = """
function render({ model, el }) {
  const box = document.createElement("div");
  box.className = "lengthwise-spoken";
  const region = document.createElement("div");
  region.setAttribute("role", "status");
  region.setAttribute("aria-live", "polite");
  const quiet = document.createElement("div"); // for the eye alone
  box.append(region, quiet);
  el.append(box);
  function show() {
    const lines = model.get("text").split("\\n").filter((line) => line !== "").map((line) => {
      const paragraph = document.createElement("p");
      paragraph.textContent = line;
      return paragraph;
    });
    const [full, empty] = model.get("aloud") ? [region, quiet] : [quiet, region];
    empty.replaceChildren();
    full.replaceChildren(...lines);
  }
  // What is there already is passed over: it goes for a moment, and its room stays.
  function again() {
    box.style.minHeight = `${box.offsetHeight}px`;
    region.replaceChildren();
    setTimeout(() => { box.style.minHeight = ""; show(); }, 100);
  }
  show();
  model.on("change:text change:aloud", show);
  model.on("change:again", again);
}

export default { render };
"""

SPOKEN_CSS = """
.lengthwise-spoken {
  max-width: 36em; padding: 0 2px; font-size: 16px; line-height: 1.5; color: #1a1a1a;
  overflow-wrap: anywhere;
}
.lengthwise-spoken p { margin: 4px 0 8px; }
"""


class Spoken(anywidget.AnyWidget):
    """Plain sentences, one paragraph a line, announced politely when they change.

    Answer a press with `say`: the same answer to a second press is announced, too. What is not
    ``aloud`` is for the eye alone, as long as something plays; then it is said.

    Examples
    --------
    >>> answer = Spoken(text="The canal ends at 24.6 mm.")
    >>> answer.say("The canal ends at 24.6 mm.")
    >>> answer.text, answer.again
    ('The canal ends at 24.6 mm.', 1)
    """

    _esm = _ESM
    _css = SPOKEN_CSS
    text = traitlets.Unicode("").tag(sync=True)
    again = traitlets.Int(0).tag(sync=True)
    aloud = traitlets.Bool(True).tag(sync=True)

    def say(self, words: str) -> None:
        """Show the words and have them announced, also where they are there already."""
        if words == self.text:
            self.again += 1
        else:
            self.text = words
