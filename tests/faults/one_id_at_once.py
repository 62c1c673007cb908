"""Many threads that send under one id at the same moment, and what each is answered."""

import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

from flask import Flask
from sqlalchemy import func, select
from werkzeug.test import TestResponse

from api.database import reading
from api.models.record import ARRIVAL, CONTENT
from tests.doors import an_id, example, later, send

THREADS = 50


@dataclass
class AtOnce:
    """How many answers of each status there were over all ids, and everything that is wrong."""

    answers: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def one_id_at_once(app: Flask, ids: int) -> AtOnce:
    """Send under so many ids in turn, by fifty threads each: under every second id half of them send other content."""
    found = AtOnce()
    for number in range(ids):
        _one_id(app, number, found)
    with reading(app.extensions["steelyard.engine"]) as connection:
        contents, arrivals = (connection.scalar(select(func.count()).select_from(t)) for t in (CONTENT, ARRIVAL))
    kept = found.answers[201] + found.answers[200]
    if (contents, arrivals) != (ids, kept):
        found.faults.append(f"{contents} contents and {arrivals} arrivals for {ids} ids and {kept} that were kept")
    return found


def _one_id(app: Flask, number: int, found: AtOnce) -> None:
    calibration, differs = an_id(), number % 2
    first = later(example(), -number)
    bodies = (first, first | {"remarks": "other content"} if differs else first)
    answers = _at_once(app, calibration, bodies)
    statuses = Counter(answer.status_code for answer in answers)
    found.answers += statuses
    half = THREADS // 2
    expected = {201: 1, 200: half - 1, 409: half} if differs else {201: 1, 200: THREADS - 1}
    if statuses != expected:
        found.faults.append(f"{calibration}: {dict(statuses)}")
    receipts = {(a.json["digest"], a.json["log_number"], a.json["log_hash"]) for a in answers if a.status_code < 300}
    if len(receipts) != 1:
        found.faults.append(f"{calibration}: {len(receipts)} receipts")


def _at_once(app: Flask, calibration: str, bodies: tuple[Any, Any]) -> list[TestResponse]:
    together = threading.Barrier(THREADS)

    def one(thread: int) -> TestResponse:
        client = app.test_client()
        together.wait()
        return send(client, bodies[thread % 2], calibration)

    with ThreadPoolExecutor(THREADS) as pool:
        return list(pool.map(one, range(THREADS)))
