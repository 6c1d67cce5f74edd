"""Take the pictures of the pages that the README shows, from the demonstration job.

Needs a running server whose demonstration job has been studied:
``.venv/bin/python docs/pictures/take.py http://localhost:8765/``.
"""

from __future__ import annotations

import shutil
import sys
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image

WHERE = Path(__file__).parent
LARGEST = 200_000  # [byte] of a picture


def keep(page: Any, name: str) -> None:
    """Keep what the page shows, in few colours so that it stays small."""
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB").quantize(128)
    file = WHERE / f"{name}.png"
    picture.save(file, optimize=True)
    size = file.stat().st_size
    print(f"{file} {size / 1000:.0f} kB")
    if size > LARGEST:
        raise SystemExit(f"{file} is larger than {LARGEST / 1000:.0f} kB")


def wall_on_a_desk(page: Any, job: str) -> None:
    """A window of the live elevation, pointed at."""
    page.set_viewport_size({"width": 1280, "height": 940})
    page.goto(f"{job}/walls/1")
    page.locator("[data-framing][tabindex]").focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.mouse.move(0, 0)
    keep(page, "page-wall")


def options_in_the_dark(page: Any, job: str) -> None:
    """Options side by side with their six promises."""
    page.emulate_media(color_scheme="dark")
    page.set_viewport_size({"width": 1280, "height": 840})
    page.goto(f"{job}/study/1")
    keep(page, "page-options")


def main(address: str) -> None:
    """Both pictures of the job at ``address``."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        page = chromium.new_context(locale="en-CA").new_page()
        page.goto(address)
        job = page.locator(".jobs a", has_text="Ferry Road").get_attribute("href")
        wall_on_a_desk(page, f"{address.rstrip('/')}{job}")
        options_in_the_dark(page, f"{address.rstrip('/')}{job}")
        chromium.close()


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "http://localhost:8765/")
