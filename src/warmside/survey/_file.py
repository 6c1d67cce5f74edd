"""The survey file: text in, a survey or every fault out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from importlib import resources
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from warmside.errors import Fault, InputError, shown
from warmside.survey import _checks, faults
from warmside.survey._models import FILE_NAMES, Survey
from warmside.survey.heads import faults_of_headings
from warmside.survey.quantities import HIDDEN, IN_FILE
from warmside.toml import Path, is_too_deep, locate, too_deep, unfit_for_reading

LARGEST = 1 << 20  # [byte] of a survey file
_MOST_FAULTS = 200
_MOST_SYNTAX_FAULTS = 20
_RE_READ = 1 << 17  # characters of a text that is read again for its next fault

# What the TOML reader says (start of its message) -> what a person may do
_SYNTAX = (
    ("Cannot", "each key and each [heading] once; a list of tables as [[heading]]"),
    ("Illegal character", 'text in one pair of quotes on one line: "..."'),
    ("Unterminated", 'text in one pair of quotes: "..."'),
    ("Unescaped", r'a backslash in "..." written twice: \\'),
    ("Duplicate", "each key once"),
    ("Expected newline", 'one key = "value" to a line, with quotes around text and units'),
    ("Invalid statement", 'a line such as length = "24 ft", or a heading such as [[wall]]'),
    ("Invalid value", 'a value in quotes: length = "24 ft"'),
    ("Expected", 'a line such as length = "24 ft", or a heading such as [[wall]]'),
)
_INCH_MARK = re.compile(r"\"[^\"]*[0-9]\s*\"\s*\"")


@dataclass(frozen=True)
class Doubt:
    """Something that is possible but unusual: a person looks at it again before it is believed.

    ``warning`` names it, for the record of the second look; ``read`` is what the survey says,
    ``shows`` what follows from it, ``usual`` what is usual instead.
    """

    warning: str
    place: str
    read: str
    shows: str
    usual: str
    line: int | None = None

    def __str__(self) -> str:
        where = f"line {self.line}: " if self.line is not None else ""
        told = f"{where}{self.place}: read {self.read}"
        return shown(f"{told}: {self.shows}; usual: {self.usual} [{self.warning}]")


@dataclass(frozen=True)
class Checked:
    """A survey text looked through: the survey, or the faults that keep it from being one.

    ``doubts`` is what nobody has looked at again yet. ``data`` is the file as plain tables;
    ``lines`` gives the line of each path in it.
    """

    survey: Survey | None
    faults: tuple[Fault, ...]
    doubts: tuple[Doubt, ...] = ()
    data: Mapping[str, Any] = field(default_factory=dict, repr=False)
    lines: Mapping[Path, int] = field(default_factory=dict, repr=False)

    def line_of(self, path: Path) -> int | None:
        """Line of ``path``, or of the nearest table around it that the file holds."""
        path = self._file_path(path)
        return next(
            (self.lines[p] for n in range(len(path), 0, -1) if (p := path[:n]) in self.lines), None
        )

    def place_of(self, path: Path) -> str:
        """``path`` in words."""
        return faults.place(self._file_path(path), self.data)

    def read_at(self, path: Path) -> str:
        """What the file says at ``path``; "nothing" where it leaves it out."""
        return faults.shown(faults.value_at(self.data, self._file_path(path)))

    def fault_at(self, path: Path, read: object, allowed: str) -> Fault:
        """A fault found later, at a path of attributes (``"walls", 0, "found"``) or file keys."""
        text = read if isinstance(read, str) else faults.shown(read)
        return Fault(self.place_of(path), text, allowed, self.line_of(path), self._file_path(path))

    def _file_path(self, path: Path) -> Path:
        """The path with the file's own names."""
        found: Path = ()
        for part in path:
            name = FILE_NAMES.get(part, part) if isinstance(part, str) else part
            found = (*found, part if (*found, part) in self.lines else name)
        return found


def read(text: str, name: str = "survey") -> Survey:
    """The survey in ``text``.

    Parameters
    ----------
    text : str
        A survey file (TOML with trade units).
    name : str
        What to call the file in an error.

    Returns
    -------
    Survey
        Every number SI.

    Raises
    ------
    InputError
        With every fault found, each with its place and line.
    """
    checked = check(text)
    if checked.survey is None:
        raise InputError([replace(f, place=_named(f, name)) for f in checked.faults])
    return checked.survey


def _named(fault: Fault, name: str) -> str:
    return fault.place if name == "survey" else f"{name}: {fault.place}"


