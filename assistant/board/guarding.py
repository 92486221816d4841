"""What is let in: hosts, origins, sizes and rates; and the headers that every answer carries.

A name that an attacker lets resolve to this machine (DNS rebinding) is not among the hosts: addresses in
figures, localhost and this machine's own names are. Whatever changes something must come from a page of
this very address (OWASP, "Cross-Site Request Forgery Prevention": origin check and token).
"""

import ipaddress
import socket
from collections.abc import Callable, Collection
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 4096
"""Bytes of a request's body."""
LARGEST_HEADERS = 8192
"""Bytes of all its headers."""
LONGEST_PATH = 1024
MOST_AT_ONCE, A_SECOND = 60.0, 20.0
"""Requests of one address: so many at once, and so many a second after that."""
_REMEMBERED = 256

HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
        b"font-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)


def own_names() -> frozenset[str]:
    """Names under which this machine may be asked for."""
    name = socket.gethostname().lower()
    return frozenset({"localhost", name, f"{name.partition('.')[0]}.local"})


def is_local(address: str) -> bool:
    """Whether a peer is on this machine."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    mapped = getattr(found, "ipv4_mapped", None)
    return bool((mapped or found).is_loopback)


def host_allowed(host: str, names: Collection[str]) -> bool:
    """Whether a Host header names this machine: by an address in figures, or by a name of its own."""
    name = host.strip().lower()
    if name.startswith("["):
        name, _, port = name[1:].partition("]")
        port = port.removeprefix(":")
    else:
        name, _, port = name.partition(":")
    if port and not (port.isascii() and port.isdigit()):
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name.removesuffix(".") in names
    return True


class Rates:
    """Counts requests by address: a bucket each that fills again. `now`: time (s)."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self._left: dict[str, tuple[float, float]] = {}

    def allows(self, address: str, cost: float = 1.0) -> bool:
        """Whether one more request of this address is let in."""
        now = self._now()
        left, at = self._left.pop(address, (MOST_AT_ONCE, now))
        left = min(MOST_AT_ONCE, left + (now - at) * A_SECOND)
        allowed = left >= cost
        self._left[address] = (left - cost if allowed else left, now)
        while len(self._left) > _REMEMBERED:
            del self._left[next(iter(self._left))]
        return allowed


class Guard:
    """ASGI middleware: lets in what is allowed, answers the rest with one line, adds the headers."""

    def __init__(
        self, app: "ASGIApp", *, names: Collection[str], rates: Rates, methods: Collection[str]
    ) -> None:
        self._app = app
        self._names = names
        self._rates = rates
        self._methods = methods

    async def __call__(self, scope: "Scope", receive: "Receive", send: "Send") -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return

        async def with_headers(message: "Message") -> None:
            if message["type"] == "http.response.start":
                kept = [one for one in message.get("headers", ()) if one[0].lower() != b"server"]
                names = {name.lower() for name, _ in kept}
                extra = [one for one in HEADERS if one[0] not in names]
                if b"cache-control" not in names:
                    extra.append((b"cache-control", b"no-store"))
                message = {**message, "headers": [*kept, *extra]}
            await send(message)

        refused = self._refused(scope)
        if refused is not None:
            await plain(with_headers, *refused)
            return
        await self._app(scope, _limited(receive), with_headers)

    def _refused(self, scope: "Scope") -> tuple[int, str] | None:
        """Status and line of a request that is not let in; None: it is."""
        headers = _Headers(scope)
        client = scope.get("client") or ("", 0)
        if not self._rates.allows(client[0]):
            return 429, "Too many requests from this screen; wait a moment and load the page again."
        if not host_allowed(headers.one("host"), self._names):
            return 421, "This name is not one of this machine; use its address in figures, or its own name."
        if scope["method"] not in self._methods:
            return 405, f"Found {scope['method']}, allowed are {', '.join(sorted(self._methods))}."
        if len(scope.get("raw_path") or b"") + len(scope.get("query_string") or b"") > LONGEST_PATH:
            return 414, "The address is too long; begin again at /."
        if sum(len(name) + len(value) for name, value in scope["headers"]) > LARGEST_HEADERS:
            return 431, f"The request's headers are too large; {LARGEST_HEADERS} bytes are allowed."
        length = headers.one("content-length")
        if length and not (length.isascii() and length.isdigit() and int(length) <= LARGEST_BODY):
            return 413, f"The request is too large; {LARGEST_BODY} bytes are allowed."
        if (
            scope["method"] == "POST"
            and headers.one("origin") != f"{scope['scheme']}://{headers.one('host')}"
        ):
            return 403, "This came from another page; press on the page of this station."
        return None


class _Headers:
    """Headers of a request; one that comes twice counts as none."""

    def __init__(self, scope: "Scope") -> None:
        self._found = [(name.lower(), value.decode("latin-1")) for name, value in scope["headers"]]

    def one(self, name: str) -> str:
        found = [value for key, value in self._found if key == name.encode()]
        return found[0] if len(found) == 1 else ""


def _limited(receive: "Receive") -> "Receive":
    """The body, cut where it is larger than allowed: what is cut is no JSON any more, and is refused."""
    seen = 0

    async def limited() -> "Message":
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            body = message.get("body", b"")
            seen += len(body)
            if seen > LARGEST_BODY:
                return {"type": "http.request", "body": b"", "more_body": False}
        return message

    return limited


async def plain(send: "Send", status: int, line: str) -> None:
    """Answer with one line of text."""
    body = f"{line}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body))]
    if status in (429, 503):
        headers.append((b"retry-after", b"5"))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
