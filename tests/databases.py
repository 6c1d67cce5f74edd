"""A database server of the tests' own."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg


@contextmanager
def database_server() -> Iterator[str]:
    """Address of a database server of our own, on a socket only; as another user when root."""
    folder = Path(tempfile.mkdtemp(prefix="ws-pg-"))
    user = None
    if os.geteuid() == 0:
        known = {entry.pw_name for entry in pwd.getpwall()}
        user = next(name for name in ("postgres", "nobody") if name in known)
        shutil.chown(folder, user)
    data = folder / "data"
    make = ["initdb", "-D", data, "-U", "warmside", "-A", "trust", "-E", "UTF8", "--no-sync"]
    subprocess.run(make, check=True, capture_output=True, user=user, cwd=folder)
    # The tests ask whether the store's transactions hold, not whether the disk does
    run = ["postgres", "-D", data, "-k", folder, "-c", "listen_addresses=", "-c", "fsync=off"]
    with (folder / "log").open("wb") as log:
        server = subprocess.Popen(run, stdout=log, stderr=log, user=user, cwd=folder)
    try:
        for _ in range(300):
            try:
                psycopg.connect(f"host={folder} user=warmside dbname=postgres").close()
                break
            except psycopg.OperationalError:
                assert server.poll() is None, (folder / "log").read_text()
                time.sleep(0.1)
        yield str(folder)
    finally:
        server.send_signal(signal.SIGQUIT)  # at once: nothing of it is kept
        server.wait(30)
        shutil.rmtree(folder, ignore_errors=True)
