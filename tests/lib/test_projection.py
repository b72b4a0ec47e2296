"""The geometry of a radiograph: ratios, perspective, magnification, the rule of the shift."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.physics.projection import (
    View,
    in_room,
    length_by_ratio,
    magnification,
    project,
    project_tooth,
)
from lengthwise.reference.files import read_rows

ANGLES = st.floats(-40.0, 40.0)


def length_in_picture(view: View, first: float, last: float) -> float:
    ends = project_tooth(view, [first, last], 0.0, 0.0)
    return float(np.hypot(*(ends[1] - ends[0])))


def parallel_ratio(axis_deg: float, beam_deg: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Length in the picture over true length, for parallel rays: cos(α - β) / cos β."""
    axis, beam = np.radians(axis_deg), np.radians(beam_deg)
    return np.asarray(np.cos(axis - beam) / np.cos(beam))


@given(axis=ANGLES, beam=ANGLES)
def test_far_away_the_picture_obeys_the_parallel_ratio(axis: float, beam: float) -> None:
    # From 100 km the rays are parallel to a few parts in 10 million.
    view = View(1e8, 10.0, axis_deg=axis, beam_deg=beam, pivot_mm=10.0)
    assert length_in_picture(view, 5.0, 15.0) / 10.0 == pytest.approx(
        float(parallel_ratio(axis, beam)), abs=1e-6
    )


@given(axis=ANGLES)
def test_the_three_textbook_beams(axis: float) -> None:
    """Halving the angle: true length; square to receptor: cos; square to tooth: 1/cos."""
    cosine = np.cos(np.radians(axis))
    for beam, ratio in ((axis / 2, 1.0), (0.0, cosine), (axis, 1 / cosine)):
        view = View(1e8, 10.0, axis_deg=axis, beam_deg=beam, pivot_mm=10.0)
        assert length_in_picture(view, 5.0, 15.0) / 10.0 == pytest.approx(ratio, abs=1e-6)


@given(
    axis=ANGLES,
    beam=ANGLES,
    side=ANGLES,
    along=st.floats(0.0, 26.0),
    distal=st.floats(-5.0, 5.0),
    buccal=st.floats(-5.0, 5.0),
)
def test_source_point_and_its_picture_lie_on_one_line(
    axis: float, beam: float, side: float, along: float, distal: float, buccal: float
) -> None:
    view = View(300.0, 25.0, axis, beam, side, 13.0)
    point = in_room(view, along, distal, buccal)
    picture = np.append(project(view, point), 0.0)
    cross = np.cross(view.source_mm - point, picture - point)
    assert np.abs(cross).max() < 1e-9 * 300.0


def test_perspective_of_one_point_worked_by_hand() -> None:
    # Focus (0, 0, 200), point 10 mm from the axis at height 40: 10 * 200 / 160.
    view = View(200.0, 40.0, pivot_mm=0.0)
    assert project_tooth(view, 10.0, 2.0, 0.0) == pytest.approx([2.5, 12.5], abs=1e-12)


@given(beam=ANGLES, side=ANGLES, focus=st.floats(150.0, 500.0), tooth=st.floats(0.0, 60.0))
def test_what_lies_parallel_is_magnified_alike_at_every_angle(
    beam: float, side: float, focus: float, tooth: float
) -> None:
    view = View(focus, tooth, beam_deg=beam, horizontal_deg=side, pivot_mm=13.0)
    found = length_in_picture(view, 3.0, 23.0) / 20.0
    assert found == pytest.approx(float(magnification(focus, tooth)), abs=1e-9)


@pytest.mark.parametrize("row", read_rows("magnification"), ids=lambda row: row["id"])
def test_magnification_agrees_with_the_table(row: dict[str, str]) -> None:
    found = magnification(float(row["focus_to_receptor_mm"]), float(row["tooth_to_receptor_mm"]))
    assert float(found) == pytest.approx(float(row["magnification_ratio"]), abs=0.0005)


def error_of_the_ratio_rule(axis_deg: float, beam_deg: float, focus_mm: float) -> float:
    """A canal of 24 mm by a file of 22 mm in the same picture; the crown's end 8 mm away."""
    view = View(focus_mm, 8.0, axis_deg, beam_deg, pivot_mm=0.0)
    lengths = [length_in_picture(view, 0.0, end) for end in (24.0, 22.0)]
    return float(length_by_ratio(lengths[0], lengths[1], 22.0)) - 24.0


@given(beam=ANGLES, focus=st.floats(150.0, 500.0))
def test_the_ratio_rule_is_exact_where_the_axis_is_parallel(beam: float, focus: float) -> None:
    assert error_of_the_ratio_rule(0.0, beam, focus) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("beam_deg", [0.0, 10.0, 20.0])
@pytest.mark.parametrize(("focus_mm", "most"), [(300.0, 0.06), (400.0, 0.06), (200.0, 0.10)])
def test_at_twenty_degrees_the_ratio_rule_is_off_by_hundredths(
    focus_mm: float, most: float, beam_deg: float
) -> None:
    """0.04 mm at 40 cm, 0.06 at 30 cm; a focus as near as 20 cm makes it 0.09."""
    assert 0.02 <= error_of_the_ratio_rule(20.0, beam_deg, focus_mm) <= most


@given(side=st.floats(5.0, 40.0), apart=st.floats(0.5, 8.0), lean=st.floats(-20.0, 20.0))
def test_what_lies_lingual_goes_with_the_source_and_what_lies_buccal_against_it(
    side: float, apart: float, lean: float
) -> None:
    """Same side lingual, opposite side buccal: common practice."""
    straight = View(400.0, 20.0, lean, lean / 2, 0.0, 13.0)
    shifted = View(400.0, 20.0, lean, lean / 2, side, 13.0)
    middle, buccal, lingual = (
        float(project_tooth(shifted, 13.0, 0.0, place)[0])
        - float(project_tooth(straight, 13.0, 0.0, place)[0])
        for place in (0.0, apart / 2, -apart / 2)
    )
    assert lingual > middle > buccal  # the source moved distally, and distal is positive
    mirrored = View(400.0, 20.0, lean, lean / 2, -side, 13.0)
    back = [float(project_tooth(mirrored, 13.0, 0.0, s * apart / 2)[0]) for s in (-1, 0, 1)]
    assert back == sorted(back)
    # Both in the same place when seen straight: the shift is what separates them.
    assert project_tooth(straight, 13.0, 0.0, apart)[0] == pytest.approx(0.0, abs=1e-12)


def test_a_straight_picture_cannot_tell_buccal_from_lingual() -> None:
    # From far away; a near source tells them apart by a trace of magnification only.
    view = View(1e8, 20.0, pivot_mm=13.0)
    assert project_tooth(view, 25.0, 0.2, 1.0) == pytest.approx(
        project_tooth(view, 25.0, 0.2, -1.0), abs=1e-6
    )


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"tooth_receptor_mm": 360.0}, "tooth_receptor_mm"),
        ({"tooth_receptor_mm": -1.0}, "tooth_receptor_mm"),
        ({"beam_deg": 85.0}, "beam_deg"),
        ({"horizontal_deg": float("nan")}, "horizontal_deg"),
        ({"axis_deg": -80.0}, "axis_deg"),
    ],
)
def test_an_impossible_view_is_refused(change: dict[str, float], field: str) -> None:
    good = {"focus_receptor_mm": 400.0, "tooth_receptor_mm": 20.0}
    with pytest.raises(ValueError, match=rf"field {field}: got .*allowed is"):
        View(**good | change)
