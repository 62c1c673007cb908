"""The demo, step by step: fresh record, running service, the network sent over HTTP, the site published."""

import json
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from importlib.metadata import entry_points
from pathlib import Path

import click

from api.cli.client import Answer, Client
from api.cli.ports import free_port
from api.cli.record import migrate_record
from api.database import make_engine
from api.demo.between_visits import told_between
from api.demo.history import visits
from api.demo.network import register_entries
from api.keeping.job_at_work import JobAtWork
from api.records.job import Job
from api.settings import LOOPBACK, Settings

START_SECONDS = 30
# Longer than gunicorn gives the requests that are running.
STOP_SECONDS = 40


def demonstrate(installation: Settings, port: int, *, once: bool) -> None:
    """Make the demo and serve it until stopped, or end once all of it is done."""
    chosen = free_port(LOOPBACK, port)  # asked first: a demo that is running keeps its record
    settings = _fresh(installation)
    today = datetime.now(UTC).date()
    with _service(settings, chosen) as (address, process):
        client = Client(address)
        before = client.get("/v1/about").json()
        sent = _send_network(client, today)
        _compare(client, before, sent)
        _publish(settings)
        if once:
            click.echo("Everything was done once. Run it without --once to look at it.")
            return
        _tell(settings, address)
        _wait(process)


def _stopped(number: int, _: object) -> None:
    click.echo("Stopped.")
    raise SystemExit(128 + number)


def _fresh(installation: Settings) -> Settings:
    """Settings of a fresh record in a folder of its own; only what a demo made before is removed."""
    folder = installation.folder / "demo"
    for name in ("record.db", "record.db-wal", "record.db-shm", "site", ".site.builds"):
        _remove(folder / name)
    folder.mkdir(parents=True, exist_ok=True)
    settings = replace(
        installation, folder=folder, database_url=f"sqlite:///{folder / 'record.db'}", bind=LOOPBACK, open_door=True
    )
    migrate_record(settings)
    click.echo(f"A fresh record at {folder / 'record.db'}")
    return settings


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


@contextmanager
def _service(settings: Settings, port: int) -> Iterator[tuple[str, "subprocess.Popen[bytes]"]]:
    """Start the service as a process of its own, give its address and the process, and stop it again.

    It is stopped with the demo however that is asked to end, by Ctrl-C or by SIGTERM, which waits while it is being started.
    """
    asked: list[int] = []
    signal.signal(signal.SIGTERM, lambda number, _: asked.append(number))
    command = [sys.executable, "-m", "api.cli", "serve", "--port", str(port)]
    process = subprocess.Popen(command, env=settings.as_environment(), stdout=subprocess.DEVNULL)
    try:
        signal.signal(signal.SIGTERM, _stopped)
        if asked:
            _stopped(asked[0], None)
        address = f"http://127.0.0.1:{port}"
        _wait_until_it_answers(address, process)
        yield address, process
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)  # asked twice, it still waits for the service
        _stop(process)


def _stop(process: "subprocess.Popen[bytes]") -> None:
    """Ask the service to stop, and end it where it does not."""
    process.send_signal(signal.SIGTERM)
    try:
        process.wait(timeout=STOP_SECONDS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _wait_until_it_answers(address: str, process: "subprocess.Popen[bytes]") -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise click.ClickException(f"The service ended at once with status {process.returncode}.")
        try:
            if Client(address).get("/v1/about").status == 200:
                return
        except click.ClickException:
            time.sleep(0.1)
    raise click.ClickException(f"The service did not answer within {START_SECONDS} s.")


def _send_network(client: Client, today: date) -> int:
    """Send the register, the visits and what was told between them; return how many requests that were."""
    entries, history, told = register_entries(today), list(visits(today)), list(told_between(today))
    there: set[str] = set()
    with click.progressbar(entries, label="Registering the network") as bar:
        for entry in bar:
            address = f"/v1/{entry.collection}/{entry.key}"
            change = {"valid_from": entry.valid_from.isoformat(), "record": entry.record}
            _taken(client.put(address, json.dumps(change).encode(), by="demo", change=address in there))
            there.add(address)
    with click.progressbar(history, label="Sending two years of calibrations") as bar:
        for calibration, visit in bar:
            _taken(
                client.put(f"/v1/calibrations/{calibration}", json.dumps(visit).encode(), by=visit["technicians"][0])
            )
    for path, body in told:
        _taken(client.put(path, json.dumps(body).encode(), by="desk"))
    return len(entries) + len(history) + len(told)


def _taken(answer: Answer) -> None:
    if answer.status not in (200, 201):
        raise click.ClickException(f"The service refused what the demo sent: {answer.body.decode()}")


def _compare(client: Client, before: dict[str, int], sent: int) -> None:
    """Every request that wrote is one entry of the log: what the service counted and what it kept must agree."""
    after = client.get("/v1/about").json()
    served = after["requests_served"] - before["requests_served"] - 1  # the first look itself is counted after it
    entries = after["log_number"] - before["log_number"]
    if not sent == served == entries:
        raise click.ClickException(
            f"{sent} requests sent, {served} served, {entries} log entries: they must be the same."
        )
    click.echo(f"{served} requests served, {entries} log entries: one for each.")


def _publish(settings: Settings) -> None:
    """Publish through the job that the builder adds, with this record's settings, without waiting for a worker."""
    (point,) = entry_points(group="steelyard.jobs", name="publish")
    job = Job("demo", "publish", "taken", datetime.now(UTC), "demo", {}, 1)
    engine = make_engine(settings.database_url)
    click.echo(point.load()(settings, JobAtWork(engine, job, "demo")))
    engine.dispose()


def _tell(settings: Settings, address: str) -> None:
    command = Path(sys.executable).with_name("steelyard")
    click.echo(
        f"""
Site  {address}/                      the fleet at a glance
      {address}/d/a-04/               one scale: may I use it, and why
      {address}/find/                 every scale
API   {address}/v1/about              what answers here
      {address}/v1/devices/A-04/use   may I use it, as JSON
      {address}/v1/openapi.json       the contract

Send a calibration, then publish again:
      curl -X PUT -H 'Content-Type: application/json' --data @openapi/examples/calibration-pass.json \\
           {address}/v1/calibrations/0193f0aa-0000-7000-8000-000000000001
      STEELYARD_FOLDER={settings.folder} {command} publish
"""
    )


def _wait(process: "subprocess.Popen[bytes]") -> None:
    """Wait until somebody stops the demo; a service that ends by itself is told, not waited for."""
    try:
        click.echo("Served on this machine only. Stop with Ctrl-C.")
        status = process.wait()
    except KeyboardInterrupt:
        click.echo("Stopped.")
        return
    raise click.ClickException(f"The service ended by itself with status {status}. Start the demo again.")
