"""The port of the service: a free one, or a sentence that says it is taken."""

import errno
import socket

import click


def free_port(address: str, wanted: int) -> int:
    """Return the wanted port of an address, or any free one where 0 is wanted; says so where it cannot be had."""
    with socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, wanted))
        except OSError as error:
            if error.errno != errno.EADDRINUSE:
                said = f"{address} port {wanted} cannot be listened on: {error.strerror}."
                raise click.ClickException(f"{said} Choose another with --bind and --port.") from None
            raise click.ClickException(f"Port {wanted} is taken; choose another with --port, or --port 0.") from None
        return int(probe.getsockname()[1])
