"""Every kind of problem that the service answers with. Each has a page on the published site."""

from typing import Final

from api.records.problems_of_records import OF_RECORDS
from api.records.problems_of_requests import OF_REQUESTS

PROBLEMS: Final = (*OF_RECORDS, *OF_REQUESTS)
PROBLEM_CODED: Final = {problem.code: problem for problem in PROBLEMS}
