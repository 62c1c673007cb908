"""The contract put to the service in full: every phase and check of a general tool, at least 10,000 requests.

No server error, no answer that the contract does not describe, and no door without its key. The record holds the demo
network; quotas are lifted.
"""

import logging
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

from api.app import create_app
from tests.contract.conformance import conformance, served
from tests.keyed import ALL, a_key, bearing
from tests.speed.a_calibration import record_with_the_network, row

LEAST_CASES, EXAMPLES, SEED, MOST_SECONDS = 10_000, 60, 34, 1700


def main() -> int:
    """Print the row; 1 where something was found or too few requests were made."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(replace(record_with_the_network(Path(folder)), open_door=False))
        engine = app.extensions["steelyard.engine"]
        keys = bearing(a_key(engine, *ALL), a_key(engine, *ALL, holder="T-01", held_by="person"))
        begun = time.perf_counter()
        lifted = {"PER_KEY": (), "NOT_ACCEPTED": ()}
        with served(app) as address, patch.multiple("api.routes.admission", **lifted):
            found = conformance(address, keys, "examples,coverage,fuzzing,stateful", EXAMPLES, SEED, MOST_SECONDS)
        app.extensions["steelyard.engine"].dispose()
    reached = ", ".join(f"{count} {name}" for name, count in found.failures.items()) or "0 faults"
    how = f"{found.cases} requests, all phases and checks, seed {SEED}, SQLite"
    line = row("the contract put to the service", "0 faults", reached, how, f"{time.perf_counter() - begun:.0f} s")
    sys.stdout.write(f"{line}\n")
    return int(bool(found.failures) or found.cases < LEAST_CASES)


if __name__ == "__main__":
    sys.exit(main())
