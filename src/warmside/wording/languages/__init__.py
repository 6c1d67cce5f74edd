"""What a sentence is called in another language: gettext catalogues (.po), read by Babel.

English is what stands in the code. A template is looked up whole, with its named places, so that a
translation puts them in its own order; a noun is looked up with its plural.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

WRITTEN = ("fr", "es")  # beside English


@cache
def catalogue(language: str) -> Catalog:
    """The messages of one language, by their English.

    Parameters
    ----------
    language : str
        One of ``WRITTEN``.
    """
    from babel.messages.pofile import read_po

    with (files(__name__) / f"{language}.po").open("rb") as file:
        return read_po(file, locale=language, abort_invalid=True)


def translated(text: str, language: str) -> str:
    """A text in a language; as it stands where the catalogue lacks it."""
    if language not in WRITTEN or not text:
        return text
    message = catalogue(language).get(text)
    known = message.string if message else ""
    if isinstance(known, (tuple, list)):  # a noun, not counted
        known = known[0]
    return known or text


@cache
def whole(language: str) -> dict[str, str]:
    """Every text of a language by its English, for templates; empty for English."""
    if language not in WRITTEN:
        return {}
    known = ((str(m.id), m.string) for m in catalogue(language) if isinstance(m.id, str) and m.id)
    return {text: string for text, string in known if isinstance(string, str) and string}


def noun(count: float, singular: str, language: str) -> str:
    """A noun as it stands beside a count."""
    message = catalogue(language).get(singular) if language in WRITTEN else None
    if message is None or not isinstance(message.string, (tuple, list)):
        return singular if count == 1 else plural(singular)
    return str(message.string[_form(count, language)])


def plural(noun: str) -> str:
    """The plural of an English noun of the trade."""
    if re.search(r"(s|x|ch|sh)$", noun):
        return f"{noun}es"
    return f"{noun[:-1]}ies" if re.search(r"[^aeiou]y$", noun) else f"{noun}s"


def _form(count: float, language: str) -> int:
    """Which plural form: French counts 0 and 1 as one, Spanish only 1 (CLDR)."""
    return int(count >= 2) if language == "fr" else int(count != 1)
