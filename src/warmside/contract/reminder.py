"""The yearly reminder to read the wood, as a calendar file (RFC 5545)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

_MOST = 73  # octets of a line before it is folded: RFC 5545, 3.1, allows 75


def reminder(job: str, house: str, summary: str, text: str, first: date, made: datetime) -> str:
    """A calendar with one event of a day that comes back every year.

    Parameters
    ----------
    job : str
        Id of the job: the same job gives the same event, however often it is written.
    house, summary, text : str
        Where, what for, and what is done.
    first : date
        Its first day.
    made : datetime
        When the file was made.
    """
    lines = (
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//warmside//moisture reminder//EN",
        "BEGIN:VEVENT",
        f"UID:moisture-{job}@warmside.invalid",
        f"DTSTAMP:{made.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{first:%Y%m%d}",
        f"DTEND;VALUE=DATE:{first + timedelta(days=1):%Y%m%d}",
        "RRULE:FREQ=YEARLY",
        f"SUMMARY:{_text(summary)}",
        f"LOCATION:{_text(house)}",
        f"DESCRIPTION:{_text(text)}",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
        "END:VCALENDAR",
    )
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _text(text: str) -> str:
    """Escaped as RFC 5545, 3.3.11, asks; control characters become spaces."""
    plain = "".join(c if c.isprintable() or c == "\n" else " " for c in text)
    for mark, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        plain = plain.replace(mark, written)
    return plain


def _folded(line: str) -> Iterator[str]:
    """Parts of at most 75 octets, no letter cut in two; each but the first begins with a space."""
    part = ""
    for letter in line:
        if len((part + letter).encode()) > _MOST:
            yield part
            part = " "
        part += letter
    yield part
