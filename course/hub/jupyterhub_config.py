"""This course on one Linux computer for a school: jupyterhub -f course/hub/jupyterhub_config.py

What differs from school to school stands in hub.toml; see hub.example.toml beside this file and
instructor_guide/hub.md. Every student is a user of the system and works under its name.
"""

import os
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

import proxy  # noqa: E402
from hub_exchange import ready_part  # noqa: E402
from hub_faults import SettingsError  # noqa: E402
from hub_permissions import check_course  # noqa: E402
from hub_settings import (  # noqa: E402
    desks_of,
    groups_let_in,
    read_settings,
    settings_path,
)
from lengthwise.classroom.errors import ClassroomError  # noqa: E402
from lengthwise.classroom.hub_login import Login, students_by_login  # noqa: E402

try:
    settings = read_settings(settings_path())
    check_course(HERE.parent)
    for one in settings.classes.values():
        ready_part(settings.exchange, one.name, one.graders)
except (SettingsError, ClassroomError) as problem:
    sys.exit(f"The hub was not started. {problem}")

c = get_config()  # noqa: F821
limits = settings.limits

# ------------------------------------------------------------------ the hub itself
c.JupyterHub.bind_url = settings.address
c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{proxy.free_port()}"
c.JupyterHub.db_url = f"sqlite:///{settings.data / 'jupyterhub.sqlite'}"
c.JupyterHub.cookie_secret_file = str(settings.data / "cookie_secret")
c.ConfigurableHTTPProxy.pid_file = str(settings.data / "proxy.pid")
c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{proxy.free_port()}"
proxy.find_node_modules(os.environ)
c.JupyterHub.active_server_limit = limits.servers
c.JupyterHub.concurrent_spawn_limit = 2 * (os.cpu_count() or 1)

# ------------------------------------------------------------------ who may come in
c.JupyterHub.authenticator_class = settings.authenticator
c.PAMAuthenticator.open_sessions = False
groups = groups_let_in(settings)
if groups is None:
    c.Authenticator.allow_all = True  # and who is in no class gets no server: see ready_desk
else:
    c.PAMAuthenticator.allowed_groups = groups

# ------------------------------------------------------------------ what they get
# Never the simple spawner: it would run everybody as one user, and no file would be anybody's own.
LIMITED = ["prlimit", f"--data={limits.memory_mb * 2**20}", f"--nproc={limits.processes}",
           "--core=0", "--", "nice", "-n", "5"]  # fmt: skip
if settings.spawner == "systemd":
    c.JupyterHub.spawner_class = "systemdspawner.SystemdSpawner"
    c.Spawner.mem_limit, c.Spawner.cpu_limit = f"{limits.memory_mb}M", 1.0
    LIMITED = []
else:
    c.JupyterHub.spawner_class = "jupyterhub.spawner.LocalProcessSpawner"
    # A server without a terminal takes an interrupt for nothing; what ends it comes after that.
    c.LocalProcessSpawner.interrupt_timeout = 1
c.Spawner.cmd = [*LIMITED, sys.executable, str(HERE / "desk.py")]
# Of root's own variables these alone go on; the last where Python has a library of its own.
c.Spawner.env_keep = ["PATH", "LANG", "LC_ALL", "TZ", "VIRTUAL_ENV", "LD_LIBRARY_PATH"]
c.Spawner.start_timeout, c.Spawner.http_timeout = 120, 120
FOR_ALL = {
    "LENGTHWISE_IDLE_PAGE_S": str(60 * limits.idle_page_minutes),
    # One user is one of many: a library that takes every core for itself makes all others wait.
    **{f"{library}_NUM_THREADS": "1" for library in ("OMP", "OPENBLAS", "MKL")},
}


def choices(spawner):
    """Ask somebody who may open several things which one; everybody else is not asked."""
    words = desks_of(spawner.user.name, settings)
    if len(words) < 2:
        return ""
    options = "".join(f"<option>{one}</option>" for one in words)
    return f'<label for="desk">Open</label> <select id="desk" name="desk">{options}</select>'


def ready_desk(spawner):
    """Tell the server of a user what it is: whose, of which class, as student or as grader."""
    words = desks_of(spawner.user.name, settings)
    if not words:
        raise SettingsError(
            f"{spawner.user.name} is in no class here. Ask your instructor to add you to one."
        )
    chosen = (spawner.user_options.get("desk") or [next(iter(words))])[0]
    if chosen not in words:
        raise SettingsError(f"Field desk: got {chosen!r}; allowed is {', '.join(words)}.")
    taught, role = words[chosen]
    # Always a new one, so that nothing of a grader's is left in a student's.
    own = grader_variables(taught) if role == "grader" else student_variables(spawner, taught)
    spawner.environment = {**FOR_ALL, **own}
    # The grader's is a page of its own, not the pane in Lab: no page of the hub stands in a frame.
    spawner.default_url = "/formgrader" if role == "grader" else "/voila/render/index.ipynb"


def grader_variables(taught):
    """Tell a grader's server which class it is for, and how to get into its database."""
    given = {
        "LENGTHWISE_CLASS": str(taught.folder),
        "LENGTHWISE_EXCHANGE": str(settings.exchange),
    }
    if taught.password_file is not None:
        given["PGPASSWORD"] = taught.password_file.read_text(encoding="utf-8").strip()
    return given


def student_variables(spawner, taught):
    """Tell a student's server whose it is, by the id on the class list."""
    logins = students_by_login(taught.folder)
    if logins and spawner.user.name not in logins:
        raise SettingsError(
            f"{spawner.user.name} is not in logins.csv of class {taught.name}. Ask your instructor "
            "to add a row for you."
        )
    student = logins.get(spawner.user.name, spawner.user.name)
    return Login(student, taught.name, str(settings.exchange)).as_variable()


c.Spawner.options_form = choices
c.Spawner.pre_spawn_hook = ready_desk

# ------------------------------------------------------------------ what is idle goes
c.JupyterHub.services = [
    {
        "name": "idle-culler",
        "command": [
            sys.executable, "-m", "jupyterhub_idle_culler",
            f"--timeout={60 * limits.idle_minutes}",
        ],
    }
]  # fmt: skip
c.JupyterHub.load_roles = [
    {
        "name": "idle-culler",
        "services": ["idle-culler"],
        "scopes": ["list:users", "read:users:activity", "read:servers", "delete:servers"],
    }
]
