"""Forks writers and kills each with SIGKILL at some moment of its saving.

Reads lines of JSON from standard input: address, job, seed. For each, a child saves without pause
and tells every save that was confirmed; some milliseconds after one of the first it is killed.
What was told by then goes to standard output as one line of JSON.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from itertools import count
from typing import IO

from warmside.store import Store


def save_for_ever(address: str, job: str, seed: int, told: int) -> None:
    """One save after another, each told once it is confirmed."""
    store = Store.open(address)
    base = store.text_at(job, "survey", 1)
    for n in count():
        word = f"{seed}-{n}"
        if n % 3 == 2:
            here = store.text("survey", job)
            change = store.save("survey", f"{base}# {word}\n", here.revision, "Ann", job)
            line = ["survey", change.number if change else 0, word]
        elif n % 3 == 1:
            store.drafts.keep("Ann", f"form {seed}", {"n": n}, job)
            line = ["draft", n, word]
        else:
            line = ["record", store.records.add(job, "day", {"word": word}, "Ann").id, word]
        os.write(told, (json.dumps(line) + "\n").encode())


def killed(address: str, job: str, seed: int) -> list[list[object]]:
    """Saves that a writer confirmed before it was killed."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        try:
            save_for_ever(address, job, seed, write)
        finally:
            os._exit(1)
    os.close(write)
    with os.fdopen(read, "r", encoding="utf-8") as lines:
        chance = random.Random(seed)
        told = [lines.readline() for _ in range(chance.randint(1, 8))]
        time.sleep(chance.uniform(0.0, 0.02))
        os.kill(child, signal.SIGKILL)
        told += lines.readlines()
    os.waitpid(child, 0)
    # A line cut short was not told
    return [json.loads(line) for line in told if line.endswith("\n")]


def serve(orders: IO[str], answers: IO[str]) -> None:
    """One kill for each order."""
    for order in orders:
        answers.write(json.dumps(killed(*json.loads(order))) + "\n")
        answers.flush()


if __name__ == "__main__":
    serve(sys.stdin, sys.stdout)
