"""Where each value of a TOML text stands: path of keys and counts -> line, counted from 1."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import NamedTuple

Path = tuple[str | int, ...]

TOKEN = re.compile(
    r'''(?P<space>[ \t]+|\#[^\n]*)
    |(?P<newline>\r?\n)
    |(?P<text>"""(?:\\.|(?!""").)*"{3,5}|\'\'\'(?:(?!\'\'\').)*'{3,5}
        |"(?:\\.|[^"\\\n])*"|'[^'\n]*')
    |(?P<mark>[\[\]{},=.])
    |(?P<bare>[^\s\[\]{},=.\#"']+)
    |(?P<other>.)''',
    re.DOTALL | re.VERBOSE,
)


class _Token(NamedTuple):
    kind: str
    text: str
    line: int


def locate(text: str) -> Mapping[Path, int]:
    """Line of every table, key and list element of ``text``, which must be valid TOML.

    The text is gone through when the first line is asked for: sound files never ask.
    """
    return _Lines(text)


class _Lines(Mapping[Path, int]):
    def __init__(self, text: str) -> None:
        self._text = text

    @cached_property
    def _all(self) -> dict[Path, int]:
        return _Reading(self._text).lines

    def __getitem__(self, path: Path) -> int:
        return self._all[path]

    def __iter__(self) -> Iterator[Path]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)


def headings(text: str) -> list[tuple[int, Path]]:
    """Line and path of every ``[heading]`` and ``[[heading]]``, in the order of the text."""
    return _Reading(text).headings


class _Reading:
    """One pass over the tokens. ``at`` is the token looked at."""

    def __init__(self, text: str) -> None:
        self.lines: dict[Path, int] = {}
        self.headings: list[tuple[int, Path]] = []
        self.tokens = _tokens(text)
        self.at = 0
        counts: dict[Path, int] = {}  # tables in each list of tables so far
        table: Path = ()
        while self._skip_newlines():
            if self._now().text == "[":
                table = self._header(counts)
            else:
                self._pair(table)

    def _now(self) -> _Token:
        return self.tokens[self.at] if self.at < len(self.tokens) else _Token("end", "", 0)

    def _skip_newlines(self) -> bool:
        while self._now().kind == "newline":
            self.at += 1
        return self._now().kind != "end"

    def _mark(self, path: Path, line: int) -> None:
        for depth in range(1, len(path) + 1):
            self.lines.setdefault(path[:depth], line)

    def _header(self, counts: dict[Path, int]) -> Path:
        line = self._now().line
        self.at += 1
        listed = self._now().text == "["
        self.at += listed
        keys = self._keys("]")
        self.at += listed
        path: Path = ()
        for depth, key in enumerate(keys, 1):
            path = (*path, key)
            if listed and depth == len(keys):
                counts[path] = counts.get(path, 0) + 1
            if path in counts:
                path = (*path, counts[path] - 1)
        self._mark(path, line)
        self.headings.append((line, path))
        return path

    def _keys(self, end: str) -> list[str]:
        """Dotted key up to and over ``end``."""
        keys = []
        while (token := self._now()).kind != "end":
            self.at += 1
            if token.text == end and token.kind == "mark":
                break
            if token.kind == "text":
                keys.append(str(tomllib.loads(f"k = {token.text}")["k"]))
            elif token.kind == "bare":
                keys.append(token.text)
        return keys

    def _pair(self, table: Path) -> None:
        line = self._now().line
        path = (*table, *self._keys("="))
        self._mark(path, line)
        self._value(path)

    def _value(self, path: Path) -> None:
        opened = self._now().text if self._now().kind == "mark" else ""
        if opened not in ("[", "{"):
            while self._now().kind not in ("newline", "end") and self._now().text not in ",]}":
                self.at += 1
            return
        self.at += 1
        count = 0
        while self._skip_newlines():
            token = self._now()
            if token.kind == "mark" and token.text in "]},":
                self.at += 1
                if token.text != ",":
                    return
            elif opened == "{":
                self._pair(path)
            else:
                self._mark((*path, count), token.line)
                self._value((*path, count))
                count += 1


def _tokens(text: str) -> list[_Token]:
    found, line = [], 1
    for match in TOKEN.finditer(text):
        kind = match.lastgroup or "other"
        if kind != "space":
            found.append(_Token(kind, match[0], line))
        line += match[0].count("\n")
    return found
