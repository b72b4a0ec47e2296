"""The four questions of assignment a2: six radiographs to measure, and what they cannot show.

Every student gets teeth and pictures of their own. Lengths are read off a picture with its ruler,
so that a value earns everything within half a millimetre; what is expected comes from the tooth
itself. Pictures are taken until the question can be answered from them.
"""

from typing import Any

import numpy as np

from lengthwise.anatomy.canals import Canal
from lengthwise.bench.film_landmarks import Landmarks
from lengthwise.bench.film_sheet import film_sheet

from .a2_pictures import file_shown_mm, gap_shown_mm, taken, tip
from .exercise import Asked, Exercise, Slip
from .sheet import Sheet
from .tooth_words import TEETH, named

Generator = np.random.Generator

FULL_MM, NOTHING_MM = 0.5, 1.5
"""What is read off a picture earns all within the first, and nothing from the second on."""

OFF_SCALE_MM = 1.2
SLANT_MM = 1.6
"""A picture out of scale, or slanted, is off by at least this much."""

OFFSET_MM, ASIDE_MM = 0.7, 0.4
"""A hidden exit lies this far buccal or lingual, and shows this much from an angle."""

ANGLE_DEG = 25.0

NO_BELIEF = ""
"""A picture taken at its own scale is a slip of the hand: no belief of the course leads there."""

_AGAIN_SCALE = (
    "Your answers look as if the picture were as large as the tooth. Look again at how a file of "
    "known length gives the scale (lesson 02, *A worked example*)."
)
_AGAIN_MEAN = (
    "Your answers look as if two slanted pictures could be averaged. Look again at which length "
    "is known on each of them (lesson 02, *Steep and flat*)."
)
_AGAIN_APEX = (
    "Your answers look as if the end of the root were the foramen. Look again at two canals whose "
    "pictures are alike (lesson 02, *What the front view hides*)."
)
_HEADS = ("picture", "file set to (mm)", "receptor", "source")


def draw_cases(target_mm: float, rng: Generator) -> dict[str, Exercise]:
    """The questions q1 to q4 of one student; the class's target plays no part in them.

    >>> cases = draw_cases(0.5, np.random.default_rng(1))
    >>> [len(case.asked) for case in cases.values()]
    [2, 3, 3, 2]
    """
    front = [each for each in TEETH if each[0][1] in "123" and each[0][0] in "12"]
    first, last = (TEETH[int(i)] for i in rng.permutation(len(TEETH))[:2])
    slanted, hidden = (front[int(i)] for i in rng.permutation(len(front))[:2])
    return {
        "q1": _scale(first[0], first[2], rng),
        "q2": _steep_and_flat(slanted[0], slanted[2], rng),
        "q3": _hidden_exit(hidden[0], hidden[2], rng),
        "q4": _correct_the_file(last[0], last[2], rng),
    }


def _scale(fdi: str, reference: str, rng: Generator) -> Exercise:
    def fits(canal: Canal, seen: Landmarks) -> bool:
        return seen.along_mm(seen.apex) - canal.apex_mm > OFF_SCALE_MM

    focus, away = float(rng.choice([200.0, 300.0])), float(rng.integers(18, 26))
    canal, file_mm, (shot,) = taken(
        fdi, [{"technique": "paralleling", "focus_mm": focus, "away_mm": away}], fits, rng
    )
    film, seen = shot
    shown, file_on = seen.along_mm(seen.apex), file_shown_mm(seen)
    return Exercise(
        told=f"{named(fdi)}. Measure tooth and file with the ruler, from the {reference} to the "
        "end of the root and to the file's tip. How long is the tooth, and what is the estimated "
        "working length? Distal is to the right; the ruler is in millimetres.",
        sheets=(_sheet([("A", file_mm, "parallel to the tooth", "straight")]),),
        asked=(
            _length("tooth_mm", "length of the tooth", canal.apex_mm,
                    Slip(round(shown, 1), NO_BELIEF, _AGAIN_SCALE)),
            _length("estimated_working_length_mm", "estimated working length", canal.apex_mm - 1,
                    Slip(round(shown - 1, 1), NO_BELIEF, _AGAIN_SCALE)),
        ),
        solution=f"On the picture the tooth measures {shown:.1f} mm and the file "
        f"{file_on:.1f} mm; the file is set to {file_mm:.1f} mm. {shown:.1f} × {file_mm:.1f} ÷ "
        f"{file_on:.1f} gives about {canal.apex_mm:.1f} mm. The estimated working length is the "
        "corrected image minus 1 mm.",
        trap="a picture out of scale",
        picture=film_sheet([film], apex_up=fdi[0] in "12"),
        picture_words=_words(fdi, "with a file in the canal"),
    )  # fmt: skip


