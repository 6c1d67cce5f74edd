"""A wall's page for the first time, on a slow line: 1.6 Mbit/s, 150 ms there and back.

Chromium with an empty cache, the line throttled by the browser itself. "Interactive": the page is
parsed and its scripts have run. The floor is the physical one: one journey and the bytes.

    ./bench cold_page
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from record import record

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from serving import served

RATE, JOURNEY = 1.6e6 / 8.0, 0.150  # [byte/s], [s] there and back
SIZES = {"phone": (390, 844), "desk": (1440, 900)}
RUNS = 5
INTERACTIVE = "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd / 1000"


def visit(browser: Browser, address: str, size: tuple[int, int]) -> tuple[float, float, int]:
    """Seconds until interactive, seconds until all is there, bytes on the line."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]})
    page = context.new_page()
    line = context.new_cdp_session(page)
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", {
        "offline": False, "latency": JOURNEY * 1e3, "downloadThroughput": RATE,
        "uploadThroughput": RATE,
    })  # fmt: skip
    seen: list[float] = []
    line.on("Network.loadingFinished", lambda told: seen.append(told["encodedDataLength"]))
    begun = time.perf_counter()
    page.goto(address, wait_until="networkidle")
    whole = time.perf_counter() - begun - 0.5  # the quiet half second is not part of it
    ready = float(page.evaluate(INTERACTIVE))
    context.close()
    return ready, whole, int(sum(seen))


def main() -> None:
    with (
        tempfile.TemporaryDirectory() as name,
        served(Path(name)) as (port, _),
        sync_playwright() as play,
    ):
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        first = browser.new_page()
        first.goto(f"http://localhost:{port}/")
        job = first.locator("main a[href^='/jobs/']").first.get_attribute("href")
        address = f"http://localhost:{port}{job}/walls/1"
        first.goto(address)  # drawn once, so that the line is measured and not the drawing
        for words, size in SIZES.items():
            runs = [visit(browser, address, size) for _ in range(RUNS)]
            ready, whole = (statistics.median(run[k] for run in runs) for k in (0, 1))
            weight = runs[0][2]
            floor = 2 * JOURNEY + weight / RATE
            print(f"{words:6} interactive {ready:5.2f} s (<= 2), all there {whole:5.2f} s, "
                  f"{weight / 1e3:6.1f} kB (<= 200), line alone {floor:4.2f} s")  # fmt: skip
            record(f"cold wall page, {words}, interactive", ready, "s", target="<= 2",
                   ratio=ready / floor, against="two journeys and the bytes")  # fmt: skip
            record(f"cold wall page, {words}, weight", weight / 1e3, "kB", target="<= 200")
        browser.close()


if __name__ == "__main__":
    main()
