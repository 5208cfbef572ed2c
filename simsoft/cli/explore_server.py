"""The server behind ``simsoft explore``: loopback only, a token, one question at a time."""

from __future__ import annotations

import hmac
import json
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, NoReturn
from urllib.parse import parse_qs, urlsplit

from simsoft.core.errors import InputError, SimsoftError

ADDRESS = "127.0.0.1"
TOKEN = "X-Simsoft-Token"
MOST_BYTES = 64_000  # of a question
SILENT = 150.0  # [s] without a sign of the page, which a browser may slow down in the background
LEFT = 5.0  # [s] after it said goodbye, so that it may be loaded again
WAIT = 10.0  # [s] for the rest of a question
Solve = Callable[[str, dict[str, Any]], dict[str, Any]]
Keep = Callable[[dict[str, Any]], Path]


@dataclass
class Service:
    """What the server serves.

    Attributes
    ----------
    page : str, HTML
    token : str
    solve : function of how ('screen', 'march', 'bands') and values to the answer as plain data
    keep : function of values to the path of the case written
    lock : held while a question is answered
    seen : float or None, monotonic time of the last sign of the page
    patience : float [s], how long the next sign may take
    """

    page: str
    token: str
    solve: Solve
    keep: Keep
    lock: threading.Lock = field(default_factory=threading.Lock)
    seen: float | None = None
    patience: float = SILENT


class _Server(ThreadingHTTPServer):
    """A server that does not complain of pages that went away in the middle of an answer."""

    daemon_threads = True
    request_queue_size = 64  # moves of a slider that may wait to be heard on a busy machine

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a lost connection."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


def make_server(service: Service, port: int) -> ThreadingHTTPServer:
    """Return a server bound to the loopback address; port 0 takes a free one.

    Raises
    ------
    InputError
        The port is taken or not allowed.
    """
    try:
        server = _Server((ADDRESS, port), type("Handler", (_Handler,), {"service": service}))
    except (OSError, OverflowError) as error:
        raise InputError(
            f"--port {port}: cannot be taken ({error}); leave it out for a free one"
        ) from None
    return server


def serve(server: ThreadingHTTPServer, service: Service) -> None:
    """Serve until the page is gone or the user interrupts."""
    threading.Thread(target=_watch, args=(server, service), daemon=True).start()
    try:
        server.serve_forever(poll_interval=0.2)
    except KeyboardInterrupt:
        pass
    finally:
        server.server_close()


def _watch(server: ThreadingHTTPServer, service: Service) -> None:
    """End the server when the page has been silent for too long."""
    while True:
        time.sleep(0.5)
        seen = service.seen
        if seen is not None and time.monotonic() - seen > service.patience:
            if service.lock.locked():
                continue
            server.shutdown()
            return


class _Refused(Exception):
    """A request that is not answered: status and why."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status


class _Handler(BaseHTTPRequestHandler):
    """Answers requests; a server has a subclass of it with its service."""

    service: Service
    server_version, sys_version = "simsoft", ""
    timeout = WAIT

    def do_GET(self) -> None:
        """Give the page."""
        self._answered(self._page)

    def do_POST(self) -> None:
        """Answer a question of the page."""
        self._answered(self._question)

    def log_message(self, *_: Any) -> None:
        """Say nothing of requests."""

    def _answered(self, how: Callable[[], None]) -> None:
        try:
            self._check_host()
            how()
        except _Refused as error:
            self.close_connection = True
            self._send(error.status, {"problems": [str(error)]})
        except (TimeoutError, ConnectionError):
            self.close_connection = True

    def _check_host(self) -> None:
        port = self.connection.getsockname()[1]
        names = {f"{name}:{port}" for name in (ADDRESS, "localhost")}
        if self.headers.get("Host") not in names:
            raise _Refused(403, "another host")
        origin = self.headers.get("Origin")
        if origin is not None and origin not in {f"http://{name}" for name in names}:
            raise _Refused(403, "another origin")

    def _page(self) -> None:
        parts = urlsplit(self.path)
        if parts.path != "/":
            raise _Refused(404, "no such page")
        self._check_token((parse_qs(parts.query).get("token") or [""])[0])
        self._sign()
        self._send(200, self.service.page.encode(), "text/html; charset=utf-8")

    def _check_token(self, given: str) -> None:
        if not hmac.compare_digest(given.encode(), self.service.token.encode()):
            raise _Refused(403, "wrong token")

    def _sign(self) -> None:
        self.service.seen, self.service.patience = time.monotonic(), SILENT

    def _question(self) -> None:
        self._check_token(self.headers.get(TOKEN, ""))
        body = self._body()
        self._sign()
        if self.path == "/alive":
            self._send(200, {})
        elif self.path == "/bye":
            self.service.patience = LEFT
            self._send(200, {})
        elif self.path in ("/solve", "/keep"):
            self._solved(body)
        else:
            raise _Refused(404, "no such question")

    def _solved(self, body: dict[str, Any]) -> None:
        values, how = body.get("values"), body.get("how", "screen")
        if not isinstance(values, dict) or how not in ("screen", "march", "bands"):
            raise _Refused(400, "values and how are needed")
        if not self.service.lock.acquire(blocking=False):
            raise _Refused(503, "busy with another question")
        status: int = 200
        found: dict[str, Any]
        try:
            if self.path == "/keep":
                found = {"file": str(self.service.keep(values))}
            else:
                found = self.service.solve(how, values)
        except InputError as error:
            status, found = 400, {"problems": list(error.problems)}
        except SimsoftError as error:
            status, found = 422, {"problems": [str(error)]}
        except Exception as error:
            told = " ".join(f"{type(error).__name__}: {error}".split())
            status, found = 500, {"problems": [f"this is a defect of simsoft: {told}"]}
        finally:
            self.service.lock.release()  # before the page hears of it and asks again
            self._sign()
        self._send(status, found)

    def _body(self) -> dict[str, Any]:
        """Return the question as plain data; what is no number is refused."""
        told = self.headers.get("Content-Length", "")
        if not told.isdecimal():
            raise _Refused(411, "the length of the question is needed")
        if int(told) > MOST_BYTES:
            raise _Refused(413, f"at most {MOST_BYTES} bytes are taken")
        try:
            body = json.loads(self.rfile.read(int(told)), parse_constant=_no_number)
        except (ValueError, RecursionError):
            raise _Refused(400, "no JSON, or a number that is none") from None
        if not isinstance(body, dict):
            raise _Refused(400, "an object is needed")
        return body

    def _send(self, status: int, body: Any, kind: str = "application/json") -> None:
        data = body if isinstance(body, bytes) else json.dumps(body, allow_nan=False).encode()
        self.send_response(status)
        for name, value in (
            ("Content-Type", kind),
            ("Content-Length", str(len(data))),
            ("Cache-Control", "no-store"),
            ("X-Content-Type-Options", "nosniff"),
            ("Referrer-Policy", "no-referrer"),
            ("Connection", "close"),
        ):
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(data)


def _no_number(word: str) -> NoReturn:
    raise ValueError(word)
