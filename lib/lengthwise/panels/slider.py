"""A slider that everyone can use: a native range with a visible label and a number box.

It works by keyboard, says its name and its value with the unit to a screen reader, and keeps
a touch target of 44 px at phone width. While the kernel is busy only the latest value waits, and
a button pressed then acts on that value all the same: see `Hand`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import traitlets

from lengthwise.panels.front_end import CONTROL_CSS
from lengthwise.panels.hand import HAND_JS, Hand

SHORT_PAST = ("short", "past")
"""What lies before a landmark and what lies beyond it: everywhere in this order, never as signs."""

_ESM = (
    HAND_JS
    + r"""
let count = 0;

function render({ model, el }) {
  const id = `lengthwise-slider-${++count}-${Math.floor(Math.random() * 1e9)}`;
  const box = document.createElement("div");
  box.className = "lengthwise-control lengthwise-slider";
  const label = document.createElement("label");
  label.htmlFor = id;
  const range = document.createElement("input");
  range.type = "range";
  range.id = id;
  const number = document.createElement("input");
  number.type = "text"; // a box of type "number" swallows a decimal comma
  number.inputMode = "decimal";
  const unit = document.createElement("span");
  unit.setAttribute("aria-hidden", "true");
  for (const input of [range, number]) {
    // In a notebook the arrow keys would go to the cells, and letters would be commands.
    input.setAttribute("data-lm-suppress-shortcuts", "true");
  }
  const note = document.createElement("p");
  note.className = "lengthwise-slider-note";
  note.setAttribute("role", "status");
  const row = document.createElement("div");
  row.className = "lengthwise-row";
  row.append(range, number, unit);
  box.append(label, row, note);
  el.append(box);

  const decimals = () => {
    const text = String(model.get("step"));
    return text.includes(".") ? text.split(".")[1].length : 0;
  };
  const sides = () => model.get("sides");
  function inWords(value) {
    const said = `${Math.abs(value).toFixed(decimals())} ${model.get("unit")}`.trim();
    if (sides().length === 0) return value < 0 ? `-${said}` : said;
    return Number.parseFloat(said) === 0 ? said : `${said} ${sides()[value < 0 ? 0 : 1]}`;
  }

  function describe() {
    label.textContent = model.get("label");
    number.setAttribute("aria-label", `${model.get("label")}, as a number`);
    unit.textContent = sides().length === 0 ? model.get("unit") : "";
    number.classList.toggle("lengthwise-wide", sides().length > 0);
    range.min = model.get("min");
    range.max = model.get("max");
    range.step = model.get("step");
    range.disabled = number.disabled = model.get("disabled");
    showRange(model.get("value")); // other ends or another step move it
  }
  function showRange(value) {
    range.value = value;
    range.setAttribute("aria-valuetext", inWords(value));
  }
  function showNumber(value) {
    number.value = sides().length === 0 ? value.toFixed(decimals()) : inWords(value);
  }
  // Digits with one point, and the unit if one likes; null for all else. With sides in words, "0.4
  // short" is what -0.4 is without; a bare 0.4 stays on its side.
  function understood(raw) {
    const typed = raw.toLowerCase().replace(",", ".").replace("−", "-");
    const found = /^([+-]?)\s*(\d+\.?\d*|\.\d+)\s*(.*)$/.exec(typed);
    if (found === null) return null;
    const [, sign, digits, after] = found;
    const unit = model.get("unit").toLowerCase();
    const word = after.startsWith(unit) ? after.slice(unit.length).trim() : after;
    const side = word === "" ? -1 : sides().findIndex((each) => each.startsWith(word));
    if (word !== "" && side < 0) return null;
    if (sides().length > 0 && word === "" && sign === "") return onItsSide(Number(digits));
    return side === 0 || sign === "-" ? -Number(digits) : Number(digits);
  }
  // A number without a side stays on that of the slider, unless there is room on the other only.
  function onItsSide(size) {
    const fits = (value) => value >= model.get("min") && value <= model.get("max");
    const value = Number(range.value) < 0 ? -size : size;
    return !fits(value) && fits(-value) ? -value : value;
  }
  // Nobody's number is changed in silence.
  function changedWords(raw, typed, value) {
    if (raw === "") return `Nothing was typed. It stays at ${inWords(value)}.`;
    if (typed === null) return `“${raw}” is not a number. It stays at ${inWords(value)}.`;
    if (Math.abs(typed - value) < 1e-9) {
      return sides().length === 0 ? "" : `It is set to ${inWords(value)}.`;
    }
    const [low, high] = [model.get("min"), model.get("max")];
    if (typed < low || typed > high) {
      return `You typed ${raw}; here it goes from ${inWords(low)} to ${inWords(high)}. It is set `
        + `to ${inWords(value)}.`;
    }
    return `You typed ${raw}; it is set to the nearest step, ${inWords(value)}.`;
  }
  function fromKernel() {
    const value = model.get("value");
    if (Number(range.value) !== value) showRange(value);
    if (document.activeElement !== number) showNumber(value);
  }

  // At most one message a frame of the screen; while the kernel is busy the widget layer
  // holds back all but the last.
  let due = false;
  function soon() {
    if (!due) requestAnimationFrame(() => { due = false; model.save_changes(); });
    due = true;
  }
  range.addEventListener("input", () => {
    note.textContent = "";
    const value = Number(range.value);
    range.setAttribute("aria-valuetext", inWords(value));
    showNumber(value);
    set_by_hand(model, { value, touched: true });
    soon();
  });
  // Said once when the hand lets go, for what is too slow to follow every step. Not a frame later:
  // the tap on a button that ends the typing comes in the same moment.
  function settle(value) {
    set_by_hand(model, { value, touched: true, settled: value });
    model.save_changes();
  }
  range.addEventListener("change", () => settle(Number(range.value)));
  number.addEventListener("change", () => {
    const raw = number.value.trim();
    const typed = understood(raw);
    // The range moves it to the nearest allowed step; what it cannot read, it would put half-way.
    if (typed !== null) range.value = String(typed);
    const value = Number(range.value);
    note.textContent = changedWords(raw, typed, value);
    showRange(value);
    showNumber(value);
    if (typed !== null) settle(value);
  });
  // What the kernel changed while the box was typed in.
  number.addEventListener("blur", () => showNumber(model.get("value")));

  describe();
  showNumber(model.get("value"));
  model.on("change:value", fromKernel);
  model.on("change:label change:unit change:min change:max change:step change:disabled", describe);
  return ahead_of_every_press(model, el, ["value", "touched", "settled"]);
}

