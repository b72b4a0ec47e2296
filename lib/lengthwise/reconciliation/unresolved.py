"""When sources that have been repeated still contradict each other."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from lengthwise.evidence.tenths import apart_mm
from lengthwise.reference import constants as c

from .source_rows import SourceRow
from .sources import Source

_EVERY_KIND = ("working_film", "electronic_reading", "point_trial")


def unresolved_conflict(used: Sequence[Source], rows: Sequence[SourceRow]) -> str | None:
    """The conflict as a clause, None where there is none or where it can still be decided.

    Two kinds of source, each with at least one repeat, that stay further apart than is common
    practice to accept and than their own uncertainties allow, after film, reading and points have
    all spoken, points in a canal that was dry: as long as one of them has not, it may be the third
    that decides.

    Parameters
    ----------
    used : the sources of a case.
    rows : one row a source, as in `Reconciliation.sources`.
    """
    heard = {source.kind for source in used if _was_dry(source)}
    if not heard.issuperset(_EVERY_KIND):
        return None
    repeated = [row for source, row in zip(used, rows, strict=True) if len(source.records) > 1]
    for one, other in combinations(repeated, 2):
        apart = abs(one.implied_mm - other.implied_mm)
        expected = float(np.hypot(one.sd_mm, other.sd_mm))
        far = apart > c.CONFLICT_ASK_MM.value and apart > c.CONFLICT_STANDARDISED.value * expected
        if one.kind != other.kind and far:
            told = abs(apart_mm(one.implied_mm, other.implied_mm))
            return f"{one.name} and {other.name} were repeated and stay {told:.1f} mm apart"
    return None


def _was_dry(source: Source) -> bool:
    if source.kind != "point_trial":
        return True
    return all(record.liquid_in_canal in (None, "dry") for record in source.records)
