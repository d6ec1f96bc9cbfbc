"""The bench as somebody starts it: `pegwood serve` in a process and a workshop of its own."""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

TESTS = Path(__file__).resolve().parents[1]


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as one:
        return int(one.getsockname()[1])


class Bench:
    """
    A served workshop.

    With `port` it can be killed and started again at the same address. A port that the system chose cannot be
    taken again at once: Linux keeps it for the connections that the dead server left behind.
    """

    def __init__(self, folder: Path, port: int = 0, *, sign_in: bool = False) -> None:
        self.folder, self.port = folder, port
        clean = {name: value for name, value in os.environ.items() if not name.startswith("PEGWOOD_")}
        self.environment = {**clean, "PEGWOOD_WORKSHOP": str(folder), "PYTHONUNBUFFERED": "1"}
        if sign_in:
            self.environment["PEGWOOD_SIGN_IN"] = "1"
        self.process: subprocess.Popen[str] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> Bench:
        command = [sys.executable, "-m", "pegwood", "serve", "--port", str(self.port), "--no-browser"]
        log = self.folder.parent / "server.log"
        with log.open("a") as said_amiss:
            self.process = subprocess.Popen(
                command, env=self.environment, stdout=subprocess.PIPE, stderr=said_amiss, text=True
            )
        assert self.process.stdout is not None
        said = self.process.stdout.readline()
        address = re.search(r"http://127\.0\.0\.1:(\d+)/", said)
        assert address, f"the server did not say where it is: {said}{log.read_text()[-600:]}"
        self.port = int(address[1])
        return self

    def stop(self) -> None:
        if self.process is not None:
            self.process.terminate()
            self.process.wait(20)
            self.process = None

    def kill(self) -> None:
        """As when the power goes."""
        assert self.process is not None
        self.process.kill()
        self.process.wait(20)
        self.process = None

    def pegwood(self, *words: object) -> str:
        """What the command says in this workshop; it must end well."""
        command = [sys.executable, "-m", "pegwood", *map(str, words)]
        done = subprocess.run(
            command, env=self.environment, capture_output=True, text=True, timeout=120, check=False
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def job(self, number: int) -> dict[str, Any]:
        """All that is written of a job."""
        shown: dict[str, Any] = json.loads(self.pegwood("job", "show", number, "--json"))
        return shown

    def jobs(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.pegwood("job", "list", "--all", "--json").splitlines()]

    def file(self, sha256: str) -> bytes:
        """A file of the store, as it lies on the disk."""
        return (self.folder / "files" / sha256[:2] / sha256).read_bytes()

    def fill(self, script: str) -> Bench:
        """Run a script on the book, before anybody looks at it."""
        path = os.pathsep.join(filter(None, (str(TESTS), self.environment.get("PYTHONPATH"))))
        ours = {"DJANGO_SETTINGS_MODULE": "pegwood.frame.settings", "PYTHONPATH": path}
        here = {**self.environment, **ours}
        subprocess.run([sys.executable, "-m", "django", "migrate", "-v0"], env=here, check=True, timeout=120)
        subprocess.run([sys.executable, "-c", script], env=here, check=True, timeout=120)
        return self
