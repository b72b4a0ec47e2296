"""The four questions of assignment a1: know the landmarks, place them, and leave the average.

Every student gets teeth of their own from the population. Teeth are drawn until the answer can
be told from what is shown to a tenth of a millimetre; everything that is asked follows from it.
"""

from collections.abc import Callable

import numpy as np

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.reference.tables import Tooth, tooth

from .exercise import Asked, Exercise, Slip
from .sheet import Sheet
from .tooth_words import TEETH, named

Generator = np.random.Generator

MOST_TRIES = 2000
MARKS = ("A", "B", "C", "D", "E")
FULL_MM, NOTHING_MM = 0.1, 0.5
"""A length earns all within the first, and nothing from the second on."""

APART_MM = 0.25
"""Landmarks lie at least this far apart, so that rounding cannot make one of two."""

LONG_MM = 1.2
"""The tooth of the third question is longer than the average by at least this."""

CLASS_SIZE = 20
OFF_MM = 1.0
LOOKS_SHORT_MM = 1.0

_AGAIN_APEX = (
    "Your answers look as if the end of the root were the foramen. Look again at where the canal "
    "opens and where the root ends: two landmarks, and the image shows only the second (lesson 01, "
    "*Move the marks apart*)."
)
_AGAIN_AVERAGE = (
    "Your answers look as if the average of the textbook were good enough for this tooth. Look "
    "again at how far the long ones lie from it (lesson 01, *Where the average fails*)."
)


def draw_cases(target_mm: float, rng: Generator) -> dict[str, Exercise]:
    """The questions q1 to q4 of one student.

    >>> cases = draw_cases(0.5, np.random.default_rng(1))
    >>> [len(case.asked) for case in cases.values()]
    [4, 4, 3, 3]
    """
    teeth = [TEETH[int(i)] for i in rng.permutation(len(TEETH))[:4]]
    first, second, third, fourth = ((fdi, reference) for fdi, _, reference in teeth)
    return {
        "q1": _which_mark(*first, rng),
        "q2": _place_them(*second, target_mm, rng),
        "q3": _a_long_tooth(*third, target_mm, rng),
        "q4": _twenty_teeth(*fourth, rng),
    }


def _which_mark(fdi: str, reference: str, rng: Generator) -> Exercise:
    canal = _drawn(fdi, _is_clear, rng)
    narrow = canal.constriction_diameter_mm
    at_five = float(np.sqrt(canal.diameter_bl_mm[2] * canal.diameter_md_mm[2]))
    side = _side(canal)
    seen = {
        "cej_mark": (canal.cej_mm, "not measured", "the enamel ends here"),
        "": (canal.apex_mm - 5, f"{at_five:.2f}", "dentine all around"),
        "constriction_mark": (canal.constriction_mm, f"{narrow:.2f}", "dentine all around"),
        "foramen_mark": (canal.foramen_mm, f"{canal.foramen_diameter_mm:.2f}",
                         f"open to the tissue on the {side} side"),
        "apex_mark": (canal.apex_mm, "no canal", "the last of the root"),
    }  # fmt: skip
    letter = dict(zip(seen, rng.permutation(MARKS).tolist(), strict=True))
    rows = sorted((letter[name], f"{mm:.1f}", *rest) for name, (mm, *rest) in seen.items())
    asked = {
        "cej_mark": "where crown meets root",
        "constriction_mark": "apical constriction",
        "foramen_mark": "apical foramen",
        "apex_mark": "anatomical apex",
    }
    slips = {"foramen_mark": (Slip(letter["apex_mark"], "M2", _AGAIN_APEX),)}
    return Exercise(
        told=f"{named(fdi)} was cut along its canal. Five places are marked, in no order; lengths "
        f"are from the {reference}. Four of them are landmarks.",
        sheets=(
            Sheet(
                "What is seen at each mark",
                ("mark", "length (mm)", "width of the canal (mm)", "what is seen"),
                tuple(rows),
            ),
        ),
        asked=tuple(
            Asked(name, means, letter[name], words=MARKS, slips=slips.get(name, ()))
            for name, means in asked.items()
        ),
        solution="From the crown: where crown meets root, the constriction (narrowest), the "
        "foramen (where the canal opens), the anatomical apex (where the root ends). Mark "
        f"{letter['']} is no landmark: the canal is wider there than at the constriction, and "
        "dentine is all around.",
        trap="order the landmarks",
    )


