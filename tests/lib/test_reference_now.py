"""What a stop is set to at a visit with another reference is told as it was recorded."""

import pytest
from lengthwise.evidence import Evidence, TactileStop
from lengthwise.reconciliation.reference_now import reference_warning


@pytest.mark.parametrize(
    ("offset_mm", "told"),
    [(0.25, "0.25 mm shorter"), (-0.75, "0.75 mm longer"), (1.5, "1.5 mm shorter"),
     (2.0, "2.0 mm shorter"), (0.05, "0.05 mm shorter")],
)  # fmt: skip
def test_an_offset_is_told_to_the_step_that_a_stop_is_set_to(offset_mm, told):
    stop = TactileStop(
        length_mm=19.5, visit=2, reference_point="cusp, reduced", reference_offset_mm=offset_mm
    )
    case = Evidence(tooth="14", canal="B", reference_point="cusp tip", evidence=(stop,))
    assert f"set it {told} there." in reference_warning(case)
