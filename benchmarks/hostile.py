"""Bombs are thrown at a server while four people read pages; every figure beside its target.

A bomb is a small file, or one as large as is taken, that asks for gigabytes or minutes. Memory is
what the server and all of its processes hold beyond what they held before, measured every 50 ms;
the file itself, as it was sent, counts as well. Seconds of work stand beside seconds on the clock,
since other work on the machine stretches the clock: where the machine is busy, work is judged. What
the pages of the four take, as measured without a bomb, is no work of a bomb.
"""

from __future__ import annotations

import io
import json
import os
import random
import re
import struct
import tempfile
import threading
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from hashlib import sha256
from http.client import HTTPConnection
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import psutil
from PIL import Image

from pages import served, share
from record import record
from warmside.store import Store
from warmside.survey import template

MIB = 1 << 20
MEMORY, SECONDS, PAGES = 300e6, 5.0, 0.3  # targets: [byte], [s], [s] p95 of other people's pages


@dataclass
class Answer:
    """What became of a bomb."""

    status: int
    seconds: float  # on the clock
    work: float = 0.0  # [s]
    memory: float = 0.0  # [byte]
    pages: list[float] = field(default_factory=list)

    @property
    def fits(self) -> bool:
        """Refused or taken within the limits."""
        busy = os.getloadavg()[0] > (os.cpu_count() or 1)
        took = min(self.seconds, self.work) if busy else self.seconds
        return self.status < 500 and took <= SECONDS and self.memory <= MEMORY


class Browser:
    """One browser with its cookie and the token of its forms."""

    def __init__(self, port: int) -> None:
        self._port, self._cookie = port, ""
        page = self.ask("GET", "/new")[1].decode()
        found = re.search(r'name="token" value="(\w+)"', page)
        self.token = found[1] if found else ""

    def ask(self, method: str, path: str, body: bytes = b"", kind: str = "") -> tuple[int, bytes]:
        line = HTTPConnection("localhost", self._port, timeout=180)
        head = {"cookie": self._cookie} if self._cookie else {}
        if kind:
            head["content-type"] = kind
        line.request(method, path, body, head)
        answer = line.getresponse()
        text, cookie, status = answer.read(), answer.getheader("set-cookie"), answer.status
        self._cookie = cookie.partition(";")[0] if cookie else self._cookie
        answer.close()
        line.close()
        return status, text

    def upload(self, path: str, files: dict[str, bytes], **texts: str) -> int:
        edge = "a-line-that-no-file-holds"
        body = b"".join(
            f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
            for name, text in ({"token": self.token} | texts).items()
        )
        for name, data in files.items():
            head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="a.toml"'
            body += head.encode() + b"\r\n\r\n" + data + b"\r\n"
        body += f"--{edge}--\r\n".encode()
        return self.ask("POST", path, body, f"multipart/form-data; boundary={edge}")[0]

    def json(self, path: str, body: bytes) -> int:
        return self.ask("POST", path, body, "application/json")[0]


Throw = Callable[[Browser], int]


def webp(side: int) -> bytes:
    file = io.BytesIO()
    Image.new("RGBA", (side, side), (90, 40, 10, 255)).save(file, "WEBP", lossless=True)
    return file.getvalue()


def png(side: int) -> bytes:
    """A PNG (ISO/IEC 15948) of one colour, written a line at a time."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    packer = zlib.compressobj(9)
    lines = b"".join(packer.compress(bytes(1 + 4 * side)) for _ in range(side)) + packer.flush()
    head = struct.pack(">IIBBBBB", side, side, 8, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", lines) + chunk(b"IEND", b"")


def zeros(size: int) -> bytes:
    """A zlib stream (RFC 1950) of so many zeros."""
    packer = zlib.compressobj(9)
    blocks = (packer.compress(bytes(16 * MIB)) for _ in range(size // (16 * MIB)))
    return b"".join(blocks) + packer.flush()


def tiff(strip: bytes, side: int = 64) -> bytes:
    """A TIFF 6.0 of one packed strip of 32-bit floats, whatever the strip holds."""
    entries = [(256, 3, 1, side), (257, 3, 1, side), (258, 3, 1, 32), (259, 3, 1, 8),
               (262, 3, 1, 1), (273, 4, 1, 8), (277, 3, 1, 1), (278, 3, 1, side),
               (279, 4, 1, len(strip)), (339, 3, 1, 3)]  # fmt: skip
    directory = struct.pack("<H", len(entries))
    directory += b"".join(struct.pack("<HHII", *entry) for entry in entries) + bytes(4)
    return b"II*\0" + struct.pack("<I", 8 + len(strip)) + strip + directory


def with_history(job_file: bytes, history: bytes) -> bytes:
    """A job's file with another history, its manifest made to fit."""
    made = io.BytesIO()
    with ZipFile(io.BytesIO(job_file)) as old, ZipFile(made, "w", ZIP_DEFLATED) as new:
        manifest = json.loads(old.read("manifest.json"))
        told = {"bytes": len(history), "sha256": sha256(history).hexdigest()}
        manifest["files"]["history.json"] = told
        for name in old.namelist():
            data = {"history.json": history, "manifest.json": json.dumps(manifest).encode()}
            new.writestr(name, data.get(name) or old.read(name))
    return made.getvalue()


