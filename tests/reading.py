"""How hard an English text is to read: Kincaid and others, 1975 (US Navy), grade level."""

from __future__ import annotations

import re

_SILENT = re.compile(r"(?:[^laeiouy]es|[^td]ed|[^laeiouy]e)$")


def syllables(word: str) -> int:
    """Groups of vowels, a silent end left out."""
    word = re.sub(r"[^a-z]", "", word.lower())
    if len(word) <= 3:
        return 1 if word else 0
    word = _SILENT.sub("", word)
    return max(1, len(re.findall(r"[aeiouy]+", re.sub(r"^y", "", word))))


def words_of(text: str) -> list[str]:
    """Words: a figure with its unit is one."""
    return re.findall(r"[A-Za-z][A-Za-z'’-]*|\$?\d[\d,./]*", text)


def grade(text: str) -> float:
    """0.39 words a sentence + 11.8 syllables a word - 15.59; a figure counts one syllable."""
    sentences = [s for s in re.split(r"(?<=[.!?])\s+", text) if words_of(s)]
    words = words_of(text)
    spoken = sum(syllables(word) or 1 for word in words)
    return 0.39 * len(words) / len(sentences) + 11.8 * spoken / len(words) - 15.59
