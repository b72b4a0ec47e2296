"""What the notebook of lesson 05 calls: a prediction, the panel, three tables, its questions."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lengthwise.bench.point_actions import TryPoint
from lengthwise.evidence import Evidence
from lengthwise.evidence.tenths import apart_mm, spread_mm
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.asked_first import Guess, guess
from lengthwise.panels.dry_canals import (
    Line,
    all_done,
    dry_case,
    end_mm,
    ends_since_drying,
    evidence_of,
    standing_mm,
)
from lengthwise.panels.dry_panel import DryPanel, dry_panel
from lengthwise.panels.questions import Questions, items_beside
from lengthwise.panels.slider import slider
from lengthwise.physics.wicking import held_volume_ul
from lengthwise.reconciliation import reconcile
from lengthwise.reconciliation.result_view import percent
from lengthwise.reference import points as p

SET_MM = 23.5
"""To this length the points of the prediction and of the tables are set."""

SEEN, CLOSE_MM = 3, 0.25
WIDTHS_MM, WETTED_MM, SIZE_MM, TAPER = (0.2, 0.3, 0.4, 0.5), 1.0, 0.20, 0.02
REPEATS = (1, 2, 3, 4, 6)


@dataclass(frozen=True)
class DryLesson(Questions):
    """The questions of lesson 05, by name, and what is shown."""

    def three_points(self) -> Sheet:
        """The marks that the prediction starts from."""
        return three_points()

    def predict(self) -> Guess:
        """Ask where the fourth mark will end, then show the panel after the first three."""
        return guess_fourth(dry_panel("A", [TryPoint(SET_MM)] * SEEN))

    def removed_table(self) -> Sheet:
        """What one point removes, against how much a canal holds."""
        return removed_table()

    def drift_table(self) -> Sheet:
        """Points in a canal that drains, with the liquid that was there."""
        return drift_table()

    def ooze_table(self) -> Sheet:
        """Points in a canal that oozes, and what the library makes of them."""
        return ooze_table()


def open_dry_lesson(name: str, folder: str | Path = ".") -> DryLesson:
    """Read the questions that lie beside the lesson's notebook as ``NAME.toml``."""
    return DryLesson(items_beside(name, folder), lesson=name)


def repeated(name: str, points: int) -> Line:
    """A canal of the lesson in which one length is tried again and again."""
    return all_done(Line(dry_case(name)), [TryPoint(SET_MM)] * points)


def three_points() -> Sheet:
    """Where the first three marks end.

    >>> three_points().rows[0]
    ('1', '23.5', '3.2', '20.3')
    """
    rows = tuple(
        (str(at), f"{t.length_mm:.1f}", f"{t.wet_mm:.1f}", f"{end_mm(t):.1f}")
        for at, t in enumerate(repeated("drifts", SEEN).trials, start=1)
    )
    heads = ("point", "set to (mm)", "wet from its tip (mm)", "mark ends at (mm)")
    return Sheet("Three points in canal A, half a minute apart", heads, rows)


def guess_fourth(panel: DryPanel) -> Guess:
    """Ask where the mark of the next point will end; the panel is hidden until then."""
    where = slider(
        "The mark of the fourth point will end at", value=20.0, low=18.5, high=25.0, step=0.1
    )
    ends = ends_since_drying(repeated("drifts", SEEN + 1))
    return guess(where, lambda said: compared(said, ends), panel)