export default { render };
"""
)

_CSS = (
    CONTROL_CSS
    + """
.lengthwise-slider .lengthwise-row { display: flex; align-items: center; gap: 8px; }
.lengthwise-slider .lengthwise-slider-note { margin: 4px 0; font-size: 16px; line-height: 1.4; }
.lengthwise-slider .lengthwise-slider-note:empty { margin: 0; }
.lengthwise-slider input[type="range"] {
  flex: 1 1 140px; min-width: 100px; height: 44px; margin: 0; accent-color: #0b4f8a;
  cursor: pointer;
}
.lengthwise-slider input[type="text"].lengthwise-wide { width: 8.5em; }
.lengthwise-slider input[type="text"] {
  flex: 0 0 auto; width: 5.5em; height: 44px; padding: 0 6px; font: inherit;
  color: #1a1a1a; background: #ffffff; border: 1px solid #6b6b6b; border-radius: 4px;
}
"""
)


class Slider(Hand):
    """A number chosen by sliding, typing or the arrow keys.

    Make one with `slider`, which checks its arguments. Observe its ``value`` for what follows
    every step within a few hundredths of a second, and ``settled`` for what may take longer: it
    changes when the hand lets go. It is ``touched`` as soon as somebody chose, also where it stood.
    """

    _esm = _ESM
    _css = _CSS
    value = traitlets.Float(0.0).tag(sync=True)
    settled = traitlets.Float(0.0).tag(sync=True)
    min = traitlets.Float(0.0).tag(sync=True)
    max = traitlets.Float(1.0).tag(sync=True)
    step = traitlets.Float(0.1).tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    unit = traitlets.Unicode("").tag(sync=True)
    sides = traitlets.List(traitlets.Unicode()).tag(sync=True)
    touched = traitlets.Bool(False).tag(sync=True)
    disabled = traitlets.Bool(False).tag(sync=True)

    def in_words(self, value: float) -> str:
        """A value as the slider says it: with its unit, and its side in words."""
        decimals = len(f"{self.step:g}".partition(".")[2])
        if not self.sides:
            return f"{value:.{decimals}f} {self.unit}".strip()
        said = f"{abs(value):.{decimals}f}"
        side = self.sides[0 if value < 0 else 1] if float(said) else ""
        return f"{said} {self.unit} {side}".strip()

    @traitlets.validate("value", "settled")
    def _inside(self, proposal: Any) -> float:
        # A page may send anything; the value stays on the ruler.
        value = float(proposal["value"])
        if math.isnan(value):
            return float(self.value)
        return min(max(value, float(self.min)), float(self.max))

    @traitlets.observe("value")
    def _chosen(self, _change: Any) -> None:
        self.touched = True


def slider(
    label: str,
    *,
    value: float,
    low: float,
    high: float,
    step: float,
    unit: str = "mm",
    sides: Sequence[str] = (),
) -> Slider:
    """Make a slider.

    Parameters
    ----------
    label
        What it moves, in words; visible, and the slider's name for a screen reader.
    value, low, high, step
        Start value, ends and step, in `unit`.
    unit
        The unit, shown beside the number and spoken with it.
    sides
        Where 0 is a place: the words for less than 0 and for more, said in place of signs.

    Returns
    -------
    Slider
        The widget.

    Raises
    ------
    ValueError
        If the label is empty, the ends are in the wrong order, the step is not positive, the
        start value lies outside, or there are other than two sides.

    Examples
    --------
    >>> tip = slider("File tip at", value=24.5, low=20.0, high=28.0, step=0.25)
    >>> tip.value, tip.unit
    (24.5, 'mm')
    >>> end = slider("The filling ends", value=-0.5, low=-4, high=2, step=0.1, sides=SHORT_PAST)
    >>> end.in_words(end.value), end.in_words(1.0), end.in_words(0.0)
    ('0.5 mm short', '1.0 mm past', '0.0 mm')
    """
    if not label.strip():
        raise ValueError("label: got an empty text; say in a few words what the slider moves.")
    if not low < high:
        raise ValueError(f"low, high: got {low} and {high}; low must be less than high.")
    if not step > 0:
        raise ValueError(f"step: got {step}; it must be more than 0.")
    if not low <= value <= high:
        raise ValueError(f"value: got {value}; it must lie from {low} to {high}.")
    if len(sides) not in (0, 2):
        raise ValueError(f"sides: got {list(sides)}; give two words, for less than 0 and for more.")
    # The ends first: the value is checked against them.
    made = Slider(min=low, max=high, step=step, label=label, unit=unit, sides=list(sides))
    made.value = made.settled = value
    made.touched = False
    return made
