"""Invented cases on which the posterior is held against others."""

from lengthwise import Evidence


def canal(tooth, name, *records, **context):
    """A case from its records."""
    return Evidence.model_validate(
        {
            "schema": "lengthwise/evidence/1",
            "tooth": tooth,
            "canal": name,
            "reference_point": "invented for this test",
            "context": context,
            "evidence": list(records),
        }
    )


def point(length_mm, wet_mm, contact_s=1.0, **more):
    """One paper point."""
    return {"kind": "point_trial", "length_mm": length_mm, "wet_mm": wet_mm,
            "contact_s": contact_s, **more}  # fmt: skip


def signal(mm, **more):
    """One foramen signal."""
    return {"kind": "electronic_reading", "foramen_signal_mm": mm, **more}


def stop(mm, **more):
    """One tactile stop."""
    return {"kind": "tactile_stop", "length_mm": mm, **more}


def before(mm, technique, **more):
    """One radiograph before treatment."""
    return {"kind": "preoperative_film", "tooth_length_mm": mm, "technique": technique, **more}


def film(file_mm, short_mm, technique, **more):
    """One radiograph with a file."""
    return {"kind": "working_film", "file_length_mm": file_mm, "technique": technique,
            "tip_short_of_radiographic_apex_mm": short_mm, **more}  # fmt: skip


CASES = {
    "all five kinds": canal(
        "13", "single",
        before(28.5, "paralleling"), film(25.0, 1.0, "paralleling"),
        signal(25.1), signal(25.2), stop(24.5),
        point(25.0, 0.0), point(25.5, 0.5), point(25.5, 0.6),
        crown="intact",
    ),
    "sources in conflict": canal(
        "21", "single",
        film(22.0, 0.5, "bisecting"), signal(20.4), signal(20.5),
        point(22.0, 0.0, ran_freely=True), point(22.5, 0.0, ran_freely=True),
    ),
    "no point ever wet": canal(
        "34", "single",
        before(24.0, "bisecting"),
        point(20.0, 0.0, ran_freely=True), point(20.5, 0.0, ran_freely=True),
        point(21.0, 0.0), point(21.5, 0.0, ran_freely=False),
        crown="intact",
    ),
    "three stages": canal(
        "46", "MB",
        film(20.0, 0.8, "paralleling", stage="before_flare"),
        signal(20.3, stage="after_flare"), stop(20.0, stage="after_flare"),
        point(19.5, 0.0, stage="after_shaping"), point(20.0, 0.4, stage="after_shaping"),
        crown="worn",
    ),
    "wet points again and again": canal(
        "33", "single",
        signal(24.2, liquid_in_canal="blood"),
        point(25.0, 0.7, 1.0, liquid="blood"), point(25.0, 1.0, 3.0, liquid="blood"),
        point(25.0, 1.3, 5.0, liquid="blood"), point(24.5, 0.3, 1.0, liquid="blood"),
        crown="prepared",
    ),
    "films again and again": canal(
        "15", "single",
        *(film(20.0, short, "bisecting", file_size=15) for short in (0.3, 0.9, 0.4, 0.8, 0.6)),
    ),
}  # fmt: skip

TWENTY = CASES | {
    "nothing but the average": canal("16", "P"),
    "a radiograph before, worn crown": canal(
        "41", "single", before(21.0, "paralleling"), crown="worn"
    ),
    "a radiograph with a file": canal("36", "D", film(20.0, 0.5, "paralleling"), crown="intact"),
    "radiographs of two techniques, of none, and one with its own scale": canal(
        "24", "B",
        before(22.0, "paralleling"), before(23.4, None), film(20.0, 1.5, "bisecting"),
        film(20.5, 0.5, None), film(20.5, 0.9, "paralleling", film_file_length_mm=21.8,
                                    film_tooth_length_mm=24.4),
    ),
    "a reading alone": canal("12", "single", signal(22.1), crown="intact"),
    "a reading in a prepared crown": canal("45", "single", signal(19.2), crown="prepared"),
    "readings that scatter": canal(
        "23", "single", signal(24.0), signal(25.1), signal(24.4), before(28.0, "paralleling")
    ),
    "readings of two visits": canal(
        "14", "B",
        signal(20.3, visit=1), signal(20.4, visit=1), signal(19.4, visit=2, file_size=15),
        crown="intact",
    ),
    "a stop alone": canal("31", "single", stop(18.5), crown="intact"),
    "stops before and after flaring": canal(
        "46", "D",
        stop(16.5, stage="before_flare"), stop(19.0, stage="after_flare"),
        film(20.0, 0.0, "paralleling", stage="after_flare"),
    ),
    "a dry point and a wet one": canal(
        "13", "single",
        point(25.0, 0.0, ran_freely=True), point(25.5, 0.6, ran_freely=True), crown="intact",
    ),
    "a moist canal against a radiograph": canal(
        "22", "single",
        film(20.0, 1.0, "paralleling"), point(20.0, 1.2, liquid_in_canal="moist"), crown="worn",
    ),
    "points that bind": canal(
        "15", "single",
        signal(21.0), point(21.5, 0.0, ran_freely=False), point(22.0, 0.0, ran_freely=False),
    ),
    "long contact in a shaped canal": canal(
        "35", "single",
        signal(21.2, stage="before_flare"), point(20.5, 0.0, 5.0, stage="after_shaping"),
        point(21.0, 0.9, 5.0, stage="after_shaping"), crown="prepared",
    ),
}  # fmt: skip
"""Every kind of source with others; every crown, stage and technique; a file measured on its image.

Not among them, because `plain_model` does not write them a second time: points after drying again,
another reference, traces.
"""
assert len(TWENTY) == 20
