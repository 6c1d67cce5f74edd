"""Certificates for TLS: one that was given, or one of the server's own for phones that are paired.

The own one is signed by an authority that is made once, stays in the store's folder, and may sign
for this computer's names and for private addresses alone (name constraints, RFC 5280, 4.2.1.10), so
that a phone that trusts it trusts it for nothing else. ``openssl`` does the signing.
"""

from __future__ import annotations

import hashlib
import html
import ipaddress
import re
import shutil
import socket
import ssl
import subprocess
from contextlib import suppress
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread, Timer

from warmside.errors import Fault, InputError

_ROOT_DAYS, _DAYS, _RENEW = 3650, 397, 30  # of the authority; of a certificate; left when renewed
_OPEN = 1800.0  # [s] that the page for pairing is there after a start
# private, link-local and this computer's own addresses (RFC 1918, RFC 3927, RFC 4193, RFC 4291)
_PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
            "fc00::/7", "fe80::/10", "::1/128")  # fmt: skip


@dataclass(frozen=True)
class Certificate:
    """What the server shows; ``root`` is the own authority that signed it, None for a given one."""

    file: Path
    key: Path
    names: tuple[str, ...]
    root: Path | None = None

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the authority's certificate as phones show it; "" for a given one."""
        if self.root is None:
            return ""
        der = ssl.PEM_cert_to_DER_cert(self.root.read_text("ascii"))
        digits = hashlib.sha256(der).hexdigest().upper()
        return ":".join(digits[n : n + 2] for n in range(0, 64, 2))


def given(file: Path, key: Path) -> Certificate:
    """A certificate (with its chain) and key in PEM files.

    Raises
    ------
    InputError
        Files that are not there, that do not belong together, or that name nobody.
    """
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(file, key)
    except (OSError, ValueError) as error:  # SSLError is an OSError
        read = f"{file} and {key} ({getattr(error, 'reason', None) or error})"
        allowed = "a certificate with its chain, and its key without a password, as PEM"
        raise InputError([Fault("--certificate", read, allowed)]) from None
    names = _names_of(file)
    if not names:
        raise InputError([Fault("--certificate", f"{file}, for no name", "one for a DNS name")])
    return Certificate(file, key, names)


def own(folder: Path) -> Certificate:
    """The server's own certificate, kept in ``folder``; made or renewed where needed.

    Raises
    ------
    InputError
        No ``openssl``, or a folder that cannot be written.
    """
    place = folder / "tls"
    root, key = place / "root.pem", place / "root.key"
    names = _own_names()
    try:
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        made = Certificate(place / "server.pem", place / "server.key", names, root)
        known = _names_of(made.file) if made.file.exists() else ()
        called_otherwise = any(not _is_address(name) and name not in known for name in names)
        if not (root.exists() and key.exists()) or (known and called_otherwise):
            _make_root(root, key, names)  # it may vouch for these names alone
            made.file.unlink(missing_ok=True)
        if not _serves(made):
            _sign(made, key)
    except OSError as error:
        fault = Fault("--own-certificate", f"{place} ({error.strerror})", "a folder to write to")
        raise InputError([fault]) from None
    return made


def _own_names() -> tuple[str, ...]:
    """This computer's names and private addresses, as others on the network call it."""
    host = re.sub(r"[^a-z0-9.-]", "", socket.gethostname().lower()) or "localhost"
    names = dict.fromkeys(("localhost", host, f"{host.partition('.')[0]}.local"))
    addresses = {"127.0.0.1"}
    for family, far in ((socket.AF_INET, "10.255.255.255"), (socket.AF_INET6, "fd00::1")):
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((far, 9))  # nothing is sent
                addresses.add(str(probe.getsockname()[0]).partition("%")[0])
            except OSError:
                continue
    with suppress(OSError):
        addresses |= {str(found[4][0]).partition("%")[0] for found in socket.getaddrinfo(host, 0)}
    networks = [ipaddress.ip_network(network) for network in _PRIVATE]
    private = [a for a in sorted(addresses) if any(ipaddress.ip_address(a) in n for n in networks)]
    return (*names, *private)


def _make_root(root: Path, key: Path, names: tuple[str, ...]) -> None:
    networks = [ipaddress.ip_network(network) for network in _PRIVATE]
    allowed = [f"permitted;DNS:{name}" for name in names if not _is_address(name)]
    allowed += [f"permitted;IP:{n.network_address}/{n.netmask}" for n in networks]
    _openssl(
        f"""[req]
distinguished_name = who
x509_extensions = root
prompt = no
[who]
CN = Warmside of {names[1]}
[root]
basicConstraints = critical,CA:TRUE,pathlen:0
keyUsage = critical,keyCertSign,cRLSign
subjectKeyIdentifier = hash
nameConstraints = critical,{",".join(allowed)}
""",
        "req", "-x509", "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
        "-nodes", "-sha256", "-days", str(_ROOT_DAYS), "-keyout", str(key), "-out", str(root),
    )  # fmt: skip
    key.chmod(0o600)


