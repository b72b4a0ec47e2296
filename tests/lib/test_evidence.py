"""Evidence is read whole or not at all, and an error says where, what, what is allowed, and how."""

import csv
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.evidence import (
    Context,
    ElectronicReading,
    Evidence,
    EvidenceError,
    PointTrial,
    PreoperativeFilm,
    TactileStop,
    WorkingFilm,
)
from lengthwise.evidence.records import MOST_SAMPLES
from pydantic import ValidationError

HEAD = {
    "schema": "lengthwise/evidence/1",
    "tooth": "13",
    "canal": "single",
    "reference_point": "incisal edge",
}
POINT = {"kind": "point_trial", "length_mm": 25.0, "contact_s": 1.0, "wet_mm": 0.0}
TRACE = {
    "kind": "electronic_reading",
    "time_s": [0.0, 0.1, 0.2],
    "depth_mm": [24.0, 24.5, 25.0],
    "indicated": [1.0, None, 0.0],
}


def case(*records, **changes):
    return json.dumps({**HEAD, **changes, "evidence": list(records)})


BAD_JSON = {
    "a missing field": (
        case({key: value for key, value in POINT.items() if key != "contact_s"}),
        ("Record 1 (point_trial)", "contact_s", "missing", "add it"),
    ),
    "255 for 25.5": (
        case(POINT, {**POINT, "length_mm": 255}),
        ("Record 2 (point_trial)", "length_mm", "255", "45 or less", "25.5?"),
    ),
    "unequal lists": (
        case({**TRACE, "indicated": [1.0]}),
        ("Record 1", "indicated", "time_s 3", "one value in each", "null"),
    ),
    "NaN": (
        case({**POINT, "length_mm": float("nan")}),
        ("NaN", "finite numbers", "leave the field out"),
    ),
    "an unknown kind": (
        case({"kind": "crystal_ball", "length_mm": 25.0}),
        ("Record 1", "field kind", "crystal_ball", "'point_trial'", "choose one"),
    ),
    "a kind left out": (case({"length_mm": 25.0}), ("Record 1", "field kind", "missing")),
    "another reference without an offset": (
        case({**POINT, "reference_point": "cusp tip"}),
        ("Record 1", "reference_point", "cusp tip", "incisal edge", "reference_offset_mm"),
    ),
    "a decimal comma": (
        case({**POINT, "length_mm": "25,5"}),
        ("Record 1", "length_mm", "'25,5'", "a number", "25.5 with a point"),
    ),
    "a field that does not exist": (
        case({**POINT, "lenght_mm": 25.0}),
        ("Record 1", "lenght_mm", "no such field", "spelling"),
    ),
    "time that does not grow": (
        case({**TRACE, "time_s": [0.0, 0.2, 0.1]}),
        ("time_s", "sample 3", "grows", "sort"),
    ),
    "a mark longer than its point": (
        case({**POINT, "wet_mm": 26.0}),
        ("wet_mm", "26", "at most", "from the tip"),
    ),
    "a dry point with a mark": (
        case({**POINT, "mark_site": "side"}),
        ("mark_site", "'side'", "'none' when wet_mm is 0"),
    ),
    "a trace and a signal in one": (
        case({**TRACE, "foramen_signal_mm": 25.0}),
        ("foramen_signal_mm", "not both", "two records"),
    ),
    "a milk tooth": (case(POINT, tooth="55"), ("tooth", "'55'", "FDI", "11 to 48")),
    "another schema": (case(POINT, schema="lengthwise/evidence/9"), ("schema", "evidence/1")),
    "no schema": ('{"tooth": "13"}', ("schema", "missing")),
    "a list": ("[1, 2]", ("list", "one case in braces")),
    "half a file": (case(POINT)[:-9], ("line", "not JSON", "brackets close")),
    "a thousand brackets": ("[" * 100_000, ("nested thousands deep",)),
    "a key twice": (
        case(POINT)[:-1] + ', "tooth": "23"}',
        ("field 'tooth'", "stands twice", "allowed is once", "take one"),
    ),
    "a key of a record twice": (
        case(POINT).replace('"wet_mm"', '"length_mm": 24.0, "wet_mm"'),
        ("field 'length_mm'", "stands twice"),
    ),
    "a number of thousands of digits": (
        case(POINT).replace("25.0", "9" * 5000),
        ("number", "thousands of digits", "25.5"),
    ),
    "a number of hundreds of digits": (
        case(POINT).replace("25.0", "9" * 400),
        ("Record 1 (point_trial)", "length_mm", "999"),
    ),
    "half a visit": (
        case({**POINT, "visit": 1.5}),
        ("Record 1", "visit", "1.5", "a whole number", "without a point"),
    ),
    "a visit of hundreds of digits": (
        case({**POINT, "visit": 10**400}),
        ("Record 1", "visit", "50 or less", "check the number"),
    ),
    "no context": (
        case(POINT, context=None),
        ("Field context", "None", "allowed is a pair of braces"),
    ),
    "a word for the records": (
        json.dumps({**HEAD, "evidence": "none"}),
        ("Field evidence", "'none'", "allowed is a list", "square brackets"),
    ),
    "a list for a record": (case([25.0]), ("Record 1", "[25.0]", "a pair of braces")),
    "an empty reference": (
        case(POINT, reference_point=""),
        ("Field reference_point", "''", "at least one letter"),
    ),
    "a reference of many words": (
        case(POINT, reference_point="cusp " * 50),
        ("Field reference_point", "200 letters", "fewer words"),
    ),
    "a number for the reference": (
        case(POINT, reference_point=3),
        ("Field reference_point", "got 3", "text", "in quotes"),
    ),
    "yes for true": (
        case(POINT, context={"lesion": "yes"}),
        ("context.lesion", "'yes'", "true or false", "without quotes"),
    ),
    "a word in the context": (
        case(POINT, context={"pulp": "dead"}),
        ("context.pulp", "'dead'", "'vital'"),
    ),
}


