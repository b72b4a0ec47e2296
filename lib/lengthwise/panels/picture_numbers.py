"""What the picture of a panel shows, as a table: for whom a picture says nothing, and for print.

Each panel has its sentence; here are the numbers that the sentence leaves to the eye. What a
picture hides from the eye its table hides too.
"""

from __future__ import annotations

from dataclasses import replace
from functools import singledispatch

from lengthwise.bench.film_landmarks import project_landmarks
from lengthwise.bench.film_setup import set_up
from lengthwise.bench.point_actions import TryPoint
from lengthwise.evidence import Context
from lengthwise.evidence.tenths import apart_mm
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.dry_canals import end_mm, tells_end
from lengthwise.panels.dry_panel import DryPanel
from lengthwise.panels.dry_words import tick_of
from lengthwise.panels.endings_panel import NEAR, PULPS, EndingsPanel
from lengthwise.panels.endings_picture import ROWS
from lengthwise.panels.film_panel import FOCUS_MM, SHOWN, TECHNIQUE, FilmPanel
from lengthwise.panels.landmarks_panel import START_AGE, TEETH, LandmarksPanel, section_of
from lengthwise.panels.landmarks_picture import told_mm
from lengthwise.panels.reading_panel import ReadingPanel
from lengthwise.panels.reading_words import indicated_words, place
from lengthwise.panels.ruler_panel import RulerPanel
from lengthwise.panels.supplies_panel import HOLDS, SuppliesPanel
from lengthwise.panels.supplies_tables import canine_table
from lengthwise.panels.trial_case import meet
from lengthwise.panels.trial_panel import LIQUIDS, TrialPanel
from lengthwise.panels.trial_words import mark_of
from lengthwise.reconciliation.decision import Loss
from lengthwise.reconciliation.supplies import lay_out
from lengthwise.reference.constants import TARGET_SHORT_OF_FORAMEN_MM
from lengthwise.reference.findings import outcome_group
from lengthwise.reference.tables import apex_distance

PLACES_MM = (-3.0, -2.0, -1.0, -0.5, 0.0, 0.5)
"""Where the tip stands in the rows of a reading, mm past the foramen."""


@singledispatch
def numbers_of(panel: object) -> Sheet | None:
    """Give the numbers of a panel's picture, or None where its own table has them all.

    Parameters
    ----------
    panel
        A panel of a lesson, as its controls stand now.

    Returns
    -------
    Sheet or None
        One table.

    Examples
    --------
    >>> from lengthwise.panels.landmarks_panel import landmarks_panel
    >>> numbers_of(landmarks_panel()).rows[-1]
    ('anatomical apex', '29.4 mm')
    """
    return None


@numbers_of.register
def _landmarks(panel: LandmarksPanel) -> Sheet:
    section = section_of(
        TEETH[panel.tooth.value], panel.place.value, panel.short.value, panel.age.value,
        panel.target.value,
    )  # fmt: skip
    rows = tuple((name, f"{told_mm(name, mm)} mm") for name, mm in section.marks_mm.items())
    return Sheet("Marks on the tooth", ("Mark", "From the cusp tip or edge"), rows)


@numbers_of.register
def _film(panel: FilmPanel) -> Sheet:
    drawing = panel.picture.drawing
    setup = set_up(
        drawing.canal, TECHNIQUE[panel.lies.value], vertical_deg=panel.vertical.value,
        horizontal_deg=panel.horizontal.value, focus_mm=FOCUS_MM[panel.focus.value],
        away_mm=panel.away.value,
    )  # fmt: skip
    seen = project_landmarks(drawing.canal, drawing.outline, setup.view, panel.file.value)
    assert seen.tip is not None  # the panel always has a file in the tooth
    tooth, tip = seen.along_mm(seen.apex), seen.along_mm(seen.tip)
    rows = [
        ("length of the file", f"{tip:.1f} mm", f"{panel.file.value:.2f} mm"),
        ("length of the tooth", f"{tooth:.1f} mm", "hidden"),
        ("end of the root less tip", f"{apart_mm(tooth, tip):.1f} mm", "hidden"),
        ("foramen", "not seen", "hidden"),
    ]
    if panel.truth.value == SHOWN:
        canal, file = drawing.canal, panel.file.value
        rows[1] = (*rows[1][:2], f"{canal.apex_mm:.1f} mm")
        rows[2] = (*rows[2][:2], f"{canal.apex_mm - file:.1f} mm")
        rows[3] = (*rows[3][:2], f"{canal.foramen_mm:.1f} mm")
    return Sheet("What the picture measures", ("What", "On the picture", "In truth"), tuple(rows))


