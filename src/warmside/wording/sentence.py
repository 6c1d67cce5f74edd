"""A sentence: a template with named figures, filled by the reader's own style."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Union

from warmside.errors import Fault, InputError
from warmside.wording.figure import Figure
from warmside.wording.languages import plural, translated
from warmside.wording.style import PAPER, Style

PLACE = re.compile(r"\{([a-z_0-9]+)\}")
Part = Union[str, Figure, "Sentence"]


@dataclass(frozen=True)
class Sentence:
    """A template with its parts by name; ``str`` writes it as papers do.

    Raises
    ------
    InputError
        A placeholder without its part, or a part without its placeholder.
    """

    template: str = ""
    parts: tuple[tuple[str, Part], ...] = ()

    def __post_init__(self) -> None:
        wanted, given = _places(self.template), {name for name, _ in self.parts}
        if wanted != given:
            read, allowed = ", ".join(sorted(given)), ", ".join(sorted(wanted)) or "none"
            raise InputError([Fault(f'parts of "{self.template[:60]}"', read or "none", allowed)])

    def __str__(self) -> str:
        return self.written(PAPER)

    def written(self, style: Style) -> str:
        """The text in a reader's language, each part as that reader has it."""
        parts = dict(self.parts)
        template = translated(self.template, style.language)
        return PLACE.sub(lambda found: style.part(parts[found[1]]), template)

    def __bool__(self) -> bool:
        return bool(self.template)

    def __contains__(self, text: str) -> bool:
        return text in str(self)

    @property
    def figures(self) -> Iterator[Figure]:
        """Every figure in it, in the order of its parts."""
        for _, part in self.parts:
            if isinstance(part, Figure):
                yield part
            elif isinstance(part, Sentence):
                yield from part.figures


@lru_cache(maxsize=4096)  # an edited wall says some ten thousand sentences by a few templates
def _places(template: str) -> frozenset[str]:
    return frozenset(PLACE.findall(template))


def say(template: str, **parts: Part) -> Sentence:
    """A sentence of a template and its parts: ``say("It is {t} outside.", t=Figure(...))``."""
    return Sentence(template, tuple(parts.items()))


def plain(text: str | Sentence) -> Sentence:
    """A text without figures of ours (a name, a note of the survey) as a sentence."""
    if isinstance(text, Sentence):
        return text
    return say("{text}", text=text) if text else Sentence()


def joined(sentences: Iterable[str | Sentence], between: str = " ") -> Sentence:
    """Several sentences as one, empty ones left out."""
    parts = [sentence for sentence in map(plain, sentences) if sentence]
    if len(parts) == 1:
        return parts[0]
    names = [f"s{k}" for k in range(len(parts))]
    template = between.join(f"{{{name}}}" for name in names)
    return Sentence(template, tuple(zip(names, parts, strict=True)))


def counted(count: int, noun: str, many: str = "") -> str:
    """A count with its noun, singular or plural: ``1 wall``, ``2 walls``, ``3 passes``."""
    return f"{count:,} {noun if count == 1 else many or plural(noun)}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``; ``last`` stands before the last.

    Where a name has a comma of its own, semicolons part them.
    """
    if any("," in word for word in words):
        return parted(words)
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def parted(names: Sequence[str]) -> str:
    """``a, b, c``; by semicolons where a name has a comma of its own."""
    return ("; " if any("," in name for name in names) else ", ").join(names)


def lowered(name: str) -> str:
    """A name inside a sentence."""
    return f"{name[:1].lower()}{name[1:]}"


def capital(name: str) -> str:
    """A name at the head of a sentence or a line."""
    return f"{name[:1].upper()}{name[1:]}"