@pytest.mark.parametrize("name", BAD_JSON)
def test_bad_json_gets_one_error_that_says_how_to_mend_it(name):
    text, words = BAD_JSON[name]
    with pytest.raises(EvidenceError) as caught:
        Evidence.from_json(text)
    for word in words:
        assert word in str(caught.value), f"{word!r} is missing from: {caught.value}"


CSV_HEAD = "case,tooth,canal,reference_point,kind,length_mm,contact_s,wet_mm\n"
CSV_ROW = "a,13,single,incisal edge,point_trial,25.0,1.0,0\n"
BAD_CSV = {
    "an empty file": ("", ("is empty", "at least one record")),
    "a header alone": (CSV_HEAD, ("no rows",)),
    "a decimal comma": (
        CSV_HEAD + "a,13,single,incisal edge,point_trial,25,5,1.0,0\n",
        ("Row 2", "9 cells", "allowed are 8", "not a comma"),
    ),
    "a decimal comma in quotes": (
        CSV_HEAD + 'a,13,single,incisal edge,point_trial,"25,5",1.0,0\n',
        ("Row 2", "length_mm", "'25,5'", "with a point"),
    ),
    "semicolons between columns": (
        CSV_HEAD.replace(",", ";"),
        ("Row 1", "is not a column", "separated by commas"),
    ),
    "two tooth numbers in one case": (
        CSV_HEAD + CSV_ROW + CSV_ROW.replace("13", "23"),
        ("Row 3", "tooth", "'23'", "'13'", "another case"),
    ),
    "an absurd length on row 3": (
        CSV_HEAD + CSV_ROW + CSV_ROW.replace("25.0", "255"),
        ("Row 3 (point_trial)", "length_mm", "255", "25.5?"),
    ),
    "a missing column": (CSV_HEAD.replace("tooth,", ""), ("Row 1", "'tooth'", "add this column")),
    "a column twice": ("case,case,tooth\n", ("Row 1", "'case'", "twice")),
    "half a visit": (
        CSV_HEAD.replace("wet_mm", "wet_mm,visit") + CSV_ROW.replace(",0\n", ",0,1.0\n"),
        ("Row 2", "visit", "'1.0'", "a whole number", "such as 2"),
    ),
    "an underscore in a whole number": (
        CSV_HEAD.replace("wet_mm", "wet_mm,visit") + CSV_ROW.replace(",0\n", ",0,1_0\n"),
        ("Row 2", "visit", "'1_0'", "a whole number"),
    ),
    "an underscore in a number": (
        CSV_HEAD + CSV_ROW.replace("25.0", "2_2"),
        ("Row 2", "length_mm", "'2_2'", "a number", "25.5"),
    ),
    "another reference without an offset, in the second case": (
        CSV_HEAD
        + CSV_ROW * 2
        + CSV_ROW.replace("a,", "b,", 1)
        + CSV_ROW.replace("a,", "b,", 1).replace("incisal edge", "cusp tip"),
        ("Row 5 (point_trial)", "field reference_point", "'cusp tip'", "reference_offset_mm"),
    ),
    "nan where the meter showed nothing": (
        "case,tooth,canal,reference_point,kind,time_s,depth_mm,indicated\n"
        "a,13,single,cusp tip,electronic_reading,0;0.1,24;24.5,nan;0\n",
        ("Row 2", "indicated", "sample 1 is nan", "write null, or nothing at all in a table"),
    ),
    "commas at the ends of the rows": (
        CSV_HEAD.replace("\n", ",,\n") + CSV_ROW.replace("\n", ",,\n"),
        ("Row 1", "the heading of column 9 is empty", "delete the column"),
    ),
    "an open quote": (CSV_HEAD + '"a,13\n', ("Row", "is not CSV")),
}