@numbers_of.register
def _reading(panel: ReadingPanel) -> Sheet:
    both = panel.readings
    samples = [[each.sample_at(each.first_moment_s(mm)) for each in both] for mm in PLACES_MM]
    rows = tuple(
        (
            place(mm),
            *(
                indicated_words(each, at) if each.binds_mm >= mm else "does not get there"
                for each, at in zip(both, pair, strict=True)
            ),
        )
        for mm, pair in zip(PLACES_MM, samples, strict=True)
    )
    return Sheet("What the display says on the way in", ("Tip", "A", "B"), rows)


@numbers_of.register
def _trial(panel: TrialPanel) -> Sheet:
    point = TryPoint(panel.length.value, panel.contact.value, int(panel.size.value))
    met = meet(panel.tried.state, LIQUIDS[panel.liquid.value], point)
    wicked = mark_of(met).wicked if met.wet else "0.0 mm"
    rows = (
        ("foramen", f"{met.foramen_mm:.1f} mm"),
        (f"where {met.liquid} begins", f"{met.surface_mm:.1f} mm"),
        ("tip of the point", f"{met.tip_mm:.1f} mm"),
        ("overshoot", f"{max(met.overshoot_mm, 0.0):.1f} mm"),
        ("wicked", wicked),
    )
    return Sheet("The point and its mark", ("What", "Length"), rows)


@numbers_of.register
def _dry(panel: DryPanel) -> Sheet | None:
    rows = []
    for number, entry in enumerate(panel.sitting.line.entries, start=1):
        trial = entry.outcome.trial
        ends = f"{end_mm(trial):.1f} mm" if trial is not None and tells_end(trial) else "–"
        rows.append((f"{number}. {tick_of(entry)}", ends, entry.outcome.sentence))
    heads = ("Action", "Mark ends at", "What happened")
    return Sheet("What was done so far", heads, tuple(rows)) if rows else None


@numbers_of.register
def _ruler(panel: RulerPanel) -> Sheet:
    drawing = panel.picture.drawing
    rows = [
        (control.label, row.words.get_text())
        for control, row in zip(panel.trust, drawing.rows, strict=True)
    ]
    rows += [("All together", drawing.answer_words.get_text())]
    rows += [("Plain mean", drawing.mean_words.get_text().removeprefix("◇ plain mean "))]
    where = f"Where it stands, {panel.carried.value}"
    return Sheet("What the ruler shows", ("Source", where), tuple(rows))


@numbers_of.register
def _supplies(panel: SuppliesPanel) -> Sheet:
    fdi = TEETH[panel.tooth.value]
    section = section_of(
        fdi, panel.place.value, apex_distance(fdi).mean_mm, START_AGE, panel.target.value
    )
    plan = lay_out(
        section.foramen_mm - panel.target.value,
        reference_reduced_mm=panel.reduced.value,
        held_by=HOLDS[panel.held_by.value],
    )
    caption = f"A tooth of {plan.working_length_mm:.1f} mm working length"
    return replace(canine_table(plan), caption=caption)


@numbers_of.register
def _endings(panel: EndingsPanel) -> Sheet:
    context = Context(pulp=PULPS[panel.pulp.value], near_nerve_or_sinus=NEAR[panel.near.value])
    loss = Loss.for_context(context, TARGET_SHORT_OF_FORAMEN_MM.value)
    beyond = apex_distance(TEETH[panel.tooth.value]).mean_mm
    here = round(panel.end.value, 1)
    ends = sorted({-3.0, -2.0, -1.0, -0.5, 0.0, 0.5, 1.0, here})
    rows = tuple(
        (
            f"{place(mm)}{' (here)' if mm == here else ''}",
            f"{float(loss.cost(mm, 0.0)):.2f}",
            ROWS[outcome_group(beyond - mm)],
        )
        for mm in ends
    )
    heads = ("The filling ends", "Loss of this course", "Group of the studies (mm)")
    return Sheet("What an ending costs", heads, rows)
