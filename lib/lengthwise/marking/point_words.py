"""What is said of points: a mark in words, and tables of trials."""

from collections.abc import Sequence

from lengthwise.evidence import PointTrial

from .sheet import Sheet


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


def longest_dry_mm(trials: Sequence[PointTrial]) -> float | None:
    """The longest length (mm) at which a point that ran freely came out dry."""
    dry = [each.length_mm for each in trials if each.wet_mm == 0 and each.ran_freely]
    return max(dry, default=None)
