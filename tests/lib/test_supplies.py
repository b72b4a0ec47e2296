"""Which instruments and points reach a working length, and what is said when none does."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.reconciliation.supplies import (
    VERDICTS,
    Reach,
    lay_out,
    longest_reached_mm,
)
from lengthwise.reference import supplies as s
from lengthwise.reference.supplies import Kind, Supply, supplies

KINDS: tuple[Kind, ...] = ("file", "gutta-percha point", "absorbent point")
LENGTHS = st.integers(60, 440).map(lambda tenths: tenths / 10)


def of(name: str, working_length_mm: float, **settings: object) -> Reach:
    (found,) = (
        reach
        for reach in lay_out(working_length_mm, **settings).reaches  # type: ignore[arg-type]
        if reach.supply.name == name
    )
    return found


@pytest.mark.parametrize(
    ("name", "length_mm", "held_by", "verdict"),
    # Worked by hand. A stop of 1.5 mm and 1.0 for fingers or 2.0 for a handpiece stay outside;
    # tweezers keep 2.0 mm of a point, whose own length is good to 1 mm either way.
    [
        ("31 mm file", 28.5, "fingers", "reaches"),
        ("31 mm file", 28.6, "fingers", "too short to hold"),
        ("31 mm file", 28.5, "handpiece", "too short to hold"),
        ("31 mm file", 27.5, "handpiece", "reaches"),
        ("25 mm file", 22.5, "fingers", "reaches"),
        ("25 mm file", 25.0, "fingers", "too short to hold"),
        ("25 mm file", 25.1, "fingers", "does not reach"),
        ("28 mm gutta-percha point", 25.0, "fingers", "reaches"),
        ("28 mm gutta-percha point", 25.1, "fingers", "measure it"),
        ("28 mm gutta-percha point", 27.0, "fingers", "measure it"),
        ("28 mm gutta-percha point", 27.1, "fingers", "too short to hold"),
        ("28 mm gutta-percha point", 29.1, "fingers", "does not reach"),
        ("24 mm gutta-percha point", 21.0, "fingers", "reaches"),
        ("28 mm absorbent point", 26.0, "handpiece", "measure it"),
    ],
)
def test_a_supply_is_judged_by_what_is_left_to_hold(
    name: str, length_mm: float, held_by: str, verdict: str
) -> None:
    found = of(name, length_mm, held_by=held_by)
    assert found.verdict == verdict
    assert found.left_mm == pytest.approx(found.supply.length_mm - length_mm)


def test_a_long_canine_outruns_every_point_and_all_files_but_one() -> None:
    """Points are mostly about 28 mm long, and a canine may be 28 mm or longer: common practice."""
    plan = lay_out(28.5)
    chosen = plan.chosen("file")
    assert chosen is not None
    assert chosen.supply.length_mm == 31
    assert plan.chosen("gutta-percha point") is None
    assert plan.best("gutta-percha point") == "too short to hold"
    said = " ".join(step.sentence for step in plan.steps)
    for word in ("ruler", "longer kind", "tweezers", "softened gutta-percha", "supervisor"):
        assert word in said
    assert all(step.what and step.why for step in plan.steps)
    assert len(set(plan.steps)) == len(plan.steps)
    assert plan.steps[-1].what.startswith("Ask your supervisor")


def test_the_shortest_file_that_reaches_is_chosen() -> None:
    for length, expected in ((18.0, 21), (20.0, 25), (24.0, 28), (27.0, 31)):
        chosen = lay_out(length).chosen("file")
        assert chosen is not None
        assert chosen.supply.length_mm == expected


def test_a_longer_file_is_advised_only_where_a_longer_one_is_sold() -> None:
    short_set = [one for one in supplies() if one.kind == "file" and one.length_mm <= 25]
    advised = lay_out(27.0, at_hand=short_set).steps
    assert "Take a longer file" in [step.what for step in advised]
    beyond = lay_out(30.0).steps
    assert "Take a longer file" not in [step.what for step in beyond]
    assert "lower reference point" in beyond[0].what


def test_a_handpiece_needs_more_room_than_fingers() -> None:
    for one in supplies():
        difference = longest_reached_mm(one) - longest_reached_mm(one, "handpiece")
        assert difference == pytest.approx(1.0 if one.kind == "file" else 0.0)


def test_nothing_is_advised_when_everything_reaches() -> None:
    assert lay_out(20.0).steps == ()


def test_reducing_the_reference_shortens_the_length_and_nothing_else() -> None:
    assert lay_out(28.5, reference_reduced_mm=1.5) == lay_out(27.0)


@given(LENGTHS, LENGTHS, st.sampled_from(["fingers", "handpiece"]))
def test_a_shorter_canal_is_never_harder_to_reach(one: float, other: float, held_by: str) -> None:
    short, long = sorted((one, other))
    plans = [lay_out(length, held_by=held_by) for length in (short, long)]  # type: ignore[arg-type]
    for near, far in zip(plans[0].reaches, plans[1].reaches, strict=True):
        assert VERDICTS.index(near.verdict) <= VERDICTS.index(far.verdict)


@given(LENGTHS)
def test_what_is_chosen_leaves_enough_to_hold_and_no_shorter_one_does(length: float) -> None:
    plan = lay_out(length)
    for kind in KINDS:
        chosen, all_of_it = plan.chosen(kind), plan.of(kind)
        good = [reach for reach in all_of_it if reach.verdict == "reaches"]
        assert chosen == (good[0] if good else None)
        for reach in good:
            assert reach.left_mm - reach.supply.spread_mm >= reach.needed_mm - 1e-6
        assert (plan.best(kind) == "reaches") == bool(good)
    assert (plan.steps == ()) == all(plan.chosen(kind) for kind in KINDS)


@given(LENGTHS)
def test_every_sentence_says_its_lengths(length: float) -> None:
    for reach in lay_out(length).reaches:
        assert reach.supply.name in reach.sentence
        assert f"{abs(reach.left_mm):.1f} mm" in reach.sentence
        assert ("Measure" in reach.sentence) == (reach.verdict == "measure it")


@pytest.mark.parametrize(
    ("settings", "complaint"),
    [
        ({"working_length_mm": 285.0}, "field working_length_mm: got 285; allowed is 6 to 44 mm"),
        ({"working_length_mm": math.nan}, "field working_length_mm: got nan"),
        ({"working_length_mm": -3.0}, "field working_length_mm: got -3"),
        (
            {"working_length_mm": 25.0, "reference_reduced_mm": 6.0},
            "field reference_reduced_mm: got 6; allowed is 0 to 5 mm",
        ),
        (
            {"working_length_mm": 25.0, "reference_reduced_mm": -1.0},
            "field reference_reduced_mm: got -1",
        ),
        ({"working_length_mm": 25.0, "held_by": "teeth"}, "field held_by: got 'teeth'"),
        ({"working_length_mm": 25.0, "at_hand": []}, "field at_hand: got nothing"),
    ],
)
def test_bad_input_is_refused_with_what_is_allowed(
    settings: dict[str, object], complaint: str
) -> None:
    with pytest.raises(ValueError, match=complaint):
        lay_out(**settings)  # type: ignore[arg-type]


def test_records_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        lay_out(25.0).reaches[0].left_mm = 3.0  # type: ignore[misc]


def test_what_a_clinic_has_may_be_laid_out_instead() -> None:
    measured = Supply("gutta-percha point", 32.0, "measured on a ruler", "our shelf", "seen")
    plan = lay_out(28.5, at_hand=[measured])
    assert plan.chosen("gutta-percha point") == plan.reaches[0]


def test_that_no_point_serves_the_long_canine_does_not_hang_on_how_it_is_held() -> None:
    """Even with the least that tweezers may need, and a point as long as points said so may be."""
    least = s.TWEEZERS_MM.low
    assert least is not None
    longest = max(one.length_mm for one in supplies() if one.kind == "gutta-percha point")
    assert longest + s.POINT_LENGTH_SPREAD_MM.value - least < 28.5
