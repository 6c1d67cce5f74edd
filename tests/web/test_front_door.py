"""The front door: a proxy with TLS before it, people who guess, lines that never ask.

Expected statuses are those of RFC 9110, cookie attributes those of RFC 6265, the strict transport
header that of RFC 6797. Counts are exact.
"""

from __future__ import annotations

import base64
import hashlib
import math
import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from pages import work_of
from serving import SOURCE, served
from warmside.errors import InputError
from warmside.store import Store
from warmside.survey import template
from warmside.web import Certificate, Web, create_app, given_certificate, own_certificate
from warmside.web.certificate import _sign
from warmside.web.guard import own_hosts, public_origin
from warmside.web.lines import ASKING
from warmside.web.waiting import ADDRESS, PAIR, Waiting

PUBLIC, PASSWORD = "https://warm.example", "one glove on"


def run(*words: object, typed: str = "") -> tuple[int, str, str]:
    command = [sys.executable, "-m", "warmside", *map(str, words)]
    told = subprocess.run(
        command, env=os.environ | {"PYTHONPATH": SOURCE}, input=typed, capture_output=True,
        text=True, timeout=120, check=False,
    )  # fmt: skip
    assert "Traceback" not in told.stderr
    return told.returncode, told.stdout, told.stderr


def browser(store: Store, **more: Any) -> TestClient:
    web = Web(store, b"s" * 32, share=True, hosts=own_hosts(8765, False), behind=PUBLIC, **more)
    return TestClient(create_app(web), base_url="http://warm.example", follow_redirects=False,
                      raise_server_exceptions=False)  # fmt: skip


# --- behind a proxy


def test_people_come_by_the_name_of_the_proxy_alone(store: Store) -> None:
    client = browser(store)
    page = client.get("/sign-in")
    assert page.status_code == 200
    assert page.headers["strict-transport-security"] == "max-age=31536000"
    assert "secure" in page.headers["set-cookie"].lower()
    store.people.add("Olga", "owner", PASSWORD, "owner")
    found = re.search(r'name="token" value="([0-9a-f]{80})"', page.text)
    assert found
    form = {"token": found[1], "name": "Olga", "password": PASSWORD}
    cookie = {"cookie": page.headers["set-cookie"].partition(";")[0]}
    for origin, status in (
        (PUBLIC, 303),
        ("http://warm.example", 403),
        ("https://evil.example", 403),
    ):
        answer = client.post("/sign-in", data=form, headers=cookie | {"origin": origin})
        assert answer.status_code == status, origin
        if status == 303:
            kept = answer.headers["set-cookie"].lower()
            assert all(word in kept for word in ("secure", "httponly", "samesite=strict"))
    for host in ("evil.example", "warm.example.evil.example", "warm.example:8080", ""):
        assert client.get("/sign-in", headers={"host": host}).status_code == 400, host


@pytest.mark.parametrize(
    ("text", "origin"),
    [("https://warm.example", PUBLIC), ("https://Warm.Example/", PUBLIC),
     ("https://warm.example:443", PUBLIC), ("https://warm.example:8443", f"{PUBLIC}:8443")],
)  # fmt: skip
def test_the_origin_of_the_proxy_is_read(text: str, origin: str) -> None:
    assert public_origin(text) == origin


@pytest.mark.parametrize(
    "text", ["", "http://warm.example", "warm.example", "https://", "https://a/b", "https://u@a",
             "https://a?b", "https://a:99999", "https://ä.example"]
)  # fmt: skip
def test_what_is_no_origin_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="--behind"):
        public_origin(text)


