"""Apps that go on sending while the service is killed again and again at random moments, and what the record holds then."""

import itertools
import random
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.settings import Settings
from tests.faults.a_served_record import ServedRecord, served
from tests.faults.visits_sent import CLIENT, Patience, all_at_once, faults_of, receipts_of, visit_bytes

APPS = 4
SENT_AGAIN = 0.3  # the share of visits that an app sends once more though it has the receipt
SECONDS_A_KILL = 5.0  # more than this and something stands still
WHOLE = 0.5  # the share of kills that end all of the service, not its worker alone
LEAST_ALIVE, LONGEST_ALIVE = 0.05, 0.6  # seconds between an answer of the service and its end


@dataclass(frozen=True)
class Survived:
    """How often the service was killed, how many visits were acknowledged, what is wrong, and how long it took."""

    kills: int
    acknowledged: int
    faults: list[str]
    seconds: float


class Apps:
    """Apps with an outbox each that send visit after visit until they are told to stop, and then what still waits."""

    def __init__(self, folder: Path, address: str, seed: int, patience: Patience) -> None:
        self.boxes = [CLIENT.Outbox(folder / f"app-{app}") for app in range(APPS)]
        self.sent: dict[str, bytes] = {}
        self._service, self._seed, self._patience = CLIENT.Service(address), seed, patience
        self._numbers, self._stop = itertools.count(), threading.Event()

    def stop(self) -> None:
        """Let no app begin another visit."""
        self._stop.set()

    def run(self) -> None:
        """Send until stopped; everything that was begun has its receipt when this returns."""
        all_at_once(self._one, range(APPS))

    def _one(self, app: int) -> None:
        dice, box = random.Random(f"{self._seed} {app}"), self.boxes[app]
        while not self._stop.is_set():
            body = visit_bytes(next(self._numbers))
            visit = box.add(body)
            self.sent[visit] = body
            assert CLIENT.keep_sending(box, self._service, self._patience, 0.02)
            if dice.random() < SENT_AGAIN:
                self._service.send(visit, body)


def under_kills(settings: Settings, folder: Path, kills: int, seed: int) -> Survived:
    """Have apps send while the service is killed so many times, and look at everything they sent."""
    random.seed(seed)
    dice, begun = random.Random(seed), time.monotonic()
    with served(settings) as service:
        apps = Apps(folder, service.address, seed, Patience(0.1, 60 + SECONDS_A_KILL * kills))
        with ThreadPoolExecutor(1) as pool:
            sending = pool.submit(apps.run)
            try:
                for _ in range(kills):
                    _kill_and_start(service, dice)
            finally:
                apps.stop()
            sending.result()
    receipts: dict[str, dict[str, Any]] = receipts_of(apps.boxes)
    faults = faults_of(settings, apps.sent, receipts) + [f"{o} has no receipt" for o in apps.sent if o not in receipts]
    return Survived(kills, len(receipts), faults, time.monotonic() - begun)


def _kill_and_start(service: ServedRecord, dice: random.Random) -> None:
    """Kill all of the service, or the process that does the work, and wait until it answers again."""
    time.sleep(dice.uniform(LEAST_ALIVE, LONGEST_ALIVE))
    if dice.random() < WHOLE:
        service.kill()
        service.start()
    else:
        service.kill_worker()
        service.wait()
