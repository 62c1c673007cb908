"""The port of the service: a free one, or a sentence that says it is taken."""

import socket

import click


def free_port(wanted: int) -> int:
    """Return the wanted port, or any free one where 0 is wanted; says so where it is taken."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", wanted))
        except OSError:
            raise click.ClickException(f"Port {wanted} is taken; choose another with --port, or --port 0.") from None
        return int(probe.getsockname()[1])
