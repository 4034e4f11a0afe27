"""What `manage.py start` checks before it serves, and the two processes it keeps running."""

import ctypes
import errno
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from types import FrameType

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import Error, connection, transaction

from shared import addresses

RESTART_WORKER_AFTER_S = 2.0
LOOK_EVERY_S = 0.2
END_WITHIN_S = 20.0  # a plan being worked out ends within its time limit; then the rest is cut short
_TELL_WHEN_THE_PARENT_DIES = 1  # PR_SET_PDEATHSIG in linux/prctl.h
_LIBC = ctypes.CDLL(None) if sys.platform == "linux" else None


class CannotStart(Exception):  # noqa: N818 - raised and read as "Sawbuck cannot start"
    """Why the shop can't be served, and what would do, in one line."""


def refuse_taken_port(host: str, port: int) -> None:
    """Raises CannotStart where nothing can listen on this host and port."""
    if not 1 <= port <= 65_535:
        raise CannotStart(f"--port {port} is no port. Give one from 1024 to 65535.")
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind) as probe:
            # As the server will: a port that was freed a moment ago is free.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except (OSError, UnicodeError) as error:
        raise CannotStart(_why_not_bound(host, port, error)) from error


def _why_not_bound(host: str, port: int, error: Exception) -> str:
    number = getattr(error, "errno", None)
    if number == errno.EADDRINUSE:
        return f"Port {port} on {host} is taken. Stop what uses it, or give another: --port {port + 1}."
    if number == errno.EACCES:
        return f"Port {port} is kept for the system's own services. Give one from 1024 up: --port 8000."
    return f"{host} is no address of this machine. Give --host 127.0.0.1, or 0.0.0.0 for the whole network."


def refuse_unwritable_database() -> None:
    """Raises CannotStart where the database can't be reached, read or written."""
    try:
        connection.ensure_connection()
        if connection.vendor == "sqlite":
            # The transaction begins by taking the write lock (settings: IMMEDIATE), so a file that
            # can only be read, or that another process keeps locked, is refused here.
            with transaction.atomic():
                pass
    except (Error, ImproperlyConfigured, OSError) as error:
        raise CannotStart(why_not_written(error)) from error


def why_not_written(error: Exception) -> str:
    """The sentence for a database that refused: where it is, what it said, what would do."""
    said = " ".join(str(error).split()).rstrip(".")
    if connection.vendor == "sqlite":
        return (
            f"The database {connection.settings_dict['NAME']} can't be written: {said}. "
            "Set SAWBUCK_DATA to a folder that can, or give this file back to who runs Sawbuck."
        )
    return f"The database of DATABASE_URL can't be used: {said}. Check its address, name and rights."


def environment(host: str) -> dict[str, str]:
    """What the two processes are given: this one's variables, and the names browsers may ask for."""
    named = [name for name in os.environ.get("SAWBUCK_HOSTS", "").split(",") if name.strip()]
    paths = [str(settings.BASE_DIR), os.environ.get("PYTHONPATH", "")]
    return {
        **os.environ,
        "SAWBUCK_HOSTS": ",".join(dict.fromkeys([*named, *hosts_for(host)])),
        "PYTHONPATH": os.pathsep.join(path for path in paths if path),
    }


def hosts_for(host: str) -> list[str]:
    """The names that --host stands for, as a browser sends them."""
    if host not in addresses.EVERY_ADDRESS:
        return [f"[{host}]" if ":" in host else host]
    name = socket.gethostname().lower().removesuffix(".local")
    found = addresses.in_the_shops_network()
    return [*([found] if found else []), name, f"{name}.local"]


def shown_address(host: str, port: int) -> str:
    """What to type into a browser."""
    return f"http://{f'[{host}]' if ':' in host else host}:{port}"


# ---- the two processes ----------------------------------------------------------------------


