"""The command line: a mistake is one plain sentence, never a traceback; nothing is half done."""

from __future__ import annotations

import errno
import json
import re
import shlex
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path

import pytest
import typer
from grading_tools import run_lengthwise
from lengthwise import cli
from lengthwise.classroom import grading_commands, marks_table, workers
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.command_words import say_next_ones
from lengthwise.classroom.marks_table import MarksRow, MarksTable
from lengthwise.classroom.one_submission import Outcome
from lengthwise.classroom.typed import (
    TYPED,
    command,
    form_view,
    quoted,
    quoted_on_windows,
    shown,
)
from lengthwise.cli import app
from typer.core import TyperGroup
from typer.testing import CliRunner

EVIDENCE = {
    "schema": "lengthwise/evidence/1",
    "tooth": "13",
    "canal": "single",
    "reference_point": "cusp tip",
    "context": {"apex": "closed", "pulp": "vital"},
    "evidence": [
        {"kind": "preoperative_film", "tooth_length_mm": 26.5, "technique": "paralleling"},
        {"kind": "electronic_reading", "foramen_signal_mm": 25.2},
        {"kind": "point_trial", "length_mm": 24.5, "contact_s": 1, "wet_mm": 0, "ran_freely": True},
        {
            "kind": "point_trial",
            "length_mm": 25.5,
            "contact_s": 1,
            "wet_mm": 0.6,
            "ran_freely": True,
        },
    ],
}
CSV = """case,tooth,canal,reference_point,kind,length_mm,contact_s,wet_mm,foramen_signal_mm
one,13,single,cusp tip,electronic_reading,,,,25.2
one,13,single,cusp tip,point_trial,25.0,1,0,
two,23,single,cusp tip,electronic_reading,,,,24.0
"""


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["grade"], "There is no class in"),
        (["marks"], "There is no class in"),
        (["feedback"], "There is no class in"),
        (["collect", "."], "There is no class in"),
        (["new-class", "x", "--roster", "none.csv"], "none.csv cannot be opened"),
        (["new-class", "x", "--roster", "roster.csv", "--target", "half"], "not a number"),
        (["new-class", "x", "--roster", "roster.csv", "--target", "9"], "target distance 9 mm"),
        (["new-class", "a/b", "--roster", "roster.csv"], "cannot name a folder"),
        (["new-class", "x", "--roster", "twice.csv"], "row 3, field student"),
        (["new-class", "x", "--roster", "roster.csv", "--in", "nowhere"], "is not a folder"),
        (["new-class", "here", "--roster", "roster.csv"], "already there"),
        (["reconcile", "none.json"], "none.json"),
        (["reconcile", "bad.json"], "255"),
        (["demo", "here"], "already there"),
    ],
)
def test_a_mistake_is_one_sentence_and_changes_nothing(
    tmp_path: Path, arguments: list[str], says: str
) -> None:
    (tmp_path / "here").mkdir()
    (tmp_path / "roster.csv").write_text("student\nada\n", encoding="utf-8")
    (tmp_path / "twice.csv").write_text("student\nada\nada\n", encoding="utf-8")
    bad = json.loads(json.dumps(EVIDENCE))
    bad["evidence"][1]["foramen_signal_mm"] = 255
    (tmp_path / "bad.json").write_text(json.dumps(bad), encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    done = run_lengthwise(*arguments, cwd=tmp_path)
    assert done.returncode == 1
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1, done.stderr
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["reconcile", "half.json"], "half.json: line 1 is not JSON"),
        (["reconcile", "case.json", "--target", "9"], "--target: got 9; allowed is 0 to 3"),
        (["reconcile-class", "case.json", "--target", "9"], "--target: got 9; allowed is 0 to 3"),
        (["teeth-template", "nowhere/new.csv"], "nowhere is not a folder; make it"),
        (["pages", "case.json/pages"], "pages cannot be made ("),
        (["pages", "here", "--course", "nowhere"], "No lesson lies in nowhere; name the course's"),
    ],
)
def test_a_mistake_is_told_before_anything_is_written_and_how_to_mend_it(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    says: str,
) -> None:
    (tmp_path / "case.json").write_text(json.dumps(EVIDENCE), encoding="utf-8")
    (tmp_path / "half.json").write_text(json.dumps(EVIDENCE)[:99], encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", ["lengthwise", *arguments])
    monkeypatch.setattr(warnings, "showwarning", warnings.showwarning)
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(SystemExit) as ended:
        cli.main()
    said = capsys.readouterr().err
    assert (ended.value.code, len(said.splitlines())) == (1, 1), said
    assert says in said
    assert sorted(tmp_path.rglob("*")) == before


def test_a_single_case_gets_its_sentence_its_sources_and_its_chart_line(tmp_path: Path) -> None:
    (tmp_path / "case.json").write_text(json.dumps(EVIDENCE), encoding="utf-8")
    done = run_lengthwise("reconcile", "case.json", "--target", "0,5", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "The canal most likely ends at 25." in done.stdout
    for source in ("electronic reading", "paper points", "cusp tip"):
        assert source in done.stdout
    assert "not a medical device" in done.stdout


def test_a_table_of_cases_is_answered_case_by_case(tmp_path: Path) -> None:
    (tmp_path / "cases.csv").write_text(CSV, encoding="utf-8")
    done = run_lengthwise("reconcile", "cases.csv", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("The canal ") == 2
    assert done.stdout.index("one") < done.stdout.index("two")


@pytest.mark.slow
def test_grading_feedback_and_marks_before_anything_is_collected(small_class: ClassFolder) -> None:
    for one, first in (("grade", "collect FOLDER"), ("feedback", "grade")):
        done = run_lengthwise(one, "--class", small_class.root, cwd=small_class.root.parent)
        assert done.returncode == 1
        assert f"first run: lengthwise {first} --class small\n" in done.stderr
    done = run_lengthwise("grade", "a9_nothing", cwd=small_class.root)
    assert "no 'a9_nothing' in it; it has a6_reconcile" in done.stderr


def test_where_no_page_can_be_written_the_zip_of_pages_stays_as_it_was(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    taught = ClassFolder(tmp_path, "class", 0.5, ("a6_reconcile",), "0")
    row = MarksRow("ada", {}, 3.0)
    monkeypatch.setattr(grading_commands, "opened", lambda *_: (taught, "a6_reconcile"))
    monkeypatch.setattr(marks_table, "marks_table", lambda *_: MarksTable("a6", {}, (row,)))
    monkeypatch.setattr(workers, "run_for_each", lambda *_: [Outcome("ada", failed="a full disk")])
    kept = tmp_path / "feedback" / "a6_reconcile.zip"
    kept.parent.mkdir()
    kept.write_bytes(b"of yesterday")
    done = CliRunner().invoke(app, ["feedback"])
    assert done.exit_code == 1
    assert kept.read_bytes() == b"of yesterday"
    assert f"then run again: lengthwise feedback --class {shown(tmp_path)}" in done.output


@pytest.mark.slow
def test_an_assignment_is_named_either_way(small_class: ClassFolder) -> None:
    for words in (["a6_reconcile"], ["--assignment", "a6_reconcile"]):
        done = run_lengthwise("marks", *words, cwd=small_class.root)
        assert done.returncode == 0, done.stderr
        assert "Written to marks_a6_reconcile.csv" in done.stdout
    done = run_lengthwise("marks", "a6_reconcile", "--assignment", "a1", cwd=small_class.root)
    assert done.returncode == 1
    assert "name one" in done.stderr
    (small_class.root / "marks_a6_reconcile.csv").unlink()


def test_what_comes_next_is_said_as_it_was_typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    several = ClassFolder(tmp_path / "spring 2", "spring", 0.5, ("a1", "a2"), "0")
    monkeypatch.chdir(tmp_path)
    assert command("grade", several, "a2") == f"lengthwise grade a2 --class {quoted('spring 2')}"
    monkeypatch.setenv(TYPED, '["python3", "course/start.py", "run"]')
    assert command("grade", several, "a2").startswith("python3 course/start.py run grade a2 ")
    assert form_view(several) == f"python3 course/start.py --class {quoted('spring 2')}"
    several.root.mkdir()
    monkeypatch.chdir(several.root)
    one = ClassFolder(Path("..", "spring 2"), "spring", 0.5, ("a1",), "0")
    assert command("marks", one, "a1") == "python3 course/start.py run marks"
    assert ".." not in form_view(one)


@pytest.mark.parametrize("name", ["spring 2", "[old]", "o'brien & co", "$HOME"])
def test_a_command_that_is_said_can_be_typed_whatever_the_folder_is_called(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    taught = ClassFolder(tmp_path / name, "spring", 0.5, ("a1",), "0")
    say_next_ones((command("grade", taught, "a1"), ""))
    typed = capsys.readouterr().out.splitlines()[1]
    if sys.platform != "win32":
        assert shlex.split(typed) == ["lengthwise", "grade", "--class", name]
    else:
        assert name in typed


@pytest.mark.parametrize("sign", [*" &()[]{}^=;!'+,`~", "|", "<", "$", "%"])
def test_on_windows_a_word_is_in_quotes_where_a_command_line_would_read_a_sign_in_it(
    sign: str,
) -> None:
    """The signs are those that ``cmd /?`` says need quotes (from memory), and some more."""
    for name in (f"a{sign}b", f"{sign}b", f"C:\\a{sign}"):
        assert quoted_on_windows(name) == f'"{name}"'
    # the last quote must not be taken for a part of the name: backslashes before it count half
    assert quoted_on_windows(f"a{sign}b\\") == f'"a{sign}b\\\\"'
    assert quoted_on_windows("C:\\Kurs\\Länge_1-2\\start.py") == "C:\\Kurs\\Länge_1-2\\start.py"
    assert quoted_on_windows("") == '""'


def test_help_names_every_command_with_what_it_does() -> None:
    registered = typer.main.get_command(app)
    assert isinstance(registered, TyperGroup)
    assert {"new-class", "grade", "move-gradebook", "doctor"} <= set(registered.commands)
    said = CliRunner().invoke(app, ["--help"], env={"COLUMNS": "200"}).output
    lines = [line.strip("│ ").split() for line in said.splitlines()]
    told = {words[0]: words[1:] for words in lines if words}
    for name in registered.commands:
        assert told.get(name), f"{name} is not in: {said}"


@pytest.mark.parametrize("kind", ["KeyError", "ValueError"])
def test_something_unexpected_is_said_in_a_sentence_and_its_details_are_kept(
    tmp_path: Path, kind: str
) -> None:
    program = (
        "import lengthwise.cli as cli\n"
        f"def broken(): raise {kind}('inside')\n"
        "cli.app = broken\n"
        "cli.main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, cwd=tmp_path, check=False
    )
    assert done.returncode == 2
    assert f"Something unexpected went wrong ({kind}: " in done.stderr
    assert "ask whoever looks after this software" in done.stderr
    assert "Traceback" not in done.stderr
    said = re.search(r"details are in (.*)\. Keep that", done.stderr)
    assert said is not None
    log = Path(said[1])
    assert re.search(f"{kind}: '?inside", log.read_text("utf-8"))
    log.unlink()


def test_details_that_a_full_disk_cannot_keep_are_shown(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    def wrong() -> None:
        raise KeyError("inside")

    monkeypatch.setattr(warnings, "showwarning", warnings.showwarning)
    monkeypatch.setattr(tempfile, "NamedTemporaryFile", broken)
    monkeypatch.setattr(cli, "app", wrong)
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert "KeyError: 'inside'\n" in said
    assert "the details are in the lines above" in said
    monkeypatch.setattr(cli, "app", broken)
    with pytest.raises(SystemExit):
        cli.main()
    assert "A file: No space left on device. See that" in capsys.readouterr().err


def test_where_nothing_is_collected_it_is_said_what_to_do(
    small_class: ClassFolder, tmp_path: Path
) -> None:
    done = CliRunner().invoke(app, ["collect", str(tmp_path), "--class", str(small_class.root)])
    assert done.exit_code == 1
    assert "Nothing was collected. Mend what is said above of each file; where" in done.output


def test_the_command_line_starts_without_what_grading_needs() -> None:
    """nbgrader takes seconds to import; help and mistakes must not wait for it."""
    program = (
        "import sys, lengthwise.cli\n"
        "print([name for name in ('nbgrader', 'scipy', 'pydantic') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert done.stdout.strip() == "[]"