@pytest.mark.parametrize("name", BAD_CSV)
def test_bad_csv_gets_one_error_that_names_the_row(name, tmp_path):
    text, words = BAD_CSV[name]
    path = tmp_path / "class.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(EvidenceError) as caught:
        Evidence.read_many(path)
    for word in words:
        assert word in str(caught.value), f"{word!r} is missing from: {caught.value}"


@pytest.mark.parametrize(
    ("field", "came", "suggested"),
    [("length_mm", 255, "25.5?"), ("length_mm", 46, ""), ("visit", 51, ""), ("size", 145, ""),
     ("reference_offset_mm", 12.0, "1.2?"), ("reference_offset_mm", 600.0, "")],
)  # fmt: skip
def test_what_a_number_may_have_meant_is_something_the_field_takes(field, came, suggested):
    with pytest.raises(EvidenceError, match=f"field {field}: got {came}") as caught:
        Evidence.from_json(case({**POINT, field: came}))
    assert str(caught.value).count("?") == (suggested != "")
    assert suggested in str(caught.value)


def full_trace(samples):
    """A trace with every digit that a float has."""
    return {
        "time_s": tuple(each / 19 for each in range(samples)),
        "depth_mm": tuple(20 + each / 7e3 for each in range(samples)),
        "indicated": tuple(each / 7e3 for each in range(samples)),
    }


def test_the_longest_trace_is_read_from_csv_and_the_limit_of_a_cell_is_left_as_it_was(tmp_path):
    trace, before = full_trace(MOST_SAMPLES), csv.field_size_limit()
    cells = [";".join(map(repr, values)) for values in trace.values()]
    assert min(map(len, cells)) > before
    path = tmp_path / "trace.csv"
    path.write_text(
        f"tooth,canal,reference_point,kind,{','.join(trace)}\n"
        f"13,single,cusp tip,electronic_reading,{','.join(cells)}\n"
    )
    (record,) = Evidence.read(path).records
    assert record == ElectronicReading(**trace, reference_point="cusp tip")
    assert csv.field_size_limit() == before


def test_no_case_is_written_that_would_not_be_read(tmp_path):
    one = ElectronicReading(**full_trace(MOST_SAMPLES))
    evidence = Evidence(tooth="13", canal="single", reference_point="cusp", records=(one,) * 5)
    with pytest.raises(EvidenceError, match=r"of [\d.]+ MB; allowed are 5 MB; keep of a trace"):
        evidence.write(tmp_path / "case.json")
    assert list(tmp_path.iterdir()) == []


def test_fifty_megabytes_of_junk_are_refused_by_their_size(tmp_path):
    path = tmp_path / "junk.json"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    with pytest.raises(EvidenceError, match=r"junk.json: got 50 MB; allowed are 5 MB"):
        Evidence.read(path)


def test_text_that_is_not_utf_8_is_refused_with_the_way_to_save_it(tmp_path):
    path = tmp_path / "case.csv"
    path.write_bytes(CSV_HEAD.encode("utf-16"))
    with pytest.raises(EvidenceError, match=r"not UTF-8.*save it as 'CSV UTF-8'"):
        Evidence.read(path)


def test_a_byte_order_mark_is_no_trouble(tmp_path):
    path = tmp_path / "case.csv"
    path.write_bytes(b"\xef\xbb\xbf" + (CSV_HEAD + CSV_ROW).encode())
    assert Evidence.read(path).records[0].length_mm == 25.0


def test_nothing_is_half_read(tmp_path):
    path = tmp_path / "class.csv"
    path.write_text(CSV_HEAD + CSV_ROW + CSV_ROW.replace("a,13", "b,13").replace("25.0", "x"))
    with pytest.raises(EvidenceError, match=r"\.csv: Row 3, field length_mm: got 'x'"):
        Evidence.read_many(path)


