"""Opening a store and serving its pages."""

from __future__ import annotations

import asyncio.constants
import logging
import os
import secrets
import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from warmside import fence
from warmside.errors import Fault, InputError
from warmside.store import Store
from warmside.web.app import create_app
from warmside.web.backups import Backups
from warmside.web.certificate import Certificate, Pairing
from warmside.web.guard import own_hosts, public_origin
from warmside.web.lines import ASKING, Line
from warmside.web.warm import WarmJobs
from warmside.web.web import Web
from warmside.web.work import Workshop

if TYPE_CHECKING:
    import uvicorn

_FILES = 8192  # open at once


def serve(
    folder: Path,
    port: int,
    share: bool,
    first_visit: str,
    first_owner: Callable[[], tuple[str, str]],
    told: Callable[[str], None],
    address: str = "",
    first_proof: Callable[[Store, str], None] | None = None,
    backups: Backups | None = None,
    behind: str = "",
    certificate: Certificate | None = None,
) -> None:
    """Serve the pages until interrupted.

    Parameters
    ----------
    folder : Path
        Holds the store and what its tokens are made from; made when it is missing.
    port : int
        On this computer; 0 picks a free one.
    share : bool
        Open to the local network, with everyone signing in.
    first_visit : str
        Survey of the job that a new store begins with.
    first_owner : callable
        Asks for name and password of the owner where a shared store has nobody yet.
    told : callable
        Told where the pages are.
    address : str
        URL of a PostgreSQL database that keeps the jobs; a file in ``folder`` when not given.
    first_proof : callable, optional
        Notes down what was measured of the job that a new store begins with.
    backups : Backups, optional
        Copies the store from time to time while the pages are served.
    behind : str
        ``https://name`` of a proxy on this computer by which people reach the pages; everyone
        signs in, and nothing but this computer is listened to.
    certificate : Certificate, optional
        The pages go over TLS with it; where it is an own one, a page for pairing is there for a
        while at the next port.

    Raises
    ------
    InputError
        A folder, port or address that cannot be used.
    """
    behind = public_origin(behind) if behind else ""
    listening = _socket(port, share and not behind)
    signs_in = share or bool(behind)
    port = listening.getsockname()[1]
    where = address or str(_file(folder))
    with Store.open(where, fence.fenced) as store:
        if signs_in and not any(p.active and p.role == "owner" for p in store.people.all()):
            name, password = first_owner()
            store.people.add(name, "owner", password, name)
        begun = begin(store, first_visit)
        secret = _secret(folder)
        names, answered = (certificate.names, 443) if certificate else ((), 80)
        web = Web(
            store,
            secret,
            first_visit,
            signs_in,
            own_hosts(port, share and not behind, names, answered),
            behind,
            certificate=certificate,
            workshop=Workshop(store, where, secret),
            warm=WarmJobs(where, secret),
            backups=backups,
        )
        also = (lambda: first_proof(store, begun)) if first_proof and begun else None
        Thread(target=_warm, args=(also,), daemon=True).start()
        server = _server(web)
        _log_sign_ins()
        _allow_files()
        told(f"http{'s' if certificate else ''}://localhost:{port}/")
        if certificate and certificate.root:
            _pair(certificate, port, told)
        server.run(sockets=[listening])


def _server(web: Web) -> uvicorn.Server:
    """What listens: over TLS or behind a proxy, as the pages are reached."""
    import uvicorn

    # a line that never finishes its handshake goes as early as one that never asks
    asyncio.constants.SSL_HANDSHAKE_TIMEOUT = ASKING
    config = uvicorn.Config(
        create_app(web), log_level="warning", server_header=False, date_header=True,
        proxy_headers=bool(web.behind), forwarded_allow_ips="127.0.0.1", http=Line,
        timeout_graceful_shutdown=3,
        ssl_certfile=web.certificate.file if web.certificate else None,
        ssl_keyfile=web.certificate.key if web.certificate else None,
        timeout_keep_alive=75,  # [s] people pause longer than programs
    )  # fmt: skip
    return uvicorn.Server(config)


def _pair(certificate: Certificate, port: int, told: Callable[[str], None]) -> None:
    """Open the page for pairing."""
    try:
        pairing = Pairing(certificate, port + 1, port)
    except (OSError, OverflowError):  # somebody else has that port
        pairing = Pairing(certificate, 0, port)
    pairing.start()
    told(f"http://{certificate.names[1]}:{pairing.port}/ to pair a phone, for half an hour. "
         f"Fingerprint to compare: {certificate.fingerprint}")  # fmt: skip


def _allow_files() -> None:
    """As many open files as the system lets us: lines take one each until they are counted."""
    try:
        import resource
    except ImportError:  # no such limits on this system
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if hard == resource.RLIM_INFINITY or hard > soft:
        most = _FILES if hard == resource.RLIM_INFINITY else min(hard, _FILES)
        resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, most), hard))


def _log_sign_ins() -> None:
    """Who signed in and who failed, a line each on the standard error, for the service's log."""
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    logger = logging.getLogger("warmside")
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)


def _warm(also: Callable[[], None] | None = None) -> None:
    """Load what draws walls while the first page is being read; then what else there is to do."""
    fence.make_ready()
    with suppress(ImportError):  # interrupted meanwhile; what is really missing, a page tells
        import warmside.drawings
        import warmside.framing
        import warmside.site  # noqa: F401

    if also:
        also()


def begin(store: Store, first_visit: str) -> str:
    """A store that never held a job gets the demonstration job; its id, "" for another store."""
    empty = not store.jobs() and not store.jobs(archived=True)
    if first_visit and empty and not store.settings.get("first-visit"):
        job = store.new_job(first_visit, "warmside").id
        store.settings.set("first-visit", "done", "warmside")
        return job
    return ""


def _file(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        fault = Fault("--data", f"{folder} ({error.strerror})", "a folder that can be written")
        raise InputError([fault]) from None
    return folder / "warmside.sqlite"


def _secret(folder: Path) -> bytes:
    """What tokens are made from; kept, so that forms open over a restart still go through."""
    path = _file(folder).with_name("secret")
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        kept = path.read_bytes()
        if len(kept) >= 32:
            return kept
        path.unlink()
        return _secret(folder)
    with os.fdopen(handle, "wb") as file:
        made = secrets.token_bytes(32)
        file.write(made)
    return made


def _socket(port: int, share: bool) -> socket.socket:
    host = "0.0.0.0" if share else "127.0.0.1"  # noqa: S104
    listening = socket.socket()
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen(512)  # who comes before the pages are ready waits instead of failing
    except (OSError, OverflowError) as error:
        listening.close()
        read = f"{port} ({getattr(error, 'strerror', None) or error})"
        raise InputError([Fault("--port", read, "a free port from 1024 to 65535")]) from None
    listening.set_inheritable(False)
    return listening
