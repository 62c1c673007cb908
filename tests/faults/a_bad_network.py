"""A network between apps and the service that loses, delays, doubles, cuts and disorders a share of what goes through it.

One request a connection, as the field client sends them. What befalls a request follows from a seed, the address it goes to
and how often that was asked before, so that a run is the same whatever thread comes first.
"""

import random
import socket
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress

# Of 20 %, each a share: the request is lost; its answer is; it comes late; it comes twice; it is cut in the middle, or its
# answer is; it is lost to the app and arrives all the same, after others that were sent later.
FAULTS = ("request lost", "answer lost", "delayed", "doubled", "request cut", "answer cut", "disordered")
SHARE = 0.2
LONGEST_DELAY = 0.2
WAIT = 20.0


class BadNetwork:
    """A proxy on loopback that passes requests to a service, most of them as they are."""

    def __init__(self, to_port: int, seed: int) -> None:
        self._to, self._seed = ("127.0.0.1", to_port), seed
        self._lock, self._asked, self.befell = threading.Lock(), Counter[bytes](), Counter[str]()
        self._kept_back: list[bytes] = []
        self._listener = socket.create_server(("127.0.0.1", 0), backlog=128)
        self.address = f"http://127.0.0.1:{self._listener.getsockname()[1]}"
        threading.Thread(target=self._listen, daemon=True).start()

    def close(self) -> None:
        """Listen no more, and deliver what was kept back."""
        self._listener.close()
        while self._kept_back:
            self._deliver(self._kept_back.pop())

    def _listen(self) -> None:
        with suppress(OSError):
            while True:
                connection, _ = self._listener.accept()
                threading.Thread(target=self._pass_on, args=(connection,), daemon=True).start()

    def _fate_of(self, request: bytes) -> tuple[str, random.Random]:
        line = request.partition(b"\r\n")[0]
        with self._lock:
            self._asked[line] += 1
            dice = random.Random(f"{self._seed} {line!r} {self._asked[line]}")
            fate = dice.choice(FAULTS) if dice.random() < SHARE else "through"
            self.befell[fate] += 1
        return fate, dice

    def _pass_on(self, app: socket.socket) -> None:
        with suppress(OSError), app:
            app.settimeout(WAIT)
            request = _whole(app)
            if not request:
                return
            fate, dice = self._fate_of(request)
            answer = self._befalls(fate, request, dice)
            if answer:
                app.sendall(answer)
        self._deliver_one_kept_back(dice)

    def _befalls(self, fate: str, request: bytes, dice: random.Random) -> bytes:
        """What of an answer comes back to the app."""
        if fate == "request lost":
            return b""
        if fate == "request cut":
            self._deliver(request[: dice.randrange(1, len(request))], whole=False)
            return b""
        if fate == "disordered":
            with self._lock:
                self._kept_back.append(request)
            return b""
        if fate == "delayed":
            time.sleep(dice.uniform(0, LONGEST_DELAY))
        if fate == "doubled":
            self._deliver(request)
        answer = self._deliver(request)
        if fate == "answer lost":
            return b""
        return answer[: dice.randrange(len(answer))] if fate == "answer cut" and answer else answer

    def _deliver_one_kept_back(self, dice: random.Random) -> None:
        """Others have passed meanwhile; their app may have sent it again by now."""
        with self._lock:
            if not self._kept_back or dice.random() < 0.7:
                return
            late = self._kept_back.pop(0)
        self._deliver(late)

    def _deliver(self, request: bytes, *, whole: bool = True) -> bytes:
        """Pass bytes to the service and return its answer, empty where it has none."""
        with suppress(OSError), socket.create_connection(self._to, timeout=WAIT) as service:
            service.sendall(request)
            if whole:
                return _whole(service)
        return b""


def _whole(connection: socket.socket) -> bytes:
    """One HTTP message with its body by Content-Length; less where the sender stopped."""
    received = b""
    while b"\r\n\r\n" not in received:
        if not (more := connection.recv(65536)):
            return received
        received += more
    head, _, body = received.partition(b"\r\n\r\n")
    named = [line.partition(b":")[2] for line in head.split(b"\r\n") if line.lower().startswith(b"content-length:")]
    length = int(named[0]) if named else 0
    while len(body) < length and (more := connection.recv(65536)):
        body += more
    return head + b"\r\n\r\n" + body


@contextmanager
def bad_network(to_port: int, seed: int) -> Iterator[BadNetwork]:
    """Give a bad network before a service, and clear it away."""
    network = BadNetwork(to_port, seed)
    try:
        yield network
    finally:
        network.close()