def _steep_and_flat(fdi: str, reference: str, rng: Generator) -> Exercise:
    angles = [float(rng.integers(16, 20)), -float(rng.integers(8, 12))]
    order = rng.permutation(2)

    def fits(canal: Canal, *seen: Landmarks) -> bool:
        lengths = [one.along_mm(one.apex) for one in seen]
        return min(abs(length - canal.apex_mm) for length in lengths) > SLANT_MM

    how: list[dict[str, Any]] = [
        {"technique": "bisecting", "vertical_deg": angles[i]} for i in order
    ]
    canal, file_mm, shots = taken(fdi, how, fits, rng)
    foreshortened = "AB"[int(np.argmin(order))]
    lengths = [seen.along_mm(seen.apex) for _, seen in shots]
    on_a, on_b = (file_shown_mm(seen) for _, seen in shots)
    mean = Slip(round(sum(lengths) / 2, 1), "M7", _AGAIN_MEAN)
    aim = "steep" if foreshortened == "A" else "flat"
    lean = "leaning against the crown"
    return Exercise(
        told=f"{named(fdi)}. Two pictures of it, taken with the same distances; on neither was "
        "the beam aimed as it should be. Measure from "
        f"the {reference}. Which picture is foreshortened, was the beam of picture A too steep or "
        "too flat, and how long is the tooth?",
        sheets=(_sheet([("A", file_mm, lean, "straight"), ("B", file_mm, lean, "straight")]),),
        asked=(
            Asked("foreshortened_picture", "the foreshortened picture", foreshortened,
                  words=("A", "B")),
            Asked("beam_of_a", "beam of picture A", aim, words=("steep", "flat")),
            _length("tooth_mm", "length of the tooth", canal.apex_mm, mean),
        ),
        solution=f"The tooth measures {lengths[0]:.1f} mm on A and {lengths[1]:.1f} mm on B; the "
        f"file, set to {file_mm:.1f} mm, {on_a:.1f} and {on_b:.1f} mm. "
        "A picture on which the file is shorter than it is, is foreshortened: its beam was too "
        "steep. By the ratio rule both say about "
        f"{canal.apex_mm:.1f} mm.",
        trap="one steep, one flat",
        picture=film_sheet([film for film, _ in shots], apex_up=True),
        picture_words=_words(fdi, "twice, A and B, with a file in the canal"),
    )  # fmt: skip


