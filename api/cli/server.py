"""The server that stands before the application: gunicorn, threads in one process, jobs in one thread."""

import socket
import struct
import threading
from typing import Any

import click
from gunicorn.app.base import BaseApplication
from gunicorn.config import Config
from gunicorn.workers.gthread import ThreadWorker

from api.app import create_app
from api.cli.jobs import keep_taking_jobs
from api.settings import Settings

THREADS = 4
# The application bounds addresses and fields more closely, and says so as a problem; this is the bound of the parser.
MOST_LINE, MOST_FIELDS, MOST_FIELD = 8190, 64, 8190
QUIET_SECONDS = 30


class BoundedWorker(ThreadWorker):
    """Threads that wait so long and no longer for the next bytes of a request: a stalled sender does not hold one for ever.

    Whoever trickles holds one longer: the proxy before the service takes a request whole before it passes it on.
    """

    def handle(self, conn: Any) -> Any:
        """Handle a request; the wait is the kernel's, because the worker sets the socket to blocking again and again."""
        conn.sock.setsockopt(socket.SOL_SOCKET, socket.SO_RCVTIMEO, struct.pack("ll", QUIET_SECONDS, 0))
        return super().handle(conn)


class Server(BaseApplication):
    """Gunicorn with our settings; each worker process makes its own application and connections."""

    cfg: Config

    def __init__(self, settings: Settings, options: dict[str, Any]) -> None:
        self.settings = settings
        self.options = options
        super().__init__()

    def load_config(self) -> None:
        """Set what we decide."""
        for name, value in self.options.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        """Return the application of a worker process."""
        return create_app(self.settings)


def run_server(settings: Settings, port: int, workers: int, *, take_jobs: bool) -> None:
    """Serve until stopped."""

    def say_ready(server: Any) -> None:
        host, bound = server.LISTENERS[0].sock.getsockname()[:2]
        shown = f"http://{f'[{host}]' if ':' in host else host}:{bound}"
        click.echo(f"API   {shown}/v1/about\nSite  {shown}/\n{_told_door(settings)} Stop with Ctrl-C.")

    def start_jobs(_: Any) -> None:
        if take_jobs:  # in every worker, so that one that is started again goes on; a job is taken once
            threading.Thread(target=keep_taking_jobs, args=(settings,), name="work", daemon=True).start()

    hooks = {"when_ready": say_ready, "post_worker_init": start_jobs}
    Server(settings, options_of(settings, port, workers) | hooks).run()


def options_of(settings: Settings, port: int, workers: int) -> dict[str, Any]:
    """Return what the server is told: where to listen, how many, and its bounds."""
    host = f"[{settings.bind}]" if ":" in settings.bind else settings.bind
    return {
        "bind": f"{host}:{port}",
        "workers": workers,
        "worker_class": BoundedWorker,
        "threads": THREADS,
        "keepalive": QUIET_SECONDS,
        "timeout": QUIET_SECONDS,
        "limit_request_line": MOST_LINE,
        "limit_request_fields": MOST_FIELDS,
        "limit_request_field_size": MOST_FIELD,
        "loglevel": "warning",
        "control_socket_disable": True,
    }


def _told_door(settings: Settings) -> str:
    """Who is let in, said aloud."""
    if settings.open_door:
        return "On this machine only. The door is open: no key is asked for, whoever reaches it may do everything."
    where = "On this machine only." if settings.is_loopback else "Put a reverse proxy with TLS before it."
    return f"{where} Every request needs a key: see steelyard keys."