def test_a_server_behind_a_proxy_begins_without_a_prompt_and_logs_who_came(tmp_path: Path) -> None:
    status, said, _ = run("people", "add", "Olga", "--role", "owner", "--password-file", "-",
                          "--data", tmp_path, typed=f"{PASSWORD}\n")  # fmt: skip
    assert (status, "Olga may sign in as owner" in said) == (0, True)
    with served(tmp_path, "--behind", PUBLIC) as (port, process):

        def ask(form: dict[str, str] | None, cookie: str = "") -> Any:
            head = {"host": "warm.example", "x-forwarded-for": "203.0.113.9", "cookie": cookie,
                    "x-forwarded-proto": "https"}  # fmt: skip
            if form is not None:
                head |= {"origin": PUBLIC, "content-type": "application/x-www-form-urlencoded"}
            with closing(HTTPConnection("localhost", port, timeout=60)) as line:
                line.request("GET" if form is None else "POST", "/sign-in",
                             form and urlencode(form), head)  # fmt: skip
                answer = line.getresponse()
                return answer.status, answer.headers, answer.read().decode()

        _, headers, html = ask(None)
        cookie = headers["set-cookie"].partition(";")[0]
        found = re.search(r'name="token" value="([0-9a-f]{80})"', html)
        assert found
        for name, password, status in (("Olga", "wrong wrong", 422), ("my s3cret", "x", 422),
                                       ("Olga", PASSWORD, 303)):  # fmt: skip
            form = {"token": found[1], "name": name, "password": password}
            assert ask(form, cookie)[0] == status
        assert socket.gethostbyname("localhost") == "127.0.0.1"
        process.terminate()
        assert process.stdout
        log = process.stdout.read()
    assert "sign-in failed: Olga from 203.0.113.9" in log
    assert "sign-in signed in: Olga from 203.0.113.9" in log
    assert "s3cret" not in log  # a password typed in the place of a name


# --- TLS of its own


def test_a_certificate_of_its_own_for_this_computer_alone(tmp_path: Path) -> None:
    """Judged by OpenSSL's own check of the chain, of names and of the constraints on names."""
    made = own_certificate(tmp_path)
    again = own_certificate(tmp_path)
    assert again.file.read_bytes() == made.file.read_bytes()  # kept, not made anew
    assert made.root is not None

    def verified(certificate: Path, *more: str) -> bool:
        command = ["openssl", "verify", "-CAfile", str(made.root), *more, str(certificate)]
        return subprocess.run(command, capture_output=True, check=False).returncode == 0

    assert verified(made.file, "-verify_hostname", "localhost", "-purpose", "sslserver")
    assert verified(made.file, "-verify_ip", "127.0.0.1")
    assert not verified(made.file, "-verify_hostname", "warm.example")
    # what the authority signs for others is worth nothing
    root_key = tmp_path / "tls" / "root.key"
    for names in (("localhost", "bank.example"), ("localhost", "x", "8.8.8.8")):
        forged = Certificate(tmp_path / "f.pem", tmp_path / "f.key", names, made.root)
        _sign(forged, root_key)
        assert not verified(forged.file)
    for file in (made.key, root_key):
        assert file.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("harm", ["missing", "other key", "no PEM"])
def test_a_given_certificate_is_looked_at_before_it_is_served(tmp_path: Path, harm: str) -> None:
    made = own_certificate(tmp_path)
    assert given_certificate(made.file, made.key).names[0] == "localhost"
    file, key = made.file, made.key
    if harm == "missing":
        key = tmp_path / "nothing"
    elif harm == "other key":
        key = tmp_path / "tls" / "root.key"
    else:
        file.write_text("no certificate")
    with pytest.raises(InputError, match="--certificate"):
        given_certificate(file, key)


