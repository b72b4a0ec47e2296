"""What is said of points: tables of trials, and what to look at again."""

from collections.abc import Sequence

from lengthwise.evidence import PointTrial

from .sheet import Sheet

AGAIN_FIRST_WET = (
    "Your answers look as if the first wet length were the length. A point set to it is already "
    "past where liquid begins: take its mark off, or look between longest dry and first wet "
    "(lesson 04, the mark split into two)."
)
AGAIN_LONG_CONTACT = (
    "Your answers look as if a mark told more, the longer the point was held. Liquid creeps on "
    "while you wait: look again at how much of a mark is creeping (lesson 04, contact time)."
)
AGAIN_STILL_SHORT = (
    "Your answers look as if a dry point always meant that you are still short. A point that "
    "sticks, or a blocked canal, is dry at any length: look again at the canal, the point and the "
    "reference, and never go more than a millimetre beyond the estimated length (lesson 04, "
    "points that stay dry)."
)


def points_sheet(
    caption: str, first: str, trials: Sequence[PointTrial], names: Sequence[str] = ()
) -> Sheet:
    """Trials as a table: numbered, or with names of their own in the first column.

    >>> points_sheet("Canal P", "trial", [PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=0.0)])
    Canal P
      trial  set to (mm)  contact (s)  point size    mark from the tip (mm)  ran freely
      1      22           1            not recorded  dry                     yes
    """
    labels = names or [str(number) for number in range(1, len(trials) + 1)]
    return Sheet(
        caption,
        (first, "set to (mm)", "contact (s)", "point size", "mark from the tip (mm)", "ran freely"),
        tuple(
            (
                label,
                f"{one.length_mm:g}",
                f"{one.contact_s:g}",
                str(one.size or "not recorded"),
                mark_in_words(one),
                "no" if one.ran_freely is False else "yes",
            )
            for label, one in zip(labels, trials, strict=True)
        ),
    )


def mark_in_words(trial: PointTrial) -> str:
    """The mark of a point, short.

    >>> mark_in_words(PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=0.8, liquid="blood"))
    '0.8 (blood)'
    """
    where = {"none": "dry", "side": "on its side, the tip dry", "whole": "wet all along"}
    mark = where.get(trial.mark_site or "", f"{trial.wet_mm:.1f}" if trial.wet_mm else "dry")
    return f"{mark} (blood)" if trial.liquid == "blood" else mark
