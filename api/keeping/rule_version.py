"""By which rules and which register something was judged: what a commit is bound to, beside the file and its profile."""

from sqlalchemy import Connection, select

from api.keeping.judge_on_file import PROGRAM
from api.models.log import LOG_HEAD
from api.queries.register import LOG
from api.records.working import VERSION


def rule_version(connection: Connection) -> str:
    """Return the version of the rules and of the register, as text; it moves when either does."""
    register = connection.scalar(select(LOG_HEAD.c.register_number).where(LOG_HEAD.c.log == LOG))
    return f"{PROGRAM} {VERSION} register {register}"
