"""What the small widgets of the course share in the browser: sizes, focus and colours.

The style is written out beside each widget, because nothing may be loaded from outside the
student's own machine.
"""

CONTROL_CSS = """
.lengthwise-control {
  box-sizing: border-box; max-width: min(100%, 34em); padding: 4px 2px; font-family: inherit;
  font-size: 16px; line-height: 1.4; color: #1a1a1a;
}
.lengthwise-slider > label, .lengthwise-control legend {
  display: block; padding: 0; font-weight: 600; white-space: normal;
}
.lengthwise-control input:focus-visible, .lengthwise-control button:focus-visible,
.lengthwise-control select:focus-visible {
  outline: 3px solid #0b4f8a; outline-offset: 2px;
}
"""
"""Touch targets of 44 px, text of 16 px, and a focus ring that can be seen."""
