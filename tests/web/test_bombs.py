"""Small files that ask for gigabytes or minutes, sent to a server as it is run.

The limits are targets that were set beforehand: 300 MB beyond what the server holds, 5 s of work.
The same bombs with people reading pages meanwhile: ``./bench hostile``.
"""

from __future__ import annotations

import threading
import time
from http.client import HTTPConnection
from pathlib import Path

from hostile import MEMORY, SECONDS, Browser, bombs, prepare, thrown
from serving import served


def test_no_bomb_takes_more_than_its_share(tmp_path: Path) -> None:
    job, file = prepare(tmp_path)
    slowest, stop = [0.0], threading.Event()
    with served(tmp_path) as (port, process):

        def ask() -> None:
            while not stop.wait(0.2):
                begun = time.monotonic()
                line = HTTPConnection("localhost", port, timeout=60)
                line.request("GET", "/health")
                with line.getresponse() as answer:
                    assert answer.read() == b'{"status":"ok"}'
                line.close()
                slowest[0] = max(slowest[0], time.monotonic() - begun)

        assert Browser(port).json("/api/check", b'{"text": ""}') == 200  # the readers are there
        asker = threading.Thread(target=ask)
        asker.start()
        try:
            for words, throw in bombs(job, file, size=2).items():
                met = thrown(port, process.pid, job, throw, readers=0)
                taken = words == "WebP as large as is taken"
                told = "to the API" in words  # its answer is the list of faults
                refusals = {400, 413, 422} | ({200} if told else set())
                assert met.status in ({303} if taken else refusals), words
                assert met.memory <= MEMORY, words
                assert met.work <= SECONDS + 1.0, words  # the tick of the system's own clock is 1 s
        finally:
            stop.set()
            asker.join()
        assert slowest[0] < 5.0
