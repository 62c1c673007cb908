"""`python -m api.cli` is the `steelyard` command."""

from api.cli import main

main()
