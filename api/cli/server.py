"""The server that stands before the application: gunicorn on loopback, threads in one process, jobs in one thread."""

import threading
from typing import Any

import click
from gunicorn.app.base import BaseApplication
from gunicorn.config import Config

from api.app import create_app
from api.cli.jobs import keep_taking_jobs
from api.settings import Settings

ADDRESS = "127.0.0.1"
THREADS = 4


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
        host, bound = server.LISTENERS[0].sock.getsockname()
        click.echo(
            f"API   http://{host}:{bound}/v1/about\nSite  http://{host}:{bound}/\nOn this machine only. Stop with Ctrl-C."
        )

    def start_jobs(_: Any) -> None:
        if take_jobs:  # in every worker, so that one that is started again goes on; a job is taken once
            threading.Thread(target=keep_taking_jobs, args=(settings,), name="work", daemon=True).start()

    Server(
        settings,
        {
            "bind": f"{ADDRESS}:{port}",
            "workers": workers,
            "worker_class": "gthread",
            "threads": THREADS,
            "keepalive": 30,
            "loglevel": "warning",
            "when_ready": say_ready,
            "post_worker_init": start_jobs,
            "control_socket_disable": True,
        },
    ).run()