def server_command(host: str, port: int) -> list[str]:
    """gunicorn: two processes of four threads each, enough for ten people and their phones."""
    # A worker's heartbeat is a file; on a disk that is busy it would stall and the worker be killed.
    memory = Path("/dev/shm")
    heartbeat = ["--worker-tmp-dir", str(memory)] if os.access(memory, os.W_OK) else []
    bind = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
    return [
        *(sys.executable, "-m", "gunicorn", "shared.wsgi:application", "--bind", bind),
        *("--workers", "2", "--threads", "4", "--timeout", "60", "--graceful-timeout", "10"),
        *("--log-level", "error", "--no-control-socket", *heartbeat),
    ]


def worker_command() -> list[str]:
    """The background process that works out plans."""
    manage = str(settings.BASE_DIR / "manage.py")
    return [
        sys.executable,
        manage,
        "db_worker",
        "--interval",
        "0.3",
        "--no-startup-delay",
        "--verbosity",
        "0",
    ]


def compiler_command() -> list[str]:
    """The process that compiles the planner's search, once for each version of it, and ends."""
    return [sys.executable, str(settings.BASE_DIR / "manage.py"), "cutplan", "--compile", "--verbosity", "0"]


def _end_with_parent() -> None:
    """In a child, before it begins: be told to end when the parent dies, also where it is killed (Linux)."""
    if _LIBC:
        _LIBC.prctl(_TELL_WHEN_THE_PARENT_DIES, signal.SIGTERM)


class Crew:
    """The server and its background worker, as children of this process; a worker that dies is replaced.

    What is to be done `once` beside them is begun with them, and ended with them where it still goes on.
    """

    def __init__(
        self,
        server: list[str],
        worker: list[str] | None,
        environ: Mapping[str, str],
        once: list[str] | None = None,
    ) -> None:
        named = {"server": server, "worker": worker, "once": once}
        self.commands = {name: command for name, command in named.items() if command}
        self.environ = dict(environ)
        self.running: dict[str, subprocess.Popen[bytes]] = {}
        self.asked_to_stop = 0

    def start(self) -> None:
        """Start them. From here on Ctrl-C, SIGTERM and a closed terminal end them too."""
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._stop)
        for name in self.commands:
            self._start(name)

    def _start(self, name: str) -> None:
        # A session of its own, so that Ctrl-C reaches this process only and the end is in order.
        self.running[name] = subprocess.Popen(
            self.commands[name], env=self.environ, start_new_session=True, preexec_fn=_end_with_parent
        )

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.asked_to_stop += 1

    def is_open(self, host: str, port: int) -> bool:
        """Wait until the server takes visitors; False where it ended or was asked to stop before."""
        host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
        while not self.asked_to_stop and self._server_runs():
            try:
                socket.create_connection((host, port), timeout=1).close()
            except OSError:
                time.sleep(LOOK_EVERY_S)
            else:
                return True
        return False

    def _server_runs(self) -> bool:
        return self.running["server"].poll() is None

    def watch(self) -> int:
        """Keep both running until asked to stop; returns 0 then, and 1 where the server ended by itself."""
        began = time.monotonic()
        while not self.asked_to_stop and self._server_runs():
            time.sleep(LOOK_EVERY_S)
            worker = self.running.get("worker")
            if worker and worker.poll() is not None and time.monotonic() > began + RESTART_WORKER_AFTER_S:
                began = time.monotonic()
                self._start("worker")
        ended_by_itself = not self.asked_to_stop
        self.end()
        return 1 if ended_by_itself else 0

    def end(self) -> None:
        """End both in order; a second Ctrl-C, or twenty seconds, cuts them short."""
        for process in self.running.values():
            if process.poll() is None:
                process.terminate()
        by_then, enough = time.monotonic() + END_WITHIN_S, max(self.asked_to_stop, 1) + 1
        while any(process.poll() is None for process in self.running.values()):
            if time.monotonic() > by_then or self.asked_to_stop >= enough:
                for process in self.running.values():
                    process.kill()
            time.sleep(LOOK_EVERY_S / 4)