def _hidden_exit(fdi: str, reference: str, rng: Generator) -> Exercise:
    side = float(rng.choice([-1.0, 1.0]))

    def fits(canal: Canal, straight: Landmarks, angled: Landmarks) -> bool:
        # Straight on, nothing to see; from the side, the tip has left the middle.
        aside = [one.beside_mm(tip(one)) for one in (straight, angled)]
        return (
            abs(canal.offset_buccal_mm) > OFFSET_MM
            and abs(aside[0]) < 0.15
            and abs(aside[1]) > ASIDE_MM
            and gap_shown_mm(straight) > 0.2
        )

    how: list[dict[str, Any]] = [
        {"technique": "paralleling", "horizontal_deg": deg} for deg in (0.0, side * ANGLE_DEG)
    ]
    past = float(rng.choice([-0.3, 0.4]))
    canal, file_mm, shots = taken(fdi, how, fits, rng, past_mm=past)
    looks = canal.apex_mm - file_mm
    where = "buccal" if canal.offset_buccal_mm > 0 else "lingual"
    against = "against" if where == "buccal" else "with"
    from_side = "distal" if side > 0 else "mesial"
    parallel = "parallel to the tooth"
    return Exercise(
        told=f"{named(fdi)}. Picture A was taken straight, picture B with the source "
        f"{ANGLE_DEG:g}° to {from_side}. The receptor stayed where it was. Distal is to the right. "
        f"Measure from the {reference}. How far short of the end of the root does the tip look on "
        "A, corrected to true scale? To which side has the canal left the middle of the root? Is "
        "the tip inside the canal, past the foramen, or is it unknown from these two pictures?",
        sheets=(
            _sheet([("A", file_mm, parallel, "straight"),
                    ("B", file_mm, parallel, f"{ANGLE_DEG:g}° to {from_side}")]),
        ),
        asked=(
            _gap_asked(looks),
            Asked("exit_side", "side to which the canal leaves", where,
                  words=("buccal", "lingual")),
            Asked("tip_is", "where the tip is", "unknown", words=("inside", "past", "unknown"),
                  slips=(Slip("inside", "M2", _AGAIN_APEX), Slip("past", "M2", _AGAIN_APEX))),
        ),
        solution=f"The tip looks {looks:.1f} mm short. On B it has moved {against} the source "
        f"compared with the middle of the root, so the canal leaves to the {where} side: what lies "
        "lingual goes with the source, what lies buccal goes against it. Where it opens neither "
        "picture shows; the tip can be inside or past, and only another kind of source can tell. "
        f"Here it was {abs(past):.1f} mm {'past' if past > 0 else 'short of'} the foramen.",
        trap="a hidden exit",
        picture=film_sheet([film for film, _ in shots], apex_up=fdi[0] in "12"),
        picture_words=_words(fdi, "twice, A straight and B from an angle, with a file"),
    )  # fmt: skip


def _correct_the_file(fdi: str, reference: str, rng: Generator) -> Exercise:
    beyond = float(rng.choice([-2.4, -1.8, 0.8]))
    canal, file_mm, (shot,) = taken(
        fdi,
        [{"technique": "paralleling"}],
        lambda canal, seen: canal.apex_mm > canal.cej_mm + 8,
        rng,
        from_apex_mm=beyond,
    )
    looks = canal.apex_mm - file_mm
    way = "short of" if looks > 0 else "beyond"
    return Exercise(
        told=f"{named(fdi)}, a working radiograph. How far short of the end of the root does the "
        "tip look, corrected to true scale (negative when it looks beyond)? What is the estimated "
        f"working length now? Lengths are from the {reference}.",
        sheets=(_sheet([("A", file_mm, "parallel to the tooth", "straight")]),),
        asked=(
            _gap_asked(looks),
            _length("estimated_working_length_mm", "estimated working length", file_mm + looks - 1,
                    Slip(file_mm, "M2", _AGAIN_APEX)),
        ),
        solution=f"The tip looks {abs(looks):.1f} mm {way} the end of the root: the root ends at "
        f"{file_mm + looks:.1f} mm, and the corrected image minus 1 mm is "
        f"{file_mm + looks - 1:.1f} mm. That is an estimate of where to go on from, not where the "
        "canal ends.",
        trap="a file to correct",
        picture=film_sheet([shot[0]], apex_up=fdi[0] in "12"),
        picture_words=_words(fdi, "with a file in the canal"),
    )  # fmt: skip


def _sheet(rows: list[tuple[str, float, str, str]]) -> Sheet:
    told = tuple((letter, f"{mm:.1f}", lies, source) for letter, mm, lies, source in rows)
    return Sheet("How each picture was taken", _HEADS, told)


def _length(name: str, means: str, expected: float, *slips: Slip) -> Asked:
    return Asked(name, means, round(expected, 1), FULL_MM, NOTHING_MM, 5.0, 45.0, slips=slips)


def _gap_asked(expected: float) -> Asked:
    return Asked(
        "looks_short_mm", "tip looks short of the end of the root by", round(expected, 1),
        FULL_MM, NOTHING_MM, -15.0, 25.0,
    )  # fmt: skip


def _words(fdi: str, what: str) -> str:
    """Says what is there, not what it measures: reading it is the student's work."""
    return f"Radiograph of tooth {fdi} {what}, with a ruler in millimetres along the left edge."