def check(text: str) -> Checked:
    """Look ``text`` through: a survey, or faults; no text raises anything else."""
    text = text.removeprefix("\ufeff")
    faults = tuple(_unfit(text))
    if faults:
        return Checked(None, faults)
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # a heading that is wrong makes other lines look wrong: it is told alone
        return Checked(None, tuple(faults_of_headings(text)) or tuple(_syntax(text, error)))
    if is_too_deep(data):
        return Checked(None, (too_deep("the text"),))
    lines = locate(text)
    try:
        survey = Survey.model_validate(data, context=IN_FILE, by_alias=True, by_name=False)
    except ValidationError as error:
        if misnamed := tuple(faults_of_headings(text)):
            return Checked(None, misnamed, (), data, lines)
        unfinished = Checked(None, (), (), data, lines)
        return Checked(None, tuple(_in_order(unfinished, error)), (), data, lines)
    return Checked(survey, (), (), data, lines)


def load(path: FilePath) -> str:
    """Text of a survey or proof file; ``InputError`` where there is none that can be read."""
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        fault = Fault(path.name, "bytes that are not UTF-8", "a text file saved as UTF-8", line)
        raise InputError([fault]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(
            [Fault(str(path), reason.lower(), "a text file that can be read")]
        ) from None


def template() -> str:
    """A filled-in survey file with every field explained."""
    return resources.files("warmside.survey").joinpath("template.toml").read_text("utf-8")


def schema() -> dict[str, Any]:
    """JSON Schema of the survey file, under the file's own names."""
    return Survey.model_json_schema(by_alias=True)


def _unfit(text: str) -> Iterator[Fault]:
    """Why a text is not worth reading as TOML."""
    hidden = HIDDEN.search(text.replace("\r\n", "\n")) if len(text) <= LARGEST else None
    if hidden:
        line = text.replace("\r\n", "\n").count("\n", 0, hidden.start()) + 1
        sign = f"the hidden character U+{ord(hidden[0]):04X}"
        yield Fault("the text", sign, "letters, digits and signs that can be seen", line)
    yield from unfit_for_reading(text, "the text", LARGEST)


def _syntax(text: str, error: Exception) -> Iterator[Fault]:
    """Lines that are not TOML; a faulty line that stands alone is left out to find the next."""
    lines, last = text.split("\n"), 0
    # each next fault costs one more reading of the whole
    for _ in range(_MOST_SYNTAX_FAULTS if len(text) < _RE_READ else 1):
        if isinstance(error, RecursionError):
            yield too_deep("the text")
            return
        found = re.search(r"at line (\d+)", str(error))
        number = int(found[1]) if found else len(lines)
        if number <= last:
            return
        content = lines[number - 1].strip() if number <= len(lines) else ""
        yield Fault("the text", faults.shown(content or None), _advice(content, error), number)
        if not found or not _stands_alone(content):
            return
        lines[number - 1], last = "", number
        try:
            tomllib.loads("\n".join(lines))
        except (ValueError, RecursionError) as following:
            error = following
        else:
            return


def _advice(content: str, error: Exception) -> str:
    if _INCH_MARK.search(content):
        return r"""the inch mark inside "..." as \" or as in: "8 ft 1-1/2 in" """.rstrip()
    message = str(error)
    return next(
        (advice for start, advice in _SYNTAX if message.startswith(start)),
        'a line such as length = "24 ft", or a heading such as [[wall]]',
    )


def _stands_alone(content: str) -> bool:
    """Whether leaving the line out cannot break the lines after it."""
    pairs = all(content.count(a) == content.count(b) for a, b in ("[]", "{}"))
    return bool(content) and pairs and '"""' not in content and "'''" not in content


def _in_order(checked: Checked, error: ValidationError) -> Iterator[Fault]:
    """The faults in the order of the file, each told once."""
    found = [
        one
        for detail in error.errors(include_url=False)
        # a list whose elements were refused counts as too short; their own faults say it better
        if detail["type"] != "too_short" or not faults.value_at(checked.data, detail["loc"])
        for one in faults.tell(detail, checked.data)
    ]
    # the validator compares names only once everything else stands
    found += faults.told(_checks.names_in(checked.data), checked.data)
    told = dict.fromkeys(checked.fault_at(*one) for one in found)
    ordered = sorted(told, key=lambda fault: fault.line or 0)
    yield from ordered[:_MOST_FAULTS]
    if len(ordered) > _MOST_FAULTS:
        more = f"{len(ordered) - _MOST_FAULTS} more faults"
        yield Fault("the survey", more, "none; mend those above first")
