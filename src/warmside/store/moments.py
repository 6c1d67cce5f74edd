"""Moments of time as the tables keep them, and hashes and folded words."""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, datetime, timedelta
from hashlib import sha256

_FORM = "%Y-%m-%dT%H:%M:%S.%fZ"
_SHAPE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z")


def now() -> str:
    """This moment, UTC, to the microsecond."""
    return datetime.now(UTC).strftime(_FORM)


def before_now(span: timedelta) -> str:
    """The moment that long ago."""
    return (datetime.now(UTC) - span).strftime(_FORM)


def moment(text: str) -> datetime:
    """The moment a table holds; ValueError for any other text."""
    if not _SHAPE.fullmatch(text):
        raise ValueError(f"'{text[:40]}' for a moment")
    return datetime.fromisoformat(text)


def digest(data: str | bytes) -> str:
    """SHA-256, hexadecimal."""
    return sha256(data.encode("utf-8") if isinstance(data, str) else data).hexdigest()


def folded(text: str) -> str:
    """Text for searching: no case, no accents, one space between words, no half characters."""
    whole = text.encode("utf-8", "ignore").decode("utf-8")
    plain = unicodedata.normalize("NFKD", whole.casefold())
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return " ".join(bare.casefold().replace("\0", " ").split())
