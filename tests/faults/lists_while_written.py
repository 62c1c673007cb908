"""A list of calibrations of one moment, read part by part while others put more of that moment into it."""

import json
import random
import threading
import uuid
from collections import Counter
from dataclasses import dataclass

from flask import Flask

from tests.doors import example
from tests.record.visits_kept import Visit, keep

TOGETHER = 100  # visits a transaction


@dataclass(frozen=True)
class Read:
    """How often each calibration that was there before came, how many came that were put in meanwhile, in how many parts."""

    of_old: Counter[str]
    new: int
    put_in: int
    parts: int


def visits(count: int, chance: random.Random) -> list[Visit]:
    """Return visits of one device at one moment, under ids of their own."""
    content = {name: value for name, value in example("calibration-not-tested").items() if name != "id"}
    return [
        (str(uuid.UUID(int=chance.getrandbits(128), version=4)), json.loads(json.dumps(content))) for _ in range(count)
    ]


def fill(app: Flask, count: int, chance: random.Random) -> set[str]:
    """Put so many visits of one moment on record and return their ids."""
    put = visits(count, chance)
    for start in range(0, count, TOGETHER):
        keep(app.extensions["steelyard.engine"], put[start : start + TOGETHER])
    return {name for name, _ in put}


def read_while_written(app: Flask, old: set[str], limit: int, writers: int, seed: int) -> Read:
    """Read the list to its end, following `next`, while writers put more in without a pause."""
    done = threading.Event()
    put_in: list[int] = []

    def write(number: int) -> None:
        chance, count = random.Random(f"{seed}-{number}"), 0
        while not done.is_set():
            keep(app.extensions["steelyard.engine"], visits(5, chance))
            count += 5
        put_in.append(count)

    threads = [threading.Thread(target=write, args=(number,)) for number in range(writers)]
    for thread in threads:
        thread.start()
    try:
        came, parts = _followed(app, limit)
    finally:
        done.set()
        for thread in threads:
            thread.join()
    counted = Counter(came)
    return Read(Counter({name: counted[name] for name in old}), len(counted.keys() - old), sum(put_in), parts)


def _followed(app: Flask, limit: int) -> tuple[list[str], int]:
    client, came, parts, more = app.test_client(), [], 0, ""
    while True:
        answer = client.get(f"/v1/calibrations?limit={limit}{more}")
        assert answer.status_code == 200, answer.get_data(as_text=True)
        came += [item["calibration"] for item in answer.json["items"]]
        parts += 1
        if "next" not in answer.json:
            return came, parts
        more = f"&cursor={answer.json['next']}"