def compared(said_mm: float, ends_mm: list[float]) -> str:
    """Compare a guess with the fourth mark; never just right or wrong.

    >>> compared(20.4, [20.0, 20.4, 20.8, 21.2])
    'You said 20.4 mm, near the mean of the first three. It ended at 21.2 mm: each mark ends \
deeper than the one before. Something here changes: look at the next points.'
    """
    *before, fourth = ends_mm
    mean = float(np.mean(before))
    start = f"You said {said_mm:.1f} mm"
    if abs(said_mm - fourth) <= CLOSE_MM:
        return (
            f"{start}. It ended at {fourth:.1f} mm: you saw the marks move. Now find out what "
            "moves them: look at the next points."
        )
    if said_mm > fourth:
        return (
            f"{start}. It ended at {fourth:.1f} mm: deeper than the three before it, as you "
            "expected, and not by so much. Ask what sets the size of the step: look at the next "
            "points."
        )
    near = ", near the mean of the first three" if abs(said_mm - mean) <= CLOSE_MM else ""
    if said_mm < min(before) - CLOSE_MM:
        near = ", nearer to the crown than any mark so far"
    return (
        f"{start}{near}. It ended at {fourth:.1f} mm: each mark ends deeper than the one before. "
        "Something here changes: look at the next points."
    )


def removed_table() -> Sheet:
    """How far one point lowers the liquid, by the width of the canal.

    >>> removed_table().rows[1][:2]
    ('0.3', '0.071')
    """
    taken = float(
        held_volume_ul(
            WETTED_MM, held_share=p.HELD_SHARE.value, entrance_radius_mm=SIZE_MM / 2,
            radius_slope=TAPER / 2,
        )
    )  # fmt: skip
    rows = []
    for width in WIDTHS_MM:
        per_mm = np.pi / 4 * width**2
        lowered = [f"{wet * taken / per_mm:.1f}" for wet in (1, 2)]
        rows.append((f"{width:.1f}", f"{per_mm:.3f}", f"{taken:.3f}", *lowered))
    heads = ("canal (mm)", "holds (µl/mm)", "point (µl/mm)", "1 mm wet", "2 mm wet")
    return Sheet(
        "One point of size 20, and how far (mm) it lowers the liquid when 1 or 2 mm of it get wet",
        heads,
        tuple(rows),
    )


def drift_table() -> Sheet:
    """Canal A: every mark with the liquid that stood there before the point.

    >>> drift_table().heads[2]
    'liquid before'
    """
    line = repeated("drifts", SEEN + 2)
    foramen = line.case.state.canal.foramen_mm
    rows = []
    for at, (trial, before) in enumerate(zip(line.trials, line.states, strict=False), start=1):
        said = (f"{end_mm(trial):.1f}", f"{standing_mm(before):.1f}")
        short = f"{apart_mm(foramen, end_mm(trial)):.1f}"
        trust = percent(_trust(evidence_of(Line(line.case, line.entries[:at]))))
        rows.append((str(at), *said, short, trust))
    heads = ("point", "mark ends", "liquid before", "short", "trust")
    caption = f"Canal A, in mm, foramen at {foramen:.1f}: liquid was left, and points take it away"
    return Sheet(caption, heads, tuple(rows))


def ooze_table() -> Sheet:
    """Canal B: more and more repeats, and what the library promises after them.

    >>> [row[0] for row in ooze_table().rows]
    ['1', '2', '3', '4', '6']
    """
    line = repeated("oozes", max(REPEATS))
    foramen = line.case.state.canal.foramen_mm
    rows = []
    for count in REPEATS:
        some = Line(line.case, line.entries[:count])
        ends = ends_since_drying(some)
        written = evidence_of(some)
        alone_trust = _trust(written.model_copy(update={"records": some.trials}))
        low, high = reconcile(written).interval_mm()
        short = f"{foramen - float(np.mean(ends)):.1f}"
        trusts = (percent(_trust(written)), percent(alone_trust))
        rows.append((str(count), short, *trusts, f"{high - low:.1f}"))
    heads = ("points", "short", "trust", "alone", "wide")
    ends = ends_since_drying(line)
    apart = f"{len(ends)} marks within {spread_mm(ends):.1f}"
    caption = f"Canal B, in mm, foramen at {foramen:.1f}: {apart}"
    return Sheet(caption, heads, tuple(rows))


def _trust(evidence: Evidence) -> float:
    """How far the last points are believed, after all evidence."""
    return [row.trust for row in reconcile(evidence).sources if row.kind == "point_trial"][-1]
