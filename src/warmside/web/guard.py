"""The gate before every request: host, origin, size of the body; and the headers of every answer.

Browsers send ``Host`` and, with anything that changes something, ``Origin``. A page elsewhere that
is made to point here (by name or by form) shows itself in one of them.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from warmside.errors import Fault, InputError

Scope = dict[str, Any]
Receive = Callable[[], Any]
Send = Callable[[dict[str, Any]], Any]

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST = 4 << 20  # [byte] of a body
# bodies that carry files, and those that are small, by the end of their path [byte]
OTHERS = {
    "/photos": 42 << 20, "/weather": 9 << 20, "/weather/place": 9 << 20,
    "/proof/pictures": 61 << 20, "/take-in": 1 << 30, "/sign-in": 16 << 10,
    "/signature": 16 << 10, "/entries": 1 << 18,
}  # fmt: skip

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
        "img-src 'self' data: blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), camera=()",
}


def own_hosts(
    port: int, share: bool, also: tuple[str, ...] = (), usual: int = 80
) -> Callable[[str], bool]:
    """Which ``Host`` is ours: this computer by name or address, others' names never.

    Shared, any bare address will do, since a name made to point here is how strangers get in.
    ``also`` are the names of a certificate; ``usual`` is the port that browsers leave out.
    """
    names = {"localhost", "127.0.0.1", "::1", *also}
    if share:
        names |= {socket.gethostname().lower(), f"{socket.gethostname().lower()}.local"}

    def ours(host: str) -> bool:
        name, told = _split(host)
        own_port = usual if told is None else told
        if not name or own_port != port:
            return False
        return name in names or (share and _is_address(name))

    return ours


def _split(host: str) -> tuple[str, int | None]:
    try:
        parts = urlsplit(f"//{host}")
        if parts.username is not None or parts.path:
            return "", None
        return (parts.hostname or "").lower(), parts.port
    except ValueError:
        return "", None


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def public_origin(text: str) -> str:
    """The origin that people reach the pages by, over a proxy: ``https://name``, with a port
    where it is not the usual one.

    Raises
    ------
    InputError
        What is no such origin.
    """
    try:
        parts = urlsplit(text)
        host, port = (parts.hostname or "").lower(), parts.port
    except ValueError:
        host, port, parts = "", None, urlsplit("")
    bare = not (parts.username or parts.path.strip("/") or parts.query or parts.fragment)
    if parts.scheme != "https" or not host or not bare or not host.isascii():
        raise InputError([Fault("--behind", repr(text)[:100], "https://name of the proxy")])
    name = f"[{host}]" if ":" in host else host
    return f"https://{name}" + (f":{port}" if port not in (None, 443) else "")


class Guard:
    """ASGI middleware; ``hosts`` says which hosts are ours, ``behind`` the origin of a proxy.

    ``strict`` tells browsers to come over TLS alone for a year (RFC 6797).
    """

    def __init__(
        self, app: Any, hosts: Callable[[str], bool], behind: str = "", strict: bool = False
    ) -> None:
        self._app, self._hosts, self._behind, self._strict = app, hosts, behind, strict

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what is not for us or too large; let the rest through."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers = {k.lower(): v.decode("latin-1") for k, v in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal:
            await _answer(send, *refusal)
            return
        bounded = _Bounded(receive, _most(scope["path"]))
        await self._app(scope, bounded, _with_headers(send, self._strict))

    def _refusal(self, scope: Scope, headers: dict[bytes, str]) -> tuple[int, str] | None:
        host = headers.get(b"host", "")
        ours = f"{scope['scheme']}://{host}"
        if self._behind and f"https://{host.lower().removesuffix(':443')}" == self._behind:
            ours = self._behind  # the proxy ends TLS; what the browser sees is its address
        elif not self._hosts(host):
            return 400, "This address is not one of this program's own."
        if scope["method"] not in SAFE:
            origin = headers.get(b"origin")
            if origin is not None and origin != ours:
                return 403, "This was sent by a page from elsewhere; nothing was done."
            if headers.get(b"sec-fetch-site", "same-origin") not in ("same-origin", "none"):
                return 403, "This was sent by a page from elsewhere; nothing was done."
        length = headers.get(b"content-length", "0")
        if not length.isdecimal() or int(length[:20]) > _most(scope["path"]):
            return (
                413,
                f"That is more than the {_most(scope['path']) / (1 << 20):.2g} MB taken here.",
            )
        return None


def _most(path: str) -> int:
    return next((most for end, most in OTHERS.items() if path.endswith(end)), LARGEST)


class _Bounded:
    """A body whose length nobody told, cut off where it grows too long."""

    def __init__(self, receive: Receive, most: int) -> None:
        self._receive, self._left = receive, most

    async def __call__(self) -> dict[str, Any]:
        message: dict[str, Any] = await self._receive()
        self._left -= len(message.get("body", b""))
        if self._left < 0:
            return {"type": "http.disconnect"}
        return message


def _with_headers(send: Send, strict: bool = False) -> Send:
    own = [(k.encode(), v.encode()) for k, v in HEADERS.items()]
    if strict:
        own.append((b"strict-transport-security", b"max-age=31536000"))

    async def sending(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            there = {k.lower() for k, _ in message["headers"]}
            message["headers"] = [*message["headers"], *(h for h in own if h[0] not in there)]
            if b"cache-control" not in there:
                message["headers"].append((b"cache-control", b"no-store"))
        await send(message)

    return sending


async def _answer(send: Send, status: int, text: str) -> None:
    body = text.encode()
    # the line stays for a moment: closed under a body on its way, the answer would be lost with it
    headers = [(b"content-type", b"text/plain; charset=utf-8")]
    start = {"type": "http.response.start", "status": status, "headers": headers}
    await _with_headers(send)(start)
    await send({"type": "http.response.body", "body": body})
