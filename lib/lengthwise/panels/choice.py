"""One answer out of a few, as native radio buttons inside a named group.

The stock radio buttons have no group name for a screen reader and cut long answers off at
phone width; these do neither.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import traitlets

from lengthwise.panels.front_end import CONTROL_CSS
from lengthwise.panels.hand import HAND_JS, Hand

_ESM = (
    HAND_JS
    + """
let count = 0;

function render({ model, el }) {
  const name = `lengthwise-choice-${++count}-${Math.floor(Math.random() * 1e9)}`;
  const group = document.createElement("fieldset");
  group.className = `lengthwise-control lengthwise-choice lengthwise-${model.get("arrangement")}`;
  const legend = document.createElement("legend");
  legend.textContent = model.get("label");
  group.append(legend);
  const heads = model.get("heads");
  let row = group;
  const buttons = model.get("options").map((text, at) => {
    if (heads.length > 0 && heads[at] !== heads[at - 1]) {
      row = document.createElement("div");
      row.className = "lengthwise-some";
      row.setAttribute("role", "group");
      row.setAttribute("aria-label", heads[at]);
      const head = document.createElement("span");
      head.setAttribute("aria-hidden", "true");
      head.textContent = heads[at];
      row.append(head);
      group.append(row);
    }
    const label = document.createElement("label");
    label.className = "lengthwise-option";
    const radio = document.createElement("input");
    radio.type = "radio";
    // In a notebook the arrow keys would go to the cells, and letters would be commands.
    radio.setAttribute("data-lm-suppress-shortcuts", "true");
    radio.name = name;
    radio.value = text;
    radio.addEventListener("change", () => {
      set_by_hand(model, { value: text });
      model.save_changes();
    });
    const words = document.createElement("span");
    words.textContent = text;
    label.append(radio, words);
    row.append(label);
    return radio;
  });
  function show() {
    for (const radio of buttons) radio.checked = radio.value === model.get("value");
    group.disabled = model.get("disabled");
  }
  show();
  model.on("change:value change:disabled", show);
  el.append(group);
  return ahead_of_every_press(model, el, ["value"]);
}

export default { render };
"""
)

_CSS = (
    CONTROL_CSS
    + """
.lengthwise-choice { border: 0; margin: 0; min-width: 0; }
.lengthwise-choice .lengthwise-option {
  display: flex; align-items: center; gap: 10px; min-height: 44px; cursor: pointer;
}
.lengthwise-choice.lengthwise-column .lengthwise-option { padding: 3px 0; }
.lengthwise-choice.lengthwise-row { display: flex; flex-wrap: wrap; column-gap: 16px; }
.lengthwise-choice.lengthwise-row legend { float: left; width: 100%; }
.lengthwise-choice .lengthwise-some {
  display: flex; flex-wrap: wrap; column-gap: 16px; align-items: center; width: 100%;
  border-top: 1px solid #d0d0d0;
}
.lengthwise-choice .lengthwise-some > span { flex: 0 0 100%; font-weight: 600; padding-top: 4px; }
.lengthwise-choice input[type="radio"] {
  flex: 0 0 auto; width: 22px; height: 22px; margin: 0; accent-color: #0b4f8a;
}
.lengthwise-choice[disabled] .lengthwise-option { cursor: default; }
"""
)


class Choice(Hand):
    """A group of radio buttons. Make one with `choice`; observe its ``value``."""

    _esm = _ESM
    _css = _CSS
    label = traitlets.Unicode("").tag(sync=True)
    options = traitlets.List(traitlets.Unicode()).tag(sync=True)
    heads = traitlets.List(traitlets.Unicode()).tag(sync=True)
    value = traitlets.Unicode("").tag(sync=True)
    arrangement = traitlets.Enum(["column", "row"], "column").tag(sync=True)
    disabled = traitlets.Bool(False).tag(sync=True)

    @traitlets.validate("value")
    def _known(self, proposal: Any) -> str:
        # A page may send anything; an answer that is not on offer changes nothing.
        value = str(proposal["value"])
        return value if value in ("", *self.options) else str(self.value)


def choice(
    label: str,
    options: Sequence[str],
    *,
    value: str = "",
    arrangement: str = "column",
    heads: Sequence[str] = (),
) -> Choice:
    """Make a group of radio buttons.

    Parameters
    ----------
    label
        The question or the name of the group; visible, and read out before the answers.
    options
        The answers, at least two and all different.
    value
        The answer chosen at the start; empty for none.
    arrangement
        ``"column"`` for sentences, ``"row"`` for single words; a row wraps on a phone.
    heads
        Where answers are many: for each the name of the group it is shown in. Those of one group
        stand beside each other.

    Returns
    -------
    Choice
        The widget.

    Raises
    ------
    ValueError
        If the label is empty, there are fewer than two different answers, the start value is not
        one of them, or heads are not one for each answer.

    Examples
    --------
    >>> trust = choice("Film", ["keep", "distrust", "drop"], value="keep", arrangement="row")
    >>> trust.value
    'keep'
    """
    if not label.strip():
        raise ValueError("label: got an empty text; write the question or name the group.")
    if len(options) < 2 or len(set(options)) != len(options):
        raise ValueError(f"options: got {list(options)}; give at least two, all different.")
    if value not in ("", *options):
        raise ValueError(f"value: got {value!r}; it must be one of {list(options)}, or empty.")
    if heads and len(heads) != len(options):
        raise ValueError(f"heads: got {len(heads)} for {len(options)} answers; give one for each.")
    made = Choice(label=label, options=list(options), arrangement=arrangement, heads=list(heads))
    made.value = value
    return made