def _sign(made: Certificate, root_key: Path) -> None:
    also = ",".join(f"{'IP' if _is_address(n) else 'DNS'}:{n}" for n in made.names)
    config = f"""[req]
distinguished_name = who
prompt = no
[who]
CN = {made.names[1]}
[server]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = serverAuth
authorityKeyIdentifier = keyid
subjectAltName = {also}
"""
    with TemporaryDirectory() as folder:
        asked = str(Path(folder) / "asked.pem")
        _openssl(config, "req", "-new", "-newkey", "ec", "-pkeyopt",
                 "ec_paramgen_curve:prime256v1", "-nodes", "-sha256", "-keyout", str(made.key),
                 "-out", asked)  # fmt: skip
        made.key.chmod(0o600)
        _openssl(config, "x509", "-req", "-in", asked, "-CA", str(made.root), "-CAkey",
                 str(root_key), "-CAcreateserial", "-sha256", "-days", str(_DAYS), "-extfile",
                 "{config}", "-extensions", "server", "-out", str(made.file))  # fmt: skip


def _serves(made: Certificate) -> bool:
    """Whether the certificate that is there has all names, and time left."""
    if not (made.file.exists() and made.key.exists()):
        return False
    left = ["x509", "-noout", "-checkend", str(_RENEW * 86_400), "-in", str(made.file)]
    fresh = subprocess.run([_program(), *left], capture_output=True, check=False)  # noqa: S603
    return fresh.returncode == 0 and set(made.names) <= set(_names_of(made.file))


def _names_of(file: Path) -> tuple[str, ...]:
    """DNS names and addresses that a certificate is for."""
    words = [_program(), "x509", "-noout", "-ext", "subjectAltName", "-in", str(file)]
    told = subprocess.run(words, capture_output=True, text=True, check=False).stdout  # noqa: S603
    found = re.findall(r"(?:DNS|IP Address):([^,\s]+)", told)
    return tuple(str(ipaddress.ip_address(n)) if _is_address(n) else n.lower() for n in found)


def _program() -> str:
    found = shutil.which("openssl")
    if found is None:
        fault = Fault("openssl", "not on this computer", "installed, for certificates")
        raise InputError([fault])
    return found


def _openssl(config: str, command: str, *words: str) -> None:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "openssl.cnf"
        file.write_text(config, "utf-8")
        given_file = ["-config", str(file)] if command == "req" else []
        told = subprocess.run(  # noqa: S603
            [_program(), command, *given_file, *(w.replace("{config}", str(file)) for w in words)],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    if told.returncode:
        said = told.stderr.strip().splitlines()
        read = f"openssl refused: {said[0][:200] if said else told.returncode}"
        raise InputError([Fault("--own-certificate", read, "OpenSSL 3 or later")])


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


# Pairing


class Pairing:
    """A page without TLS, for a while after a start, from which a phone takes the authority.

    What it hands out is public; that it came unchanged shows in the fingerprint, which the owner
    reads out from the terminal or from the page of how it is kept.
    """

    def __init__(self, certificate: Certificate, port: int, to: int) -> None:
        assert certificate.root is not None  # noqa: S101
        self._root = certificate.root.read_bytes()
        shown = {"print": certificate.fingerprint, "at": f"https://{certificate.names[1]}:{to}/"}
        self._page = _PAGE.format(**{k: html.escape(v) for k, v in shown.items()}).encode()
        pairing = self

        class Answers(BaseHTTPRequestHandler):
            timeout = 5.0  # [s] of a line that says nothing

            def do_GET(self) -> None:
                body, kind = pairing.answer(self.path)
                self.send_response(200 if body else 404)
                for name, value in (("content-type", kind), ("content-length", str(len(body))),
                                    ("content-security-policy", "default-src 'none'"),
                                    ("x-content-type-options", "nosniff"),
                                    ("cache-control", "no-store")):  # fmt: skip
                    self.send_header(name, value)
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, format: str, *args: object) -> None:
                """Say nothing."""

        self._server = ThreadingHTTPServer(("0.0.0.0", port), Answers)  # noqa: S104
        self._server.daemon_threads = True
        self.port = self._server.server_address[1]

    def answer(self, path: str) -> tuple[bytes, str]:
        """What is there, and its kind; nothing for any other path."""
        if path == "/":
            return self._page, "text/html; charset=utf-8"
        if path == "/warmside.crt":
            return self._root, "application/x-x509-ca-cert"
        return b"", "text/plain"

    def start(self) -> None:
        """Begin, and end by itself."""
        Thread(target=self._server.serve_forever, name="pairing", daemon=True).start()
        ending = Timer(_OPEN, self.stop)
        ending.daemon = True
        ending.start()

    def stop(self) -> None:
        """End."""
        self._server.shutdown()
        self._server.server_close()


_PAGE = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>Pair this phone</title>
<h1>Pair this phone with Warmside</h1>
<p>The pages are encrypted with a certificate of the shop's own computer. This phone trusts it once
it has the certificate of its authority, which can vouch for that computer and for nothing else.</p>
<ol>
<li>Take <a href="/warmside.crt">the certificate</a> and open it.</li>
<li>Compare its SHA-256 fingerprint with what the owner reads out to you, not with this page:
<br><code>{print}</code><br>Where they differ, stop: somebody is between you and the shop.</li>
<li>iPhone: Settings, Profile downloaded, Install; then General, About, Certificate trust settings,
and turn it on. Android: Settings, Security, Install a certificate, CA certificate.</li>
<li>Open <a href="{at}">{at}</a> and sign in.</li>
</ol></html>
"""
