"""Settings of the shop and of each person, kept in the shop's history like any other change."""

from __future__ import annotations

from typing import Any

from warmside.store import ledger
from warmside.store.checks import canonical, parsed, prepared, who_of, word
from warmside.store.database import Database
from warmside.store.moments import digest, folded

_KEY = r"[a-z][a-z0-9.-]{0,63}"


class Settings:
    """Plain JSON values by key; ``person`` "" is the shop."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def get(self, key: str, person: str = "", default: Any = None) -> Any:
        """The value that stands, or ``default``."""
        with self._db.reading() as connection:
            text = ledger.standing(connection, ledger.SHOP, _part(key, person)).text
        return parsed("setting", text)["value"] if text else default

    def set(self, key: str, value: Any, who: str, person: str = "") -> None:
        """Put a value in the place of what stands; None goes back to the default."""
        who, part = who_of(who), _part(key, person)
        told = canonical("setting", {"value": value, "person": person})
        new = prepared(part, told) if value is not None else None
        with self._db.writing() as connection:
            ledger.lock(connection, ledger.SHOP)
            if ledger.standing(connection, ledger.SHOP, part).hash != (new and new.hash):
                ledger.apply(connection, ledger.SHOP, part, new, f"setting {key}", who)


def _part(key: str, person: str) -> str:
    word("setting", key, _KEY, "a word such as units")
    return f"setting/{key}/{digest(folded(who_of(person)))[:16]}" if person else f"setting/{key}"