def test_pages_over_tls_with_pairing(tmp_path: Path) -> None:
    with Store.open(tmp_path / "warmside.sqlite") as store:
        store.people.add("Olga", "owner", PASSWORD, "owner")
    with served(tmp_path, "--share", "--own-certificate") as (port, process):
        assert process.stdout
        process.stdout.readline()
        told = process.stdout.readline()
        found = re.search(r"http://\S+:(\d+)/ to pair .* compare: ([0-9A-F:]{95})", told)
        assert found, told

        def pairing(path: str) -> tuple[int, bytes]:
            with closing(HTTPConnection("localhost", int(found[1]), timeout=20)) as line:
                line.request("GET", path)
                with line.getresponse() as answer:
                    return answer.status, answer.read()

        status, page = pairing("/")
        assert (status, found[2].encode() in page) == (200, True)
        root = pairing("/warmside.crt")[1].decode()
        for path in ("/sign-in", "/../secret", "/warmside.sqlite"):
            assert pairing(path)[0] == 404, path
        digest = hashlib.sha256(ssl.PEM_cert_to_DER_cert(root)).hexdigest().upper()
        assert found[2].replace(":", "") == digest

        def asked(trust: ssl.SSLContext) -> tuple[int, Any]:
            with closing(HTTPSConnection("localhost", port, timeout=20, context=trust)) as line:
                line.request("GET", "/sign-in")
                with line.getresponse() as answer:
                    answer.read()
                    return answer.status, answer.headers

        trust = ssl.create_default_context(cadata=root)
        status, headers = asked(trust)
        assert status == 200
        assert "secure" in headers["set-cookie"].lower()
        # who trusts the authority no more could not get past the warning
        assert headers["strict-transport-security"] is None
        with pytest.raises(ssl.SSLError):
            asked(ssl.create_default_context())  # a phone that was not paired


def test_only_a_certificate_that_others_trust_is_strict(store: Store, tmp_path: Path) -> None:
    made = own_certificate(tmp_path)
    for root, strict in ((made.root, False), (None, True)):
        certificate = Certificate(made.file, made.key, made.names, root)
        web = Web(store, b"s" * 32, share=True, hosts=lambda _: True, certificate=certificate)
        client = TestClient(create_app(web), base_url="https://localhost")
        answer = client.get("/sign-in")
        assert ("strict-transport-security" in answer.headers) == strict
        assert "secure" in answer.headers["set-cookie"].lower()


@pytest.mark.part("chromium")
@pytest.mark.parametrize("paired", [True, False])
def test_a_paired_phone_opens_the_day_without_a_network(tmp_path: Path, paired: bool) -> None:
    """By a name that is not this computer's own "localhost", which browsers trust without TLS.

    The paired one is told to trust the server's key, as if its authority were installed; the other
    passes over the warning, as a person would.
    """
    from playwright.sync_api import sync_playwright

    made = own_certificate(tmp_path)
    with Store.open(tmp_path / "warmside.sqlite") as store:
        store.people.add("Olga", "owner", PASSWORD, "owner")
        job = store.new_job(template(), "Olga").id
        token = store.sessions.begin("Olga")
    public = ssl_key_of(made)
    name = made.names[1] if made.names[1] != "localhost" else made.names[2]
    with served(tmp_path, "--share", "--own-certificate") as (port, _), sync_playwright() as play:
        trust = [f"--ignore-certificate-errors-spki-list={public}"] if paired else []
        context = play.chromium.launch_persistent_context(
            tmp_path / "profile", executable_path=shutil.which("chromium"),
            ignore_https_errors=not paired,
            args=["--no-sandbox", "--disable-gpu", f"--host-resolver-rules=MAP {name} 127.0.0.1",
                  *trust],
        )  # fmt: skip
        origin = f"https://{name}:{port}"
        context.add_cookies([{"name": "warmside-session", "value": token, "url": origin}])
        phone = context.new_page()
        phone.set_default_timeout(120_000)
        phone.goto(f"{origin}/jobs/{job}/day")
        told = phone.evaluate(
            "navigator.serviceWorker.register('/day-worker.js').then(() => 'there', e => e.name)"
        )
        if not paired:
            assert told == "SecurityError"
            context.close()
            return
        assert told == "there"
        phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
        phone.reload()
        phone.wait_for_function("navigator.serviceWorker.controller !== null")
        phone.reload()
        phone.wait_for_function(
            "path => caches.match(path, {ignoreSearch: true}).then(found => !!found)",
            arg=f"/jobs/{job}/day",
        )
        context.set_offline(True)
        phone.reload()
        assert "Day record" in phone.inner_text("body")
        context.close()


def ssl_key_of(made: Certificate) -> str:
    """SHA-256 of the server's public key, in base64."""
    command = ["openssl", "x509", "-noout", "-pubkey", "-in", str(made.file)]
    pem = subprocess.run(command, capture_output=True, check=True).stdout.decode()
    der = base64.b64decode("".join(pem.splitlines()[1:-1]))
    return base64.b64encode(hashlib.sha256(der).digest()).decode()


