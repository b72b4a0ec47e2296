"""The instructor's guide: its commands are understood, its links lead somewhere, its files read."""

import json
import re

import pytest
from guide import GUIDE, ROOT, Saved, anchors, between, pages, problems, refused, steps
from lengthwise.classroom.measured import COLUMNS, parse_measurements
from lengthwise.classroom.roster import parse_roster
from lengthwise.evidence import Evidence
from lengthwise.panels.when_to_stop import FIRST, SIGNS
from lengthwise.reconciliation import Reconciliation, reconcile

ALL = {path.name: path for path in pages()}


def page(name: str) -> str:
    return ALL[name].read_text(encoding="utf-8")


def block(name: str, saved_as: str) -> str:
    return next(s.text for s in steps(page(name)) if isinstance(s, Saved) and s.name == saved_as)


@pytest.mark.parametrize("name", ALL)
def test_what_a_page_of_the_guide_asks_for_is_there(name: str) -> None:
    assert problems(page(name), GUIDE) == []


def test_what_the_readme_asks_for_is_understood() -> None:
    """Its commands only: the roster is described there in words."""
    said = steps((ROOT / "README.md").read_text(encoding="utf-8"))
    assert [why for one in said if not isinstance(one, Saved) and (why := refused(one[0]))] == []


def test_the_readme_and_the_guide_try_the_course_out_the_same_way() -> None:
    """The demo's tests run what the README shows; the guide says the same, word for word."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    guide = between(page("grading.md"), "## Try it without anybody", "## 1.")
    told = [one[0] for one in steps(between(readme, "## The demo class"))]
    assert [one[0] for one in steps(guide)] == told
    names = [words[1] for words in told]
    assert names == ["demo", "collect", "grade", "marks", "feedback", "report"]


def test_every_page_is_reached_from_the_first() -> None:
    linked = set(re.findall(r"\]\((\w+\.md)", page("README.md")))
    assert linked == set(ALL) - {"README.md"}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("```\npython3 course/start.py run mark\n```\n", "no command mark"),
        ("```\npython3 course/start.py run marks --klass x\n```\n", "--klass"),
        ("```\npython3 course/start.py run collect\n```\n", "collect"),
        ("Type `python3 course/start.py --klass x`, or\n", "start.py does not know"),
        ("```\npython3 course/start.py run grade --class ../x\n```\n", "../x is made nowhere"),
        ("```\npython3 course/start.py run reconcile a.csv\n```\n", "a.csv is made nowhere"),
        ("[there](nowhere.md)\n", "no file nowhere.md"),
        ("[there](README.md#nowhere)\n", "no heading"),
        ("# A\n[there](#b)\n", "no heading"),
        ("`course/items/a9.toml`\n", "no file course/items/a9.toml"),
        ("`a8_eighth`\n", "no assignment a8_eighth"),
        ("x\n" * 251, "251 lines"),
    ],
)
def test_the_check_of_a_page_can_fail(text: str, why: str) -> None:
    assert why in " ".join(problems(text, GUIDE))


def test_a_sound_page_passes() -> None:
    text = (
        "# A\nSave it as `r.csv`:\n```csv\nstudent\ns1\n```\n"
        "```\npython3 course/start.py run new-class c --roster r.csv --in ..\n"
        "python3 course/start.py run grade --class ../c\n```\n[up](#a) [on](README.md)\n"
    )
    assert problems(text, GUIDE) == []
    assert anchors("## 5. Mark what only you can mark") == {"5-mark-what-only-you-can-mark"}


def test_class_lists_of_the_guide_are_read() -> None:
    assert len(parse_roster(block("grading.md", "roster.csv"))) == 3
    assert [one.id for one in parse_roster(block("self_study.md", "me.csv"))] == ["me"]


def test_the_table_of_extracted_teeth_is_read() -> None:
    measured = parse_measurements(block("extracted_teeth.md", "teeth.csv"))
    assert {one.true_mm for one in measured} == {22.1}
    assert [one.repeat for one in measured if one.method == "radiograph"] == [1, 2, 1, 2]
    told_of = re.findall(r"^\| ((?:`\w+`(?:, )?)+) \|", page("extracted_teeth.md"), re.MULTILINE)
    assert re.findall(r"\w+", " ".join(told_of)) == list(COLUMNS)


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Reconciliation]:
    folder = tmp_path_factory.mktemp("guide")
    for name in ("my_cases.csv", "my_case.json"):
        (folder / name).write_text(block("authoring.md", name), encoding="utf-8")
    read = Evidence.read_many(folder / "my_cases.csv")
    read["my_case"] = Evidence.read(folder / "my_case.json")
    return {name: reconcile(case, target_mm=0.5) for name, case in read.items()}


def test_cases_of_the_guide_say_what_the_guide_says(cases: dict[str, Reconciliation]) -> None:
    """The rubric marks reasons by the first; a tenth either way does not change them."""
    early = cases["early reading"]
    assert early.foramen_mm == pytest.approx(25.5, abs=0.15)
    assert early.working_length_mm == pytest.approx(25.0, abs=0.3)
    assert early.interval_mm(0.90) == pytest.approx((25.1, 25.9), abs=0.2)
    assert next(s.trust for s in early.sources if s.kind == "electronic_reading") < 0.1
    assert cases["drifting points"].working_length_mm is None
    assert cases["drifting points"].next_step.word == "points"
    assert cases["side of the point"].next_step.word == "ask"
    assert cases["my_case"].working_length_mm is not None
    for name in ("authoring.md", "rubric.md"):
        assert "25.5 mm" in page(name)


def rubric_rows(text: str) -> list[str]:
    return re.findall(r"^\| (?:4|3|1 to 2|0) \| .+\|$", text, re.MULTILINE)


def words_of(notebook: str) -> str:
    cells = json.loads((ROOT / "course" / notebook).read_text(encoding="utf-8"))["cells"]
    return "\n".join("".join(cell["source"]) for cell in cells)


@pytest.mark.parametrize("name", ["a6_reconcile", "a7_ten_canals"])
def test_the_rubric_is_the_one_that_students_see(name: str) -> None:
    told = rubric_rows(words_of(f"source/{name}/{name}.ipynb"))
    assert len(told) == 4
    assert told == rubric_rows(page("rubric.md"))


def test_every_level_has_two_marked_reasons() -> None:
    points = re.findall(r'^\| [A-J] \| ".+" \| (\d) \|', page("rubric.md"), re.MULTILINE)
    assert sorted(points) == sorted("4433221100")


def cautions(text: str) -> set[str]:
    return set(re.findall(r"^> (\S.+)$", text, re.MULTILINE))


def test_cautions_and_when_to_refer_are_those_of_the_course_word_for_word() -> None:
    told = cautions(words_of("index.ipynb"))
    assert len(told) >= 9
    refer = {FIRST, *(f"- {sign}" for sign in SIGNS)}
    assert told | refer <= cautions(page("safety.md"))
    for lesson in ("05_when_the_canal_will_not_stay_dry", "06_one_ruler"):
        words = words_of(f"lessons/{lesson}.ipynb")
        assert "## When to stop and refer" in words
        assert "WhenToStop()" in words
        assert SIGNS[0] not in words  # shown from its one home, not written a second time


def test_what_the_bench_refuses_where_an_opening_is_suspected_is_among_the_cautions() -> None:
    """Its suspicions: an open apex, a perforation, a resorption, an opening into the sinus."""
    told = (
        "No hypochlorite and no peroxide, not even on a point, where an open apex, a perforation, "
        "a resorption or an opening into the sinus is suspected"
    )
    course = [*ROOT.glob("course/**/*.ipynb")]
    cautioning = [path for path in course if "Never hydrogen peroxide" in path.read_text("utf-8")]
    assert len(cautioning) >= 4
    guide = [ROOT / "README.md", ROOT / "instructor_guide" / "safety.md"]
    for path in (*cautioning, *guide):
        assert told in re.sub(r"\s+", " ", path.read_text(encoding="utf-8")), path.name


def test_no_page_names_a_folder_of_one_machine_or_calls_invented_data_real() -> None:
    for name, path in ALL.items():
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"(?<![\w.:/*<])/(?:root|home|work|Users|mnt)/\w", text), name
        assert not re.search(r"\breal (?:case|data|patient|class)", text), name


def test_lessons_named_in_the_guide_have_their_names() -> None:
    lessons = {p.stem[:2] for p in (ROOT / "course" / "lessons").glob("*.ipynb")}
    for name, path in ALL.items():
        text = path.read_text(encoding="utf-8")
        named = set(re.findall(r"\blessons? (0\d)", text))
        assert named <= lessons, name
