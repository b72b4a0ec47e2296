"""The palette is measured: contrast on white, and distance under colour-vision deficiency."""

from __future__ import annotations

import inspect
import re
from itertools import combinations
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from lengthwise.panels import slider as slider_module
from lengthwise.panels.front_end import CONTROL_CSS
from lengthwise.panels.palette import CUES, INK, PAPER, STYLE_FILE, course_style, cue_for
from numpy.typing import NDArray

Vector = NDArray[np.float64]

PANELS = Path(inspect.getfile(slider_module)).parent
LEAST_CONTRAST = 4.5  # WCAG 2.2, success criterion 1.4.3, text of ordinary size
LEAST_DISTANCE = 20.0  # CIELAB units; about ten times what is just noticeable

# Machado, Oliveira & Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15:1291, severity 1.0,
# applied to linear RGB.
DEFICIENCIES = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
    "none": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
}
COLOURS = {kind: cue.colour for kind, cue in CUES.items()} | {"the answer": INK}


def linear_rgb(colour: str) -> Vector:
    """IEC 61966-2-1 (sRGB) to linear light."""
    coded = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio: (L1 + 0.05) / (L2 + 0.05)."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    light, dark = sorted((float(linear_rgb(c) @ weights) for c in (one, other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def cielab(linear: Vector) -> Vector:
    """Linear sRGB to CIE 1976 L*a*b*, white point D65."""
    to_xyz = np.array(
        [
            [0.4124564, 0.3575761, 0.1804375],
            [0.2126729, 0.7151522, 0.0721750],
            [0.0193339, 0.1191920, 0.9503041],
        ]
    )
    xyz = to_xyz @ linear / np.array([0.95047, 1.0, 1.08883])
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one: str, other: str, deficiency: str) -> float:
    seen = [
        cielab(np.clip(np.array(DEFICIENCIES[deficiency]) @ linear_rgb(c), 0, 1))
        for c in (one, other)
    ]
    return float(np.linalg.norm(seen[0] - seen[1]))


def test_the_contrast_formula_gives_the_published_extremes_and_grey() -> None:
    # WCAG 2.2: 21 : 1 between black and white. #767676 is the lightest grey that passes 4.5.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") >= LEAST_CONTRAST > contrast("#777777", "#ffffff")


def test_the_lab_conversion_gives_the_published_lightness_of_pure_red() -> None:
    # CIE L*a*b* of sRGB red, D65: 53.24, 80.09, 67.20 (from memory; two decimals).
    assert cielab(linear_rgb("#ff0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.02)


@pytest.mark.parametrize("kind", COLOURS)
def test_every_colour_stands_out_from_the_page(kind: str) -> None:
    assert contrast(COLOURS[kind], PAPER) >= LEAST_CONTRAST


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
@pytest.mark.parametrize("pair", list(combinations(COLOURS, 2)))
def test_any_two_colours_stay_apart_for_every_eye(pair: tuple[str, str], deficiency: str) -> None:
    assert distance(COLOURS[pair[0]], COLOURS[pair[1]], deficiency) >= LEAST_DISTANCE


def test_the_distance_check_catches_a_red_and_a_green_that_look_alike() -> None:
    # Chosen so that a deuteranope confuses them and nobody else does.
    assert distance("#a85a00", "#6f7a00", "none") > LEAST_DISTANCE
    assert distance("#a85a00", "#6f7a00", "deuteranopia") < LEAST_DISTANCE


def test_colour_is_never_the_only_cue() -> None:
    assert len({cue.marker for cue in CUES.values()}) == len(CUES)
    assert len({str(cue.dash) for cue in CUES.values()}) == len(CUES)


def test_the_style_file_uses_the_palette_in_its_order() -> None:
    with course_style():
        cycle = [entry["color"] for entry in matplotlib.rcParams["axes.prop_cycle"]]
    assert list(cycle) == [cue.colour for cue in CUES.values()]


def test_every_text_of_a_picture_is_at_least_ten_points_on_a_phone() -> None:
    # 4.5 inches of picture are 432 CSS pixels; a phone of 390 leaves 358 of them.
    with course_style():
        sizes = {
            key: value
            for key, value in matplotlib.rcParams.items()
            if key in ("font.size", "axes.labelsize", "axes.titlesize", "legend.fontsize")
            or key in ("xtick.labelsize", "ytick.labelsize", "figure.titlesize")
        }
    assert len(sizes) == 7
    assert all(size * 358 / 432 >= 10 for size in sizes.values()), sizes


def test_ink_colours_of_the_style_file_stand_out_from_the_page() -> None:
    with course_style():
        inks = [
            matplotlib.rcParams[key]
            for key in ("text.color", "axes.labelcolor", "xtick.color", "ytick.color")
        ]
        grounds = {matplotlib.rcParams[key] for key in ("figure.facecolor", "axes.facecolor")}
    assert grounds == {"white"}
    assert all(contrast(f"#{ink.lstrip('#')}", PAPER) >= LEAST_CONTRAST for ink in inks)


def words_hard_to_read(css: str) -> list[str]:
    """Colours of words in a style sheet that do not stand out from what words stand on."""
    colours = {full(c) for c in re.findall(r"(?<![-\w])color:\s*(#[0-9a-f]{3,6})\b", css)}
    grounds = [PAPER, BOX, BUTTON]
    return sorted(
        c
        for c in colours
        # White words stand on the button, all others on the page and on its boxes.
        if min(contrast(c, ground) for ground in (grounds[2:] if c == PAPER else grounds[:2]))
        < LEAST_CONTRAST
    )


def full(colour: str) -> str:
    """#abc is short for #aabbcc."""
    return colour if len(colour) == 7 else "#" + "".join(2 * c for c in colour[1:])


BOX, BUTTON = "#f4f4f1", "#0b4f8a"  # a quotation's ground, a button
SHEETS = [
    *PANELS.rglob("*.css"), *PANELS.rglob("*.html"), *PANELS.glob("*.py"),
    *PANELS.with_name("classroom").glob("*.css"), *PANELS.with_name("classroom").glob("*.py"),
]  # fmt: skip


def test_words_of_every_style_sheet_stand_out_from_what_they_stand_on() -> None:
    wrong = {path.name: words_hard_to_read(path.read_text(encoding="utf-8")) for path in SHEETS}
    assert {name: colours for name, colours in wrong.items() if colours} == {}
    assert sum("color: #" in path.read_text(encoding="utf-8") for path in SHEETS) >= 6


def test_pale_words_in_a_style_sheet_are_found() -> None:
    assert words_hard_to_read("p { color: #aaa } a { background-color: #999999 }") == ["#aaaaaa"]
    assert words_hard_to_read("p { color: #767676 }") == ["#767676"]  # on white it would do


def test_borders_that_show_where_to_type_stand_out() -> None:
    # WCAG 2.2, success criterion 1.4.11: 3 to 1 for what shows where a control is.
    found = re.findall(r"border: \dpx solid (#\w+)", CONTROL_CSS + inspect.getsource(slider_module))
    assert found
    assert all(contrast(full(colour), PAPER) >= 3 for colour in found)


def test_the_style_does_not_leak_into_other_pictures() -> None:
    before = matplotlib.rcParams["font.size"]
    with course_style():
        assert matplotlib.rcParams["font.size"] == 12.5
    assert matplotlib.rcParams["font.size"] == before
    assert STYLE_FILE.is_file()


def test_an_unknown_kind_names_the_kinds_there_are() -> None:
    with pytest.raises(ValueError, match=r"kind: got 'crystal ball'.*point_trial"):
        cue_for("crystal ball")