def _place_them(fdi: str, reference: str, target_mm: float, rng: Generator) -> Exercise:
    canal = _drawn(fdi, _is_clear, rng)
    apex = _tenth(canal.apex_mm)
    to_apex = _tenth(canal.apex_mm - canal.foramen_mm)
    narrow = _tenth(canal.foramen_mm - canal.constriction_mm)
    foramen = _tenth(apex - to_apex)
    return Exercise(
        told=f"{named(fdi)}. Its root ends {apex:.1f} mm from the {reference}. The foramen opens "
        f"on the {_side(canal)} side, {to_apex:.1f} mm short of the end of the root. The "
        f"constriction lies {narrow:.1f} mm short of the foramen. On a radiograph that shows the "
        f"end of the root at its true place, the tip of a file looks {LOOKS_SHORT_MM:.1f} mm short "
        "of it.",
        sheets=(),
        asked=(
            _length("foramen_mm", "foramen", foramen, Slip(apex, "M2", _AGAIN_APEX)),
            _length("constriction_mm", "constriction", foramen - narrow),
            _length("working_length_mm", f"working length, target {target_mm:g} mm",
                    foramen - target_mm, Slip(_tenth(apex - target_mm), "M2", _AGAIN_APEX)),
            _distance("short_of_foramen_mm", "file short of the foramen (negative: past it)",
                      LOOKS_SHORT_MM - to_apex, Slip(LOOKS_SHORT_MM, "M2", _AGAIN_APEX)),
        ),
        solution=f"The canal ends at {apex:.1f} - {to_apex:.1f} = {foramen:.1f} mm; the target is "
        f"taken off there, once. A file that looks {LOOKS_SHORT_MM:.1f} mm short of the root's end "
        f"is {LOOKS_SHORT_MM:.1f} - {to_apex:.1f} = {LOOKS_SHORT_MM - to_apex:.1f} mm short of the "
        "foramen.",
        trap="looks 1 mm short is not 1 mm short",
    )  # fmt: skip


def _a_long_tooth(fdi: str, reference: str, target_mm: float, rng: Generator) -> Exercise:
    about = tooth(fdi)
    mean = about.overall_mean_mm
    canal = _drawn(fdi, lambda one: one.apex_mm > mean + LONG_MM and _is_clear(one), rng)
    image, foramen = _tenth(canal.apex_mm), _tenth(canal.foramen_mm)
    return Exercise(
        told=f"{named(fdi)}. The textbook says {mean:.1f} mm on average. The radiograph before "
        f"treatment, corrected for its magnification, shows the end of the root {image:.1f} mm "
        f"from the {reference}. Later, several sources together put the foramen at {foramen:.1f} "
        "mm.",
        sheets=(),
        asked=(
            _length("estimated_working_length_mm", "estimated working length before treatment",
                    image - 1.0, Slip(_tenth(mean - 1.0), "M3", _AGAIN_AVERAGE)),
            _distance("average_short_by_mm", "the average is short of the end of this root by",
                      image - mean),
            _length("working_length_mm", f"working length, target {target_mm:g} mm",
                    foramen - target_mm, Slip(_tenth(mean - target_mm), "M3", _AGAIN_AVERAGE),
                    Slip(_tenth(image - target_mm), "M2", _AGAIN_APEX)),
        ),
        solution="Estimated working length: the corrected image minus 1 mm, "
        f"{image:.1f} - 1.0 = {image - 1:.1f} mm. The first file goes no further until another "
        f"source has spoken. The average would have been {image - mean:.1f} mm short of the end "
        f"of this root. Working length: {foramen:.1f} - {target_mm:g} = "
        f"{foramen - target_mm:g} mm, from the foramen and not from the root's end.",
        trap="a tooth longer than the average",
    )  # fmt: skip


