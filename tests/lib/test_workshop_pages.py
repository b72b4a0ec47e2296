"""The pages of a workshop are those of the course, less what a workshop has no use for."""

import re
from pathlib import Path

import nbformat
import pytest
from lengthwise.panels.page_template import TEMPLATE_NAME, data_folder
from lengthwise.panels.workshop_pages import PRACTICE, START, pages_of, write_pages
from lengthwise.panels.workshop_server import WARM_KERNEL_MB, settings_of, warm_kernels

COURSE = Path(__file__).resolve().parents[2] / "course"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pages")
    assert write_pages(COURSE, folder) == pages_of(COURSE)
    return folder


def words_of(path: Path) -> str:
    notebook = nbformat.read(path, as_version=4)
    return "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")


def test_the_start_page_leads_to_every_page_and_nowhere_else(made: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)\)", words_of(made / START))
    assert sorted(links) == sorted(set(pages_of(COURSE)) - {START})


def test_the_start_page_has_the_cautions_and_no_code_and_no_assignment(made: Path) -> None:
    notebook = nbformat.read(made / START, as_version=4)
    words = words_of(made / START)
    assert {cell.cell_type for cell in notebook.cells} == {"markdown"}
    assert "A teaching simulation, not a medical device." in words
    gone = ("notebook", "assignment", "this computer", "opens as a page")
    assert not [word for word in gone if word in words]
    # The same page of the course has them: the check can fail.
    assert "as a notebook" in words_of(COURSE / START)


def test_a_lesson_keeps_every_heading_table_and_cell_of_code(made: Path) -> None:
    for page in pages_of(COURSE)[1:-1]:
        before, after = (nbformat.read(f / page, as_version=4) for f in (COURSE, made))
        for then, now in zip(before.cells, after.cells, strict=True):
            if then.cell_type == "code":
                assert now.source == then.source
            else:
                kept = [line for line in then.source.split("\n") if line[:1] in ("#", "|", ">")]
                assert [line for line in now.source.split("\n") if line[:1] in tuple("#|>")] == kept
        assert "Opened as a notebook?" not in words_of(made / page)


def test_what_lies_beside_a_lesson_comes_along_and_nothing_of_assignments(made: Path) -> None:
    beside = {path.name for path in COURSE.glob("lessons/*.*") if path.is_file()}
    assert {path.name for path in made.glob("lessons/*")} == beside
    assert {path.name for path in made.iterdir()} == {START, "lessons", "practice"}


def test_practice_keeps_a_log_for_each_page_and_says_that_nothing_stays(made: Path) -> None:
    source = nbformat.read(made / PRACTICE, as_version=4).cells[1].source
    assert source.index('os.environ["LENGTHWISE_DATA"]') < source.index("open_practice()")
    assert "Nothing is kept in a workshop" in words_of(made / PRACTICE)
    code = [cell.source for cell in nbformat.read(made / PRACTICE, as_version=4).cells]
    course = [cell.source for cell in nbformat.read(COURSE / PRACTICE, as_version=4).cells]
    assert "page.kept" in course
    assert "page.kept" not in code
    assert not [word for word in ("Begin anew", "login") if word in words_of(made / PRACTICE)]


@pytest.mark.parametrize(("address", "room"), [("127.0.0.1", False), ("192.168.1.5", True)])
def test_only_where_phones_can_come_a_page_leads_to_the_address_for_them(
    address: str, room: bool
) -> None:
    settings = settings_of(Path("pages"), address, 8888, "a2b3c4d5")
    assert settings.VoilaConfiguration["resources"]["in_the_room"] is room
    page = data_folder() / "voila" / "templates" / TEMPLATE_NAME / "index.html.j2"
    link = re.search(
        r"\{% if resources.in_the_room %\}(.*?)\{% endif %\}", page.read_text(), re.DOTALL
    )
    assert link
    assert "On your phone" in link[1]


@pytest.mark.parametrize("free_mb", [0.0, 900.0, 4000.0, 64000.0])
@pytest.mark.parametrize("most_each", [1, 8])
def test_warm_kernels_leave_more_than_half_of_the_free_memory_and_serve_first_pages_first(
    free_mb: float, most_each: int
) -> None:
    warm = warm_kernels(9, free_mb, most_each)
    assert sum(warm) * WARM_KERNEL_MB <= free_mb / 2
    assert warm == sorted(warm, reverse=True)
    assert max(warm) <= most_each
