"""End the trial of a file: what would come of it is known, and a person may commit it as long as nothing moves."""

import json
from dataclasses import asdict

from sqlalchemy import Connection

from api.keeping.import_progress import move
from api.keeping.rule_version import rule_version
from api.records.file_import import ImportRun


def end_trial(connection: Connection, run: ImportRun) -> bool:
    """Keep the totals of a trial and return True; False, to try again, where the rules or the register moved meanwhile."""
    if rule_version(connection) != run.rules:
        return False
    move(connection, run, state="tried out", tried=json.dumps(asdict(run.counts)))
    return True