def _twenty_teeth(fdi: str, reference: str, rng: Generator) -> Exercise:
    about = tooth(fdi)
    lengths = _drawn_class(about, rng)
    off = np.abs(lengths - about.overall_mean_mm)
    longest = np.sort(lengths)[-5:]
    five = float(np.mean(longest - about.overall_mean_mm))
    rows = tuple((str(i), f"{mm:.1f}") for i, mm in enumerate(lengths, 1))
    more = int(np.sum(off > OFF_MM))
    return Exercise(
        told=f"Twenty patients, each with {named(fdi)[0].lower()}{named(fdi)[1:]}. The textbook "
        f"average is {about.overall_mean_mm:.1f} mm. The table has the length of each tooth from "
        f"the {reference} to the end of the root. Suppose somebody takes the average for all of "
        "them.",
        sheets=(Sheet("Lengths of twenty teeth", ("patient", "length (mm)"), rows),),
        asked=(
            Asked("off_by_more_than_1_mm", f"patients whose tooth is off by more than {OFF_MM:g} "
                  "mm", float(more), 0.0, 2.0, 0.0, float(CLASS_SIZE)),
            _distance("worst_error_mm", "largest error, long or short", float(off.max())),
            _distance("longest_five_error_mm", "mean error in the five longest", five,
                      Slip(float(np.mean(off)), "M3", _AGAIN_AVERAGE)),
        ),
        solution=f"{more} of {CLASS_SIZE} are off by more than {OFF_MM:g} mm. The five longest are "
        f"{', '.join(f'{mm:.1f}' for mm in longest)} mm, and the average is {five:.1f} mm short of "
        f"them on average; over all twenty it is off by {np.mean(off):.1f} mm. An average fails "
        "worst where the tooth is long.",
        trap="the average fails worst for long teeth",
    )  # fmt: skip


def _length(name: str, means: str, expected: float, *slips: Slip) -> Asked:
    return Asked(name, means, round(expected, 3), FULL_MM, NOTHING_MM, 5.0, 45.0, slips=slips)


def _distance(name: str, means: str, expected: float, *slips: Slip) -> Asked:
    return Asked(name, means, round(expected, 3), FULL_MM, NOTHING_MM, -15.0, 15.0, slips=slips)


def _drawn(fdi: str, fits: Callable[[Canal], bool], rng: Generator) -> Canal:
    canals = draw_canals(fdi, MOST_TRIES, rng)
    for i in range(MOST_TRIES):
        if fits(canals.one(i)):
            return canals.one(i)
    raise RuntimeError(f"no canal of tooth {fdi} fits its question in {MOST_TRIES} tries")


def _is_clear(canal: Canal) -> bool:
    """Landmarks far enough apart, and the constriction narrower than the foramen at a glance."""
    steps = np.diff([canal.apex_mm - 5, canal.constriction_mm, canal.foramen_mm, canal.apex_mm])
    at_five = min(canal.diameter_bl_mm[2], canal.diameter_md_mm[2])
    widths = (canal.foramen_diameter_mm, at_five)
    return bool(min(steps) >= APART_MM) and min(widths) > canal.constriction_diameter_mm + 0.05


def _drawn_class(about: Tooth, rng: Generator) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Lengths of twenty teeth, none of them a matter of rounding, the long ones far off."""
    for _ in range(MOST_TRIES):
        lengths = draw_canals(about.fdi, CLASS_SIZE, rng).apex_mm.round(1)
        off = lengths - about.overall_mean_mm
        far = np.sort(off)[-5:].mean() - np.abs(off).mean()
        if np.all(np.abs(np.abs(off) - OFF_MM) > 0.05) and far > NOTHING_MM:
            return lengths
    raise RuntimeError(f"no twenty teeth {about.fdi} fit the question in {MOST_TRIES} tries")


def _side(canal: Canal) -> str:
    buccal, distal = canal.offset_buccal_mm, canal.offset_distal_mm
    if abs(buccal) > abs(distal):
        return "buccal" if buccal > 0 else "lingual"
    return "distal" if distal > 0 else "mesial"


def _tenth(mm: float) -> float:
    return round(mm, 1)
