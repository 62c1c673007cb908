"""Field clients that send visits through a bad network until each has its receipt, and what the record holds then."""

import random
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from api.settings import Settings
from tests.faults.a_bad_network import bad_network
from tests.faults.a_served_record import served
from tests.faults.visits_sent import CLIENT, Patience, all_at_once, faults_of, outboxes, receipts_of

APPS = 4
FIRST_PAUSE = 0.05  # seconds; an app waits longer
SECONDS_A_VISIT = 0.3  # more than this and something stands still


@dataclass(frozen=True)
class Passed:
    """What befell the requests, how many visits have a receipt, what is wrong, and how long it took."""

    befell: Counter[str]
    receipts: int
    faults: list[str]
    seconds: float


def through_a_bad_network(settings: Settings, folder: Path, visits: int, seed: int) -> Passed:
    """Send so many visits by several apps at once, and look at all of them."""
    random.seed(seed)
    boxes, sent = outboxes(folder, APPS, visits)
    begun, patience = time.monotonic(), Patience(1, 60 + SECONDS_A_VISIT * visits)
    with served(settings) as service, bad_network(service.port, seed) as network:
        to = CLIENT.Service(network.address)
        all_at_once(lambda box: CLIENT.keep_sending(box, to, patience, FIRST_PAUSE), boxes)
    receipts = receipts_of(boxes)
    faults = faults_of(settings, sent, receipts)
    faults += [f"{len(box.waiting())} wait in {box.folder.name}" for box in boxes if box.waiting()]
    faults += [f"{path.stem} was refused" for box in boxes for path in box.folder.glob("*.refused")]
    faults += [f"{one} has no receipt" for one in sent if one not in receipts]
    return Passed(network.befell, len(receipts), faults, time.monotonic() - begun)
