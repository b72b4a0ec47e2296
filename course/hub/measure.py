"""Measure what one student costs on this computer:  python course/hub/measure.py

Memory is the share of each program (PSS: pages that several programs use count in parts), and what
it alone uses (USS: what one more of its kind adds). It needs no hub: it starts the same server that
the hub starts, measures, and stops it. Put its figures into the table of instructor_guide/hub.md.
"""

import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import psutil
from jupyter_client.manager import start_new_kernel

COURSE = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(COURSE))

from opening.ports import ask, choose_port  # noqa: E402
from opening.servers import start_course  # noqa: E402

PAGE = "/voila/render/lessons/06_one_ruler.ipynb"
MOVES = 60
QUIET_S = 10.0
MB = 1e6
WORKSHEET = """from lengthwise.classroom.worksheet import *
open_worksheet("student-01", {folder!r})
show_case("q1")"""
SLIDE = f"""import time
from lengthwise.panels.landmarks_panel import landmarks_panel
panel = landmarks_panel()
slider = panel.place
spent = time.process_time()
for move in range({MOVES}):
    slider.value = 1 + move
print((time.process_time() - spent) / {MOVES})"""


class Taken(NamedTuple):
    """What a program takes: memory in MB, processor time in seconds."""

    pss_mb: float
    uss_mb: float
    cpu_s: float


def taken(process: psutil.Process) -> Taken:
    """Look at one program."""
    memory, times = process.memory_full_info(), process.cpu_times()
    return Taken(memory.pss / MB, memory.uss / MB, times.user + times.system)


def measured_server(folder: Path) -> dict[str, object]:
    """Start a server, leave it alone, open a lesson page in it."""
    server = start_course(folder, choose_port(), COURSE)
    try:
        server.wait_until_it_answers()
        program = psutil.Process(server.process.pid)
        time.sleep(QUIET_S / 2)
        before = taken(program)
        time.sleep(QUIET_S)
        idle = taken(program)
        ask(server.port, server.token, PAGE)  # its answer may take longer than it waits
        end = time.monotonic() + 60
        while not program.children() and time.monotonic() < end:
            time.sleep(0.2)
        time.sleep(QUIET_S)
        (page,) = program.children()
        return {
            "server, idle": idle._replace(cpu_s=(idle.cpu_s - before.cpu_s) / QUIET_S),
            "lesson page, after its start": taken(page),
        }
    finally:
        server.stop()


def measured_kernel(code: str) -> tuple[Taken, str]:
    """Run code in a kernel of its own; what it took, and what it printed."""
    manager, client = start_new_kernel(kernel_name="python3")
    printed = []

    def listen(message):
        if message["msg_type"] == "stream":
            printed.append(message["content"]["text"])

    try:
        client.execute_interactive(code, output_hook=listen, timeout=120)
        return taken(psutil.Process(manager.provisioner.pid)), "".join(printed)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def measured_grading(folder: Path) -> Taken:
    """Grade an invented class in this process; the time is that of one student."""
    from lengthwise.classroom.collect import collect
    from lengthwise.classroom.demo_class import make_demo
    from lengthwise.classroom.grader import grader
    from lengthwise.classroom.roster import class_list

    demo = make_demo(folder / "demo", COURSE)
    taught = demo.taught
    (name,) = taught.assignments
    collect(demo.handed_in, taught, name, class_list(taught))
    api = grader(taught)
    first, *others = taught.submitted_students(name)
    api.autograde(name, first, force=True)  # it loads what every other student finds loaded
    before = time.process_time()
    for student in others:
        api.autograde(name, student, force=True)
    spent = (time.process_time() - before) / len(others)
    return taken(psutil.Process())._replace(cpu_s=spent)


def main() -> None:
    """Measure, and print one line each."""
    with tempfile.TemporaryDirectory() as folder:
        found = measured_server(Path(sys.prefix))
        grading = measured_grading(Path(folder))
        release = next(Path(folder).glob("demo/*/release/*/cases.json")).parent
        code = WORKSHEET.format(folder=str(release))
        found["notebook of an assignment"] = measured_kernel(code)[0]
        moving, said = measured_kernel(SLIDE)
        found["slider, each move"] = moving._replace(cpu_s=float(said))
        found["grading, each student"] = grading
    lines = [f"{'':32}  PSS MB  USS MB  processor s"]
    lines += [
        f"{name:32}  {one.pss_mb:6.0f}  {one.uss_mb:6.0f}  {one.cpu_s:11.3f}"
        for name, one in found.items()
    ]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
