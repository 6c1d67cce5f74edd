"""Work that is sent to other processes and tells what became of it there."""

from __future__ import annotations

import os
import time
from typing import Any

from warmside.errors import Fault, InputError

_unpacked = 0


class Work:
    """Tells the process it ran in, and how often it was unpacked there."""

    def __init__(self, most: int) -> None:
        self.most = most

    def __setstate__(self, state: dict[str, int]) -> None:
        global _unpacked  # counts within one process
        _unpacked += 1
        self.__dict__.update(state)

    def __call__(self, item: int) -> tuple[int, int, int]:
        if item > self.most:
            raise ValueError(f"{item} is too much")
        return item, os.getpid(), _unpacked


# what is done behind the fence


def answer(value: Any) -> Any:
    return value, os.getpid()


def take(size: int) -> int:
    return len(bytearray(size))


def hang() -> None:
    while True:
        pass


def sleep_on() -> None:
    time.sleep(3600)


def break_down() -> None:
    os.abort()


def refuse() -> None:
    raise InputError([Fault("photo", "this", "that", path=("photo",))])


def fail() -> None:
    raise KeyError("a decoder's own error")