def test_csv_groups_rows_into_cases_and_reads_lists(tmp_path):
    path = tmp_path / "class.csv"
    path.write_text(
        "case,tooth,canal,reference_point,kind,time_s,depth_mm,indicated,foramen_signal_mm,pulp\n"
        "a,13,single,cusp tip,electronic_reading,0;0.1;0.2,24;24.5;25,1;;0,,vital\n"
        "b,36,MB,cusp tip,electronic_reading,,,,20.5,\n"
    )
    cases = Evidence.read_many(path)
    assert list(cases) == ["a", "b"]
    assert cases["a"].records[0].indicated == (1.0, None, 0.0)
    assert cases["a"].context.pulp == "vital"
    assert cases["b"].records[0].foramen_signal_mm == 20.5
    with pytest.raises(EvidenceError, match="got 2 cases"):
        Evidence.read(path)


lengths = st.floats(5, 45, allow_nan=False).map(lambda value: round(value, 2))
records = st.one_of(
    st.builds(PreoperativeFilm, tooth_length_mm=lengths),
    st.builds(
        WorkingFilm,
        file_length_mm=lengths,
        tip_short_of_radiographic_apex_mm=st.floats(-5, 5),
        visit=st.one_of(st.none(), st.integers(1, 5)),
    ),
    st.builds(ElectronicReading, foramen_signal_mm=lengths),
    st.lists(st.tuples(lengths, st.none() | st.floats(-20, 45)), min_size=2, max_size=6).map(
        lambda samples: ElectronicReading(
            time_s=tuple(each / 10 for each in range(len(samples))),
            depth_mm=tuple(depth for depth, _ in samples),
            indicated=tuple(shown for _, shown in samples),
        )
    ),
    st.builds(
        TactileStop,
        length_mm=st.floats(10, 40),
        reference_point=st.just("another cusp"),
        reference_offset_mm=st.floats(-5, 5),
    ),
    st.builds(PointTrial, length_mm=lengths, contact_s=st.floats(0.1, 60), wet_mm=st.just(0.0)),
    st.builds(TactileStop, length_mm=lengths, stage=st.sampled_from(["before_flare", None])),
)


contexts = st.builds(
    Context,
    pulp=st.sampled_from([None, "vital", "necrotic", "previously_treated"]),
    lesion=st.none() | st.booleans(),
    obstruction=st.sampled_from([None, "none", "ledge", "block", "filling", "instrument"]),
)


@given(st.lists(records, max_size=5), contexts)
def test_what_is_written_is_read_back_unchanged(tmp_path_factory, taken, context):
    evidence = Evidence(
        tooth="13", canal="single", reference_point="cusp", context=context, records=tuple(taken)
    )
    path = Path(tmp_path_factory.mktemp("case")) / "case.json"
    evidence.write(path)
    assert Evidence.read(path) == evidence


@given(st.text(max_size=200))
def test_any_text_is_refused_with_words_never_with_anything_else(text):
    with pytest.raises(EvidenceError, match=r"\w"):
        Evidence.from_json(text)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"film_tooth_length_mm": 27.0}, "both or neither"),
        ({"film_file_length_mm": 5.0}, "got 5 for a file of 25 mm; allowed is 15 to 40"),
        (
            {"film_file_length_mm": 25.0, "film_tooth_length_mm": 40.0},
            "the file's image and the rest to the apex make 26; allowed is 2.5 mm apart",
        ),
    ],
)
def test_three_lengths_that_cannot_be_of_one_image_are_refused(changed, words):
    with pytest.raises(ValidationError, match=words):
        WorkingFilm(file_length_mm=25.0, tip_short_of_radiographic_apex_mm=1.0, **changed)


@pytest.mark.parametrize(
    ("record", "told"),
    [
        ({"kind": "tactile_stop", "length_mm": 44.0}, "length_mm: got 44"),
        ({**TRACE, "depth_mm": [41.0, 43.0, 42.0]}, "depth_mm: got 43"),
    ],
)
def test_a_length_that_its_offset_takes_off_any_tooth_is_refused(record, told):
    moved = {**record, "reference_point": "cusp, reduced", "reference_offset_mm": 5.0}
    with pytest.raises(EvidenceError, match=f"field {told} with reference_offset_mm 5"):
        Evidence.from_json(case(moved))