def svg(size: int) -> bytes:
    """A drawing whose entities swell to far more than it is, and then a very long path."""
    grown = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    head = f'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a0 "aaaaaaaaaa">{grown}]>'
    head += '<svg xmlns="http://www.w3.org/2000/svg"><text>&a9;</text><path d="M0 0'
    return head.encode() + b" L1 1" * ((size - len(head)) // 5) + b'"/></svg>'


def bombs(job: str, job_file: bytes, size: int = 8) -> dict[str, Throw]:
    """Each by its name; those that swell do so to ``size`` eighths of what is told."""
    dots = b"a" + b".a" * 60_000 + b"=1"
    lists = "\n".join(f"a{n}=[{'1,' * 2000}]" for n in range(250))
    keys = "\n".join(f"a{n:05d}={'1' * 40}" for n in range(19_900))
    deep = b'{"id":"aaaaaaaaa","kind":"day","data":' + b'{"a":' * 170_000 + b"1" + b"}" * 170_001
    wide = b'{"id":"aaaaaaaaa","kind":"day","data":{"a":[' + b"[]," * 80_000 + b"[]]}}"
    history = b'{"changes":[' + b"[]," * (10 * size * MIB) + b"[]]}"  # 240 MB from 0.3
    photo = f"/jobs/{job}/photos"

    def text(content: str | bytes) -> bytes:
        body = content if isinstance(content, str) else content.decode()
        return json.dumps({"text": body}).encode()

    drawing = {"photo": svg(5 * size * MIB)}
    strip = {"picture": tiff(zeros(256 * size * MIB))}
    conditions = {"wall": "", "room": "20 C", "outside": "-10 C"}
    zipped = with_history(job_file, history)
    large, small, whole = webp(9400), webp(3100), png(5400)
    rows = b"id,archetype,year\n" + b"x,nothing,19\n" * 300_000
    hours = b"time,temperature\n" + b"2020-01-01T00:00,1\n" * 440_000
    return {
        "WebP of 88 million pixels": lambda b: b.upload(photo, {"photo": large}),
        "WebP as large as is taken": lambda b: b.upload(photo, {"photo": small}),
        "PNG of 29 million pixels": lambda b: b.upload(photo, {"photo": whole}),
        "TIFF strip of 2 GB": lambda b: b.upload(
            f"/jobs/{job}/proof/pictures", strip, **conditions
        ),
        "TOML key of 60,000 parts, survey": lambda b: b.upload("/take-in", {"file": dots}),
        "TOML key of 60,000 parts, prices": lambda b: b.upload(
            f"/jobs/{job}/prices", {}, text=dots.decode(), revision="0"
        ),
        "1 MB of TOML keys to the API": lambda b: b.json("/api/check", text(keys)),
        "1 MB of TOML lists to the API": lambda b: b.json("/api/check", text(lists)),
        "table of 300,000 rows": lambda b: b.upload(
            "/stock", {"table": rows, "archetypes": template().encode()}
        ),
        "9 MB of hours": lambda b: b.upload(f"/jobs/{job}/weather", {"file": hours}, revision="0"),
        "deep JSON": lambda b: b.json(f"/api/jobs/{job}/entries", deep),
        "wide JSON": lambda b: b.json(f"/api/jobs/{job}/entries", wide),
        "a zip's history of 240 MB": lambda b: b.upload("/take-in", {"file": zipped}, copy="yes"),
        "SVG text as a photo": lambda b: b.upload(photo, drawing),
        "SVG text as a survey": lambda b: b.upload("/take-in", {"file": svg(5 * size * MIB)}),
    }  # fmt: skip


class Watch:
    """What the server and all of its processes hold, and how fast pages come meanwhile."""

    def __init__(self, port: int, pid: int, job: str, readers: int = 4) -> None:
        self._port, self._server, self._job = port, psutil.Process(pid), job
        self._stop, self.most, self.pages = threading.Event(), 0.0, list[float]()
        self._threads = [threading.Thread(target=self._read, args=(n,)) for n in range(readers)]
        self._threads.append(threading.Thread(target=self._weigh))

    def held(self) -> float:
        """Bytes that no other process has: shared ones are counted where they were first."""
        total = 0.0
        for process in (self._server, *self._server.children(recursive=True)):
            try:
                told = Path(f"/proc/{process.pid}/smaps_rollup").read_text()
            except OSError:  # it has ended
                continue
            total += 1024 * sum(int(n) for n in re.findall(r"Private_\w+:\s+(\d+)", told))
        return total

    def work(self) -> float:
        """Seconds of work that all of them have done, those that have ended too."""
        total = 0.0
        for process in (self._server, *self._server.children(recursive=True)):
            with suppress(psutil.NoSuchProcess):
                told = process.cpu_times()
                total += told.user + told.system + told.children_user + told.children_system
        return total

    @contextmanager
    def watching(self) -> Iterator[None]:
        for thread in self._threads:
            thread.start()
        yield
        self._stop.set()
        for thread in self._threads:
            thread.join()

    def _weigh(self) -> None:
        while not self._stop.wait(0.05):
            self.most = max(self.most, self.held())

    def _read(self, number: int) -> None:
        chance, here = random.Random(number), f"/jobs/{self._job}"
        below = ("", "/walls/1", "/house", "/photos", "/history", "/walls/1/pieces")
        paths = ("/", "/catalog/materials", "/static/warmside.css", *(here + one for one in below))
        line = HTTPConnection("localhost", self._port, timeout=60)
        while not self._stop.wait(chance.uniform(0.05, 0.35)):
            begun = time.perf_counter()
            line.request("GET", chance.choice(paths))
            line.getresponse().read()
            self.pages.append(time.perf_counter() - begun)
        line.close()


def thrown(
    port: int, pid: int, job: str, throw: Throw, at_once: int = 1, readers: int = 4,
    page: float = 0.0,
) -> Answer:  # fmt: skip
    """Throw a bomb, and watch; ``page`` [s] is the work of a page that somebody else reads."""
    browsers = [Browser(port) for _ in range(at_once)]
    watch, answers = Watch(port, pid, job, readers), list[tuple[int, float]]()
    before, worked = watch.held(), watch.work()

    def one(browser: Browser) -> None:
        begun = time.perf_counter()
        status = throw(browser)
        answers.append((status, time.perf_counter() - begun))

    with watch.watching():
        time.sleep(0.5)
        threads = [threading.Thread(target=one, args=(browser,)) for browser in browsers]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        time.sleep(0.5)
    status, seconds = max(answers, key=lambda answer: answer[1])
    work = max(0.0, watch.work() - worked - page * len(watch.pages))
    return Answer(status, seconds, work, watch.most - before, watch.pages)


def prepare(folder: Path) -> tuple[str, bytes]:
    """A store with a job; its id, and its file."""
    with Store.open(folder / "warmside.sqlite") as store:
        job, file = store.new_job(template(), "owner").id, io.BytesIO()
        store.export_job(job, file)
    return job, file.getvalue()


def main() -> int:
    pages, missed = list[float](), 0
    with tempfile.TemporaryDirectory() as name:
        job, file = prepare(Path(name))
        with served(Path(name)) as (port, pid, _, _):
            browser = Browser(port)
            browser.json("/api/check", b'{"text": ""}')  # the readers are there
            for path in ("walls/1", "walls/1/pieces", "photos"):
                browser.ask("GET", f"/jobs/{job}/{path}")
            for watch in (Watch(port, pid, job), calm := Watch(port, pid, job)):
                worked = watch.work()  # the first round has every page drawn once
                with watch.watching():
                    time.sleep(5.0)
            page = (calm.work() - worked) / len(calm.pages)
            print(f"without a bomb: pages p95 {share(calm.pages, 0.95) * 1e3:.0f} ms, "
                  f"{page * 1e3:.0f} ms of work each; load {os.getloadavg()[0]:.0f}")  # fmt: skip
            print(f"{'bomb':36} {'answer':>6} {'s':>6} {'s work':>6} {'MB':>6}  others' pages p95")
            for words, throw in bombs(job, file).items():
                met = thrown(port, pid, job, throw, page=page)
                pages += met.pages
                missed += not met.fits
                print(f"{words:36} {met.status:6} {met.seconds:6.2f} {met.work:6.2f}"
                      f" {met.memory / 1e6:6.0f}  {share(met.pages, 0.95) * 1e3:6.0f} ms"
                      f"{'' if met.fits else '  MISSED'}", flush=True)  # fmt: skip
                record(f"work, {words}", met.work, "s", target="<= 5")
                record(f"time, {words}", met.seconds, "s", target="<= 5")
                record(f"memory, {words}", met.memory / 1e6, "MB", target="<= 300")
            data = png(4400)
            many = thrown(
                port, pid, job,
                lambda b: b.upload(f"/jobs/{job}/photos", {"photo": data}), 12,
                page=page,
            )  # fmt: skip
            pages += many.pages
            missed += many.memory > MEMORY
            record("memory, twelve pictures at once", many.memory / 1e6, "MB", target="<= 300")
            print(
                f"twelve PNGs of 19 million pixels at once: the last after {many.seconds:.1f} s, "
                f"{many.memory / 1e6:.0f} MB, pages p95 {share(many.pages, 0.95) * 1e3:.0f} ms"
            )
    slow = share(pages, 0.95)
    print(f"others' pages meanwhile, all bombs: p95 {slow * 1e3:.0f} ms (<= 300 ms)")
    record("others' pages p95 under bombs", slow, "s", target="<= 0.3",
           ratio=slow / share(calm.pages, 0.95),
           against="the same pages without a bomb")  # fmt: skip
    return 1 if missed or slow > PAGES else 0


if __name__ == "__main__":
    raise SystemExit(main())
