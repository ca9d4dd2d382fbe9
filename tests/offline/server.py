"""A real server process on a database file of its own, to be killed and started again."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

ROOT = Path(__file__).resolve().parents[2]


class Server:
    def __init__(self, folder: Path):
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.environment = os.environ | {
            "DATA_DIR": str(folder),
            "TASKS": "immediate",
            "DEBUG": "off",
            "DATABASE_URL": f"sqlite:///{folder}/site.sqlite3",
            "DJANGO_SETTINGS_MODULE": "builds.settings",
        }
        self.process: subprocess.Popen | None = None
        self.restarts = 0

    @property
    def address(self) -> str:
        return f"http://localhost:{self.port}"

    def manage(self, *text: str, given: str | None = None) -> str:
        command = [sys.executable, "manage.py", *text]
        done = subprocess.run(command, cwd=ROOT, env=self.environment, input=given, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr[-2000:]
        return done.stdout

    def start(self):
        command = [sys.executable, "-m", "gunicorn", "builds.wsgi", "-b", f"127.0.0.1:{self.port}", "--threads", "4"]
        command += ["--no-control-socket", "--log-level", "error"]
        self.process = subprocess.Popen(command, cwd=ROOT, env=self.environment, start_new_session=True)

    def wait(self):
        for _ in range(300):
            try:
                with urlopen(f"{self.address}/connected/", timeout=2):
                    return
            except (URLError, OSError):
                time.sleep(0.1)
        raise AssertionError("the server did not start")

    def kill(self):
        """As a power cut does it: no farewell, master and worker alike."""
        if self.process:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def restart(self):
        self.kill()
        self.start()
        self.restarts += 1
