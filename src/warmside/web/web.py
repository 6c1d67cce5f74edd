"""What every page stands on: the store, the workshop, who is calling."""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from typing import Literal, Protocol

from fastapi import Request

from warmside.store import Role, Store
from warmside.web.backups import Backups
from warmside.web.certificate import Certificate
from warmside.web.waiting import Waiting
from warmside.web.warm import WarmJobs
from warmside.web.writing import KEY, written
from warmside.wording import Style

Need = Literal["anyone", "crew", "office", "owner"]
_ROLES: dict[Need, frozenset[str]] = {
    "crew": frozenset({"owner", "estimator", "crew"}),
    "office": frozenset({"owner", "estimator"}),
    "owner": frozenset({"owner"}),
}

_REMEMBERED = 5.0  # [s] that a person's choices are not looked up again


@dataclass(frozen=True)
class Caller:
    """Who is calling; ``jobs`` are the only ones that a crew member sees."""

    name: str
    role: Role
    jobs: tuple[str, ...] = ()

    def may(self, need: Need) -> bool:
        """Whether the role is enough."""
        return need == "anyone" or self.role in _ROLES[need]

    def sees(self, job: str) -> bool:
        """Whether the job is theirs to see."""
        return self.role != "crew" or job in self.jobs

    @property
    def is_office(self) -> bool:
        """Whether money, history and settings are shown."""
        return self.may("office")


class Workshop(Protocol):
    """Whoever does the work in the background while the server runs."""

    def start(self) -> None:
        """Begin."""

    def stop(self) -> None:
        """End; what is under way goes on after the next start."""


@dataclass(frozen=True)
class Web:
    """What the pages share while the server runs."""

    store: Store
    secret: bytes
    first_visit: str = ""  # survey of the job that a new store begins with
    share: bool = False
    hosts: Callable[[str], bool] = lambda _host: False
    behind: str = ""  # https://name of the proxy that people reach this by; "" for none
    certificate: Certificate | None = None  # that the server shows by itself
    alone: str = "owner"  # who is calling when nobody has to sign in
    workshop: Workshop | None = None
    warm: WarmJobs | None = None
    backups: Backups | None = None
    waiting: Waiting = field(default_factory=Waiting)
    _writings: dict[str, tuple[float, Style]] = field(default_factory=dict)

    @property
    def secure(self) -> bool:
        """Whether browsers reach this over TLS, so that cookies go over nothing else."""
        return self.behind.startswith("https://") or self.certificate is not None

    @property
    def strict(self) -> bool:
        """Whether browsers are told to come over TLS alone: not for an own certificate, since who
        does not trust it any more could not get past the warning.
        """
        own = self.certificate is not None and self.certificate.root is not None
        return self.secure and not own

    def writing(self, person: str) -> Style:
        """How a person wants quantities written; looked up again after a few seconds."""
        until, known = self._writings.get(person, (0.0, Style()))
        if time.monotonic() > until:
            known = written(self.store.settings.get(KEY, person))
            self._writings[person] = (time.monotonic() + _REMEMBERED, known)
        return known

    def set_writing(self, person: str, writing: Style) -> None:
        """Keep a person's choices."""
        self.store.settings.set(KEY, writing.to_json(), person, person)
        self._writings.pop(person, None)

    def token_for(self, browser: str) -> str:
        """A token for the forms of a page in this browser.

        Never the same twice: the length of a compressed page tells nothing about the next one.
        """
        return self._token(secrets.token_hex(8), browser)

    def _token(self, salt: str, browser: str) -> str:
        what = f"{salt} {browser}".encode("utf-8", "replace")
        return f"{salt}{hmac.new(self.secret, what, sha256).hexdigest()}"

    def token_fits(self, browser: str, token: str) -> bool:
        """Whether the form came from a page of ours in this browser."""
        given, salt = token.encode("utf-8", "replace"), token[:16]
        ours = self._token(salt, browser).encode("utf-8", "replace")
        return bool(browser) and hmac.compare_digest(ours, given)

    @cached_property
    def alone_caller(self) -> Caller:
        """The one person at this computer."""
        return Caller(self.alone, "owner")


def web_of(request: Request) -> Web:
    """The ``Web`` of the running application."""
    web: Web = request.app.state.web
    return web


def caller_of(request: Request) -> Caller:
    """Who is calling; only behind ``admit``."""
    caller: Caller = request.state.caller
    return caller
