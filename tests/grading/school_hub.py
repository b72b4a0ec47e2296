"""A running hub of a school, and people who log in to it: by requests, as their browser would."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import time
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import requests
from tornado.httpclient import HTTPRequest
from tornado.websocket import websocket_connect


class Person:
    """Somebody who logged in with name and password."""

    def __init__(self, address: str, name: str, password: str) -> None:
        self.address, self.name, self.password = address, name, password
        self.session = requests.Session()
        self.session.trust_env = False

    @property
    def own(self) -> str:
        """The address of their server."""
        return f"{self.address}/user/{self.name}"

    def log_in(self) -> requests.Response:
        """Log in, and ask for the own server as the hub does after a log-in."""
        login = f"{self.address}/hub/login"
        self.session.get(login)
        return self.session.post(
            login,
            data={"username": self.name, "password": self.password},
            params={"_xsrf": self.session.cookies["_xsrf"]},
        )

    def wait_for_server(self, seconds: float = 90) -> None:
        """Return when the own server runs and knows who this is."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            answer = self.get("/api")
            if answer.ok and "version" in answer.json():
                self.get("/tree").raise_for_status()  # a page sends to the hub to log in, and back
                return
            time.sleep(0.3)
        raise RuntimeError(f"no server of {self.name}: {answer.status_code} {answer.text[-2000:]}")

    def get(self, path: str, whose: str | None = None) -> requests.Response:
        """Ask the own server, or somebody else's."""
        return self.session.get(f"{self.address}/user/{whose or self.name}{path}")

    def send(self, method: str, path: str, body: object = None) -> requests.Response:
        """What a button does."""
        forgery = next(
            one.value for one in self.session.cookies
            if one.name == "_xsrf" and one.path == f"/user/{self.name}/"
        )  # fmt: skip
        return self.session.request(
            method, self.own + path, json=body, headers={"X-XSRFToken": forgery or ""}
        )

    def run(self, code: str, folder: str = "") -> str:
        """Run code in a kernel of their own, as in a notebook; returns what it printed."""
        path = f"{folder}/scratch.ipynb" if folder else "scratch.ipynb"
        kernel = self.send("POST", "/api/kernels", {"name": "python3", "path": path}).json()["id"]
        cookies = "; ".join(f"{one.name}={one.value}" for one in self.session.cookies)
        try:
            with ThreadPoolExecutor(1) as aside:  # a browser's test has a loop of its own already
                channel = f"{self.own}/api/kernels/{kernel}/channels"
                return aside.submit(asyncio.run, _execute(channel, cookies, code)).result()
        finally:
            self.send("DELETE", f"/api/kernels/{kernel}")


async def _execute(address: str, cookies: str, code: str) -> str:
    request = HTTPRequest(address.replace("http", "ws", 1), headers={"Cookie": cookies})
    channel = await websocket_connect(request)
    content = {"code": code, "silent": False, "store_history": False, "allow_stdin": False}
    number = uuid.uuid4().hex
    header = {"msg_id": number, "username": "", "session": number, "msg_type": "execute_request",
              "version": "5.3"}  # fmt: skip
    await channel.write_message(
        json.dumps({"header": header, "parent_header": {}, "metadata": {}, "content": content,
                    "channel": "shell", "buffers": []})
    )  # fmt: skip
    printed = ""
    while True:
        told = await asyncio.wait_for(channel.read_message(), 60)
        assert isinstance(told, str), "the kernel's channel was closed"
        message: dict[str, Any] = json.loads(told)
        if message["parent_header"].get("msg_id") != number:
            continue
        if message["msg_type"] == "stream":
            printed += message["content"]["text"]
        elif message["msg_type"] == "error":
            printed += f"{message['content']['ename']}: {message['content']['evalue']}\n"
        elif message["msg_type"] == "status" and message["content"]["execution_state"] == "idle":
            channel.close()
            return printed


@contextmanager
def running_hub(python: Path, settings: Path, log: Path, address: str) -> Iterator[None]:
    """Start the hub as the guide says, wait until it answers, and stop it and all servers."""
    config = python.parents[2] / "lengthwise" / "course" / "hub" / "jupyterhub_config.py"
    environ = {**os.environ, "LENGTHWISE_HUB": str(settings), "PYTHONNOUSERSITE": "1",
               "PATH": f"{python.parent}{os.pathsep}{os.environ['PATH']}",
               # A Python that was laid out anew still looks for its library where nobody may look.
               "LD_LIBRARY_PATH": str(python.parents[2] / "base" / "lib")}  # fmt: skip
    for name in ("PYTHONPATH", "VIRTUAL_ENV", "PGPASSWORD", "NODE_PATH"):
        environ.pop(name, None)
    program = subprocess.Popen(
        [str(python), "-m", "jupyterhub", "-f", str(config)],
        cwd=settings.parent, env=environ, stdin=subprocess.DEVNULL,
        stdout=log.open("w"), stderr=subprocess.STDOUT,
    )  # fmt: skip
    try:
        _wait(address, program, log)
        yield
    finally:
        program.send_signal(signal.SIGTERM)
        try:
            program.wait(timeout=40)
        except subprocess.TimeoutExpired:
            program.kill()
            program.wait()


def _wait(address: str, program: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(300):
        if program.poll() is not None:
            break
        try:
            if requests.get(f"{address}/hub/login", timeout=5).ok:
                return
        except requests.ConnectionError:
            pass
        time.sleep(0.2)
    raise RuntimeError(f"the hub did not start: {log.read_text(encoding='utf-8')}")
