"""Texts that a person reads, by key, in English or French; what French lacks is English."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, get_args

from warmside.errors import Fault, InputError, UnknownRowError
from warmside.wording import Language

LANGUAGES: tuple[Language, ...] = get_args(Language)
_PLACEHOLDER = re.compile(r"\{([a-z_]+)\}")


@dataclass(frozen=True)
class Texts:
    """One language's texts; keys are dotted: ``answer.how_thick.question``."""

    language: Language
    by_key: Mapping[str, str]

    def get(self, key: str) -> str:
        """The text of ``key``.

        Raises
        ------
        UnknownRowError
            A key that English does not hold either.
        """
        try:
            return self.by_key[key]
        except KeyError:
            raise UnknownRowError("text", key) from None

    def named(self, group: str, name: str) -> str:
        """The text of a word that the program uses itself: ``named("verdict", "falls short")``."""
        return self.get(f"{group}.{name.replace(' ', '_')}")

    def speaks(self, group: str) -> bool:
        """Whether this language itself holds every text of ``group`` that English holds."""
        own, stem = own_texts(self.language), f"{group}."
        return all(key in own for key in own_texts("en") if key.startswith(stem))

    def fill(self, key: str, parts: Mapping[str, str]) -> str:
        """The text of ``key``, each placeholder filled.

        Raises
        ------
        InputError
            A placeholder without its part, or a part without its placeholder.
        """
        text = self.get(key)
        wanted = placeholders(text)
        if wanted != set(parts):
            read, allowed = ", ".join(sorted(parts)), ", ".join(sorted(wanted)) or "none"
            raise InputError([Fault(f"text {key}, parts", read or "none", allowed)])
        return _PLACEHOLDER.sub(lambda found: parts[found.group(1)], text)


def placeholders(text: str) -> set[str]:
    """Names in braces that ``text`` asks to be filled."""
    return set(_PLACEHOLDER.findall(text))


@cache
def texts(language: Language = "en") -> Texts:
    """The texts of one language, what it lacks taken from English.

    Raises
    ------
    InputError
        A language that the program does not speak.
    """
    if language not in LANGUAGES:
        raise InputError([Fault("language", repr(language)[:40], " | ".join(LANGUAGES))])
    own = own_texts(language)
    return Texts(language, own if language == "en" else {**own_texts("en"), **own})


@cache
def own_texts(language: Language) -> Mapping[str, str]:
    """What the file of one language holds itself, by dotted key."""
    path = resources.files("warmside.promises").joinpath("texts", f"{language}.toml")
    return dict(_flat(tomllib.loads(path.read_text(encoding="utf-8"))))


def _flat(table: Mapping[str, Any], stem: str = "") -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in table.items():
        name = f"{stem}.{key}" if stem else key
        found += _flat(value, name) if isinstance(value, dict) else [(name, value)]
    return found
