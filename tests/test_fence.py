"""The fence around hostile files: memory and time are bounded, this process goes on. Counts exact;
times and sizes are held to the limits that the fence itself names.
"""

from __future__ import annotations

import io
import os
import resource
import struct
import threading
import time
import zlib
from typing import Any

import numpy as np
import pytest
from PIL import Image

from sent import answer, break_down, fail, hang, refuse, sleep_on, take
from warmside.errors import BusyError, Fault, InputError
from warmside.fence import FILES, TEXTS, Lane, fenced
from warmside.proof import read_matrix
from warmside.store import cleaned
from warmside.store.checks import looked_through
from warmside.survey import template

MIB = 1 << 20


def test_what_is_done_behind_it_comes_back_from_another_process() -> None:
    value, process = fenced(answer, {"a": np.arange(3).tolist()})
    assert value == {"a": [0, 1, 2]}
    assert process != os.getpid()


@pytest.mark.parametrize("work", [hang, sleep_on])
def test_what_takes_too_long_is_ended(work: Any) -> None:
    begun = time.monotonic()
    with pytest.raises(InputError, match="more time or memory"):
        fenced(work, seconds=1.0)
    assert time.monotonic() - begun < 15.0


@pytest.mark.parametrize("work", [break_down, fail])
def test_a_decoder_that_breaks_down_is_told_as_a_fault(work: Any) -> None:
    with pytest.raises(InputError, match="ordinary file"):
        fenced(work)


def test_what_takes_too_much_memory_is_ended() -> None:
    assert fenced(take, 100 * MIB, memory=400 * MIB) == 100 * MIB
    with pytest.raises(InputError, match="more time or memory"):
        fenced(take, 500 * MIB, memory=400 * MIB)


def test_a_refusal_comes_through_whole() -> None:
    with pytest.raises(InputError) as told:
        fenced(refuse)
    assert told.value.faults == (Fault("photo", "this", "that"),)


@pytest.mark.parametrize("climate", ["winnipeg", "Minneapolis", "Duluth, MN", "558", "46.8, -92.1"])
def test_a_house_is_taken_in_wherever_it_stands(climate: str) -> None:
    """Places of the packed table, by each way to name one, within a text's own share of memory."""
    text = template().replace('climate = "winnipeg"', f'climate = "{climate}"')
    assert f'climate = "{climate}"' in text
    assert fenced(looked_through, "survey", text, ("", "")).text == text


def test_a_lane_is_for_one_after_the_other_and_holds_up_no_other() -> None:
    fenced(answer, 0)  # the readers are there
    begun, ends = time.monotonic(), dict[tuple[Lane, int], float]()

    def wait(lane: Lane, number: int) -> None:
        fenced(time.sleep, 1.0, lane=lane)
        ends[lane, number] = time.monotonic() - begun

    threads = [threading.Thread(target=wait, args=(FILES, n)) for n in range(4)]
    threads.append(threading.Thread(target=wait, args=(TEXTS, 0)))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    last = max(ends[FILES, n] for n in range(4))
    assert last >= 4.0  # four after one another
    assert ends[TEXTS, 0] < last


def test_a_line_that_is_too_long_is_told_at_once() -> None:
    lane, kept = Lane(64 * MIB), list[object]()

    def wait() -> None:
        try:
            with lane.turn():
                kept.append(lane)
                time.sleep(0.2)
        except BusyError as error:
            kept.append(error)

    threads = [threading.Thread(target=wait) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert kept.count(lane) == 9  # one, and eight in line
    assert len(kept) == 12


def test_both_lanes_together_stay_within_what_a_bomb_may_take() -> None:
    assert TEXTS.memory + FILES.memory < 300e6


def grown() -> int:
    """Most memory that this process ever took [byte]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def webp(side: int) -> bytes:
    file = io.BytesIO()
    Image.new("RGBA", (side, side), (90, 40, 10, 255)).save(file, "WEBP", lossless=True)
    return file.getvalue()


def test_a_small_file_of_a_huge_picture_is_refused_before_it_is_decoded() -> None:
    data = webp(9400)  # 88 million pixels
    assert len(data) < MIB
    before = grown()
    with pytest.raises(InputError, match="million pixels"):
        cleaned(data)
    assert grown() - before < 64 * MIB
    assert fenced(cleaned, webp(3100), lane=FILES).width == 2048


def tiff(strip: bytes, compression: int = 8, side: int = 64) -> bytes:
    """A TIFF 6.0 of one strip of 32-bit floats, whatever the strip holds."""
    entries = [(256, 3, 1, side), (257, 3, 1, side), (258, 3, 1, 32), (259, 3, 1, compression),
               (262, 3, 1, 1), (273, 4, 1, 8), (277, 3, 1, 1), (278, 3, 1, side),
               (279, 4, 1, len(strip)), (339, 3, 1, 3)]  # fmt: skip
    directory = struct.pack("<H", len(entries))
    directory += b"".join(struct.pack("<HHII", *entry) for entry in entries) + bytes(4)
    return b"II*\0" + struct.pack("<I", 8 + len(strip)) + strip + directory


def test_a_strip_that_inflates_to_gigabytes_is_not_inflated() -> None:
    values = np.random.default_rng(0).normal(18, 1, (64, 64)).astype("<f4")
    good = read_matrix(tiff(zlib.compress(values.tobytes())))
    np.testing.assert_allclose(good.values, values, rtol=0, atol=1e-6)
    packer = zlib.compressobj(9)
    bomb = b"".join(packer.compress(bytes(16 * MIB)) for _ in range(64)) + packer.flush()
    assert len(bomb) < 2 * MIB  # of 1 GiB
    before, begun = grown(), time.monotonic()
    with pytest.raises(InputError, match="inflate to more"):
        read_matrix(tiff(bomb))
    assert grown() - before < 512 * MIB
    assert time.monotonic() - begun < 20.0
    with pytest.raises(InputError, match="packed by method 5"):
        read_matrix(tiff(values.tobytes(), compression=5))
