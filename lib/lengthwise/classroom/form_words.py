"""The form of a determination in one sentence."""

from __future__ import annotations

from lengthwise.classroom.answer_form import FIELDS, LENGTH_FIELDS, DeterminationForm

NOTHING_YET = (
    "nothing is answered yet: type your answers in place of the three dots, and run that cell "
    "(Shift and Enter) before this one"
)


def form_in_words(form: DeterminationForm) -> str:
    """What the student's own check says, without a full stop.

    >>> from lengthwise.classroom.answer_form import determination_form
    >>> form_in_words(determination_form({"next_step": "film"}, ["film"]))
    'the form is right: "not yet", next step film'
    """
    missing = [field for field in FIELDS if getattr(form, field) is None]
    more = f", and {len(form.mended) - 1} more" if len(form.mended) > 1 else ""
    read = f" ({form.mended[0]}{more})" if form.mended else ""
    if form.blank:
        return NOTHING_YET
    if form.problems:
        return form.problems[0]
    if missing == list(LENGTH_FIELDS) and form.next_step == "confirm":
        return f"still to fill in: {', '.join(missing)}; confirm is for a length that you take"
    if missing == list(LENGTH_FIELDS):
        return f'the form is right: "not yet", next step {form.next_step}{read}'
    if missing:
        return f"still to fill in: {', '.join(missing)}{read}"
    if form.doubts:
        return f"the form is right{read}, but look once more: {'; '.join(form.doubts)}"
    return f"the form is right, all five answers can be read{read}"
