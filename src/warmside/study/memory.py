"""Results kept by the content they were made from, so that a changed house is not all redone."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from hashlib import blake2b
from threading import Lock
from typing import Any

import numpy as np
from pydantic import BaseModel

_PLAIN = (type(None), bool, int, float, str, bytes)


class Kept:
    """Results by content, in this process; the least recently used go first.

    Hand the same one to each study of a house: what has not changed is not computed again. Safe
    to share between threads.
    """

    def __init__(self, most: int = 600) -> None:
        self.most = most
        self._by_key: OrderedDict[str, Any] = OrderedDict()
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._by_key)

    def get(self, key: str) -> Any | None:
        """What was kept under ``key``, or None."""
        with self._lock:
            if key in self._by_key:
                self._by_key.move_to_end(key)
            return self._by_key.get(key)

    def put(self, key: str, value: Any) -> None:
        """Keep ``value``; beyond the bound the least recently used go."""
        with self._lock:
            self._by_key[key] = value
            self._by_key.move_to_end(key)
            while len(self._by_key) > self.most:
                self._by_key.popitem(last=False)


def digest(*parts: object) -> str:
    """A short name for content: equal content gives the same name, different content another.

    Parameters
    ----------
    *parts : object
        Plain values, arrays, validated records, dataclasses, and sequences and mappings of these.

    Returns
    -------
    str
        32 hexadecimal digits.

    Raises
    ------
    TypeError
        Anything else: what it is made of is not known.
    """
    found = blake2b(digest_size=16)
    for part in parts:
        _feed(found, part)
    return found.hexdigest()


def _feed(found: blake2b, value: object) -> None:
    found.update(f"{type(value).__qualname__}:".encode())
    if isinstance(value, BaseModel):
        found.update(value.model_dump_json().encode())
    elif isinstance(value, np.ndarray):
        found.update(f"{value.dtype}{value.shape}".encode())
        found.update(np.ascontiguousarray(value).tobytes())
    elif is_dataclass(value):
        for field in fields(value):
            _feed(found, getattr(value, field.name))
    elif isinstance(value, Mapping):
        found.update(f"{len(value)};".encode())
        for key, item in value.items():
            _feed(found, key)
            _feed(found, item)
    elif isinstance(value, tuple | list):
        found.update(f"{len(value)};".encode())
        for item in value:
            _feed(found, item)
    elif isinstance(value, _PLAIN) or type(value).__module__ in ("decimal", "datetime"):
        found.update(f"{value!r};".encode())
    else:
        raise TypeError(f"content of {type(value).__qualname__} is not known")