# --- guessing


def test_many_guesses_at_once_are_not_all_looked_at(store: Store, monkeypatch: Any) -> None:
    store.people.add("Olga", "owner", PASSWORD, "owner")
    client, looked, at_once, most = browser(store), [], [0], [0]
    real, lock = type(store.people).sign_in, threading.Lock()

    def slow(self: Any, name: str, password: str) -> Any:
        with lock:
            at_once[0] += 1
            most[0] = max(most[0], at_once[0])
            looked.append(password)
        time.sleep(0.05)
        found = real(self, name, password)
        with lock:
            at_once[0] -= 1
        return found

    monkeypatch.setattr(type(store.people), "sign_in", slow)
    page = client.get("/sign-in")
    found = re.search(r'name="token" value="([0-9a-f]{80})"', page.text)
    assert found
    cookie = {"cookie": page.headers["set-cookie"].partition(";")[0], "origin": PUBLIC}

    def guess(n: int) -> int:
        form = {"token": found[1], "name": "Olga", "password": f"guess number {n}"}
        return client.post("/sign-in", data=form, headers=cookie).status_code

    begun = time.monotonic()
    with ThreadPoolExecutor(40) as pool:
        answers = list(pool.map(guess, range(120)))
    # one more after a second, one after two more, after four more
    later = int(math.log2(time.monotonic() - begun + 1.0)) + 1
    turned_away = answers.count(503)  # a busy machine: nobody's turn came within its while
    assert PAIR.free - turned_away <= len(looked) <= PAIR.free + later
    assert most[0] <= 2
    assert answers.count(422) == len(looked)
    assert answers.count(429) == 120 - len(looked) - turned_away
    assert len(looked) >= 2


def test_nobody_locks_out_a_colleague() -> None:
    waiting = Waiting()
    for _ in range(PAIR.free):
        assert waiting.begin("Olga", "10.0.0.66") == 0
    assert waiting.begin("olga", "10.0.0.66") > 0  # the guesser waits
    assert waiting.begin("Olga", "10.0.0.5") == 0  # Olga from her own desk does not
    assert waiting.begin("Kim", "10.0.0.66") == 0  # nor do others behind the same address


def test_an_address_that_tries_many_names_waits_a_little() -> None:
    waiting = Waiting()
    tries = [waiting.begin(f"name {n}", "10.0.0.66") for n in range(ADDRESS.free + 5)]
    assert tries[: ADDRESS.free] == [0] * ADDRESS.free
    assert 0 < max(tries) <= ADDRESS.longest


def test_twenty_people_behind_one_address_sign_in_in_the_morning() -> None:
    waiting = Waiting()
    for n in range(200):
        name = f"person {n % 20}"
        assert waiting.begin(name, "10.0.0.1") == 0
        waiting.succeeded(name, "10.0.0.1")


@pytest.mark.parametrize(
    "password", ["password", "Passw0rd!", "12345678", "aaaaaaaa", "qwertyuiop1", "Olga1234",
                 "changeme"]
)  # fmt: skip
def test_what_is_guessed_first_is_no_password(store: Store, password: str) -> None:
    """The commonest passwords of published leaks; from memory."""
    with pytest.raises(InputError, match="password"):
        store.people.add("Olga", "owner", password, "owner")
    store.people.add("Olga", "owner", PASSWORD, "owner")
    with pytest.raises(InputError, match="password"):
        store.people.set_password("Olga", password, "owner")


# --- lines that never ask


def test_half_sent_requests_are_closed_and_others_served(tmp_path: Path) -> None:
    with served(tmp_path) as (port, _):
        half = [socket.create_connection(("localhost", port)) for _ in range(120)]
        begun = time.monotonic()
        for n, line in enumerate(half):
            if n % 2:
                line.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: ")
        with closing(HTTPConnection("localhost", port, timeout=10)) as line:
            line.request("GET", "/health")
            assert line.getresponse().status == 200
        for line in half:
            line.settimeout(max(0.1, begun + ASKING + 10 - time.monotonic()))
            while line.recv(1000):
                pass  # told why, then closed
            line.close()
        assert time.monotonic() - begun < ASKING + 10
        # a line that asks, and pauses after its answer, is not closed
        with closing(HTTPConnection("localhost", port, timeout=10)) as line:
            for _ in range(2):
                line.request("GET", "/health")
                assert line.getresponse().read() == b'{"status":"ok"}'
                kept = line.sock
                time.sleep(ASKING + 1 if _ == 0 else 0)
            assert line.sock is kept


def test_a_thousand_half_open_lines_keep_nobody_out(tmp_path: Path) -> None:
    """Signed-in pages within a second meanwhile: a target that was set beforehand.

    By the clock for nine in ten, since other work on the machine may stretch a single one; by the
    server's own work for every one of them.
    """
    with Store.open(tmp_path / "warmside.sqlite") as store:
        store.people.add("Olga", "owner", PASSWORD, "owner")
        cookie = {"cookie": f"warmside-session={store.sessions.begin('Olga')}"}
    with served(tmp_path, "--share") as (port, process):

        def ask() -> tuple[float, float]:
            begun, worked = time.monotonic(), work_of(process.pid)
            with closing(HTTPConnection("localhost", port, timeout=30)) as line:
                line.request("GET", "/", headers=cookie)
                with line.getresponse() as answer:
                    assert answer.status == 200
                    answer.read()
            return time.monotonic() - begun, work_of(process.pid) - worked

        ask()  # what draws pages is loaded
        half = []
        form = b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 900\r\n"
        beginnings = (
            b"",
            b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: ",
            b"POST /sign-in HTTP/1.1\r\nHost: localhost\r\n" + form + b"\r\na=",
        )
        took, before = [], work_of(process.pid)
        try:
            for n in range(1000):
                half.append(socket.create_connection(("localhost", port), timeout=30))
                half[-1].sendall(beginnings[n % 3])
                if n % 50 == 49:
                    took.append(ask())
            took += [ask() for _ in range(20)]
            worked = work_of(process.pid) - before
        finally:
            for line in half:
                line.close()
    clock, work = (sorted(times) for times in zip(*took, strict=True))
    assert clock[len(clock) * 9 // 10] <= 1.0, clock
    assert work[-1] <= 1.0, work
    assert worked <= 5.0  # a thousand lines and forty pages


def test_a_body_that_trickles_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted on the line's own clock: a body has its headers' time and 20 kB a second."""
    import asyncio

    from warmside.web import lines

    monkeypatch.setattr(lines, "ASKING", 0.3)

    async def app(scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] != "http":
            return
        while (await receive()).get("more_body"):
            pass
        await send({"type": "http.response.start", "status": 204, "headers": []})
        await send({"type": "http.response.body"})

    async def talk(length: int, pause: float) -> bytes:
        import uvicorn

        config = uvicorn.Config(app, http=lines.Line, log_level="critical", lifespan="off")
        config.load()
        server = uvicorn.Server(config)
        server.lifespan = config.lifespan_class(config)
        loop = asyncio.get_running_loop()
        made = await loop.create_server(
            lambda: lines.Line(config=config, server_state=server.server_state, app_state={}),
            "127.0.0.1", 0,
        )  # fmt: skip
        reader, writer = await asyncio.open_connection(*made.sockets[0].getsockname())
        writer.write(f"POST / HTTP/1.1\r\nhost: x\r\ncontent-length: {length}\r\n\r\n".encode())
        answer = b""
        try:
            for _ in range(length):
                writer.write(b"a")
                await writer.drain()
                await asyncio.sleep(pause)
            answer = await reader.read(12)
        except OSError:
            answer = b""
        writer.close()
        made.close()
        return answer

    assert asyncio.run(talk(6, 0.0)) == b"HTTP/1.1 204"
    assert asyncio.run(talk(6, 0.2)) == b""


# --- people and clients by command


def test_people_by_command(tmp_path: Path) -> None:
    def people(*words: str, typed: str = "") -> tuple[int, str, str]:
        return run("people", *words, "--data", tmp_path, typed=typed)

    assert people("list")[0] == 1  # no store: said, not made
    add = ("--role", "owner", "--password-file", "-")
    assert people("add", "Olga", *add, typed="password\n")[0] == 1
    assert people("add", "Olga", *add, typed=PASSWORD)[0] == 0
    assert people("list")[1].startswith("Olga: owner, since 20")
    with Store.open(tmp_path / "warmside.sqlite") as store:
        token = store.sessions.begin("Olga")
    assert people("sessions")[1].startswith("Olga: since ")
    assert people("sign-out", "Olga")[1] == "Olga is signed out of 1 browser.\n"
    again = people("password", "Olga", "--password-file", "-", typed="another long word\n")
    assert again[0] == 0
    assert people("password", "Nobody", "--password-file", "-", typed="another long word\n")[0] == 1
    with Store.open(tmp_path / "warmside.sqlite") as store:
        assert store.sessions.person(token) is None
        assert store.people.sign_in("Olga", PASSWORD) is None
        assert store.people.sign_in("Olga", "another long word")


def test_a_client_is_erased_with_a_receipt_and_is_nowhere_in_the_file(tmp_path: Path) -> None:
    from warmside.survey import template

    mark = "Quillfeather"
    data = tmp_path / "data"
    data.mkdir()
    with Store.open(data / "warmside.sqlite") as store:
        text = re.sub(r'client = ".*"', f'client = "{mark}"', template())
        assert mark in text
        gone, stays = store.new_job(text, "Ann").id, store.new_job(template(), "Ann").id
        store.records.add(gone, "day", {"note": f"key under the mat of {mark}"}, "Ann")
        store.results.keep("ab" * 32, "study", f"papers of {mark}".encode() * 400)
        store.drafts.keep("Ann", "house", {"client": mark}, gone)
    receipt = tmp_path / "receipt.txt"
    erase = ("erase", "--client", mark.lower(), "--data", data)
    status, said, _ = run(*erase)
    assert (status, gone in said, "Nothing was erased" in said) == (0, True, True)
    status, said, _ = run(*erase, "--yes", "--receipt", receipt)
    assert (status, receipt.read_text("utf-8")) == (0, said)
    assert gone in said
    assert stays not in said
    for file in data.iterdir():
        assert mark.encode() not in file.read_bytes(), file  # not in free pages either
    with Store.open(data / "warmside.sqlite") as store:
        assert [kept.id for kept in store.jobs()] == [stays]
    assert run(*erase, "--yes")[0] == 1  # told, not done twice


def test_the_shop_is_no_job(store: Store) -> None:
    store.people.add("Eve", "estimator", PASSWORD, "owner")
    web = Web(store, b"s" * 32, hosts=lambda _: True)
    client = TestClient(create_app(web), follow_redirects=False, raise_server_exceptions=False)
    for path in ("", "/history", "/prices", "/house", "/survey", "/day", "/photos", "/export.zip"):
        assert client.get(f"/jobs/shop{path}").status_code == 404, path
    assert client.get("/api/jobs/shop/history").status_code == 404
    assert client.get("/health").json() == {"status": "ok"}


def test_the_owner_sees_how_it_is_kept(store: Store, tmp_path: Path) -> None:
    from warmside.web import Backups

    folder = tmp_path / "copies"
    folder.mkdir()
    backups = Backups(str(tmp_path / "warmside.sqlite"), folder, 60, 3)
    web = Web(store, b"s" * 32, hosts=lambda _: True)
    client = TestClient(create_app(web), follow_redirects=False)
    assert "makes none" in client.get("/keeping").text
    web = Web(store, b"s" * 32, hosts=lambda _: True, backups=backups)
    with TestClient(create_app(web), follow_redirects=False) as client:
        end = time.monotonic() + 20
        while not list(folder.glob("*.sqlite")) and time.monotonic() < end:
            time.sleep(0.05)
        assert "Last copy, looked through" in client.get("/keeping").text
