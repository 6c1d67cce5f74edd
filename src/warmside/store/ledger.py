"""The one write path: every change goes through ``apply``, in a transaction of its caller.

A part's text is never overwritten, only followed by another; what stood before stays in
``content`` and can be read and brought back.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import unified_diff
from typing import Any

from sqlalchemy import Connection, Row, and_, insert, literal, select, update

from warmside.errors import Fault, InputError
from warmside.store import tables as t
from warmside.store.checks import Prepared, prepared
from warmside.store.database import upsert
from warmside.store.errors import StaleError, UnknownError
from warmside.store.keeping import Change
from warmside.store.moments import moment, now

_MOST_LINES = 8000  # compared line by line; a year of hours has more
SHOP = "shop"  # the shop itself is kept like a job: what new jobs start with, people, settings


@dataclass(frozen=True)
class Standing:
    """What a part is now; ``hash`` None: nothing."""

    revision: int
    hash: str | None
    text: str


def plain(kind: str, id_: str) -> str:
    """``id_`` if it has the form of an id at all; ``UnknownError`` otherwise."""
    if not isinstance(id_, str) or not re.fullmatch(r"[a-z0-9-]{1,40}", id_):
        raise UnknownError(kind, repr(id_)[:60])
    return id_


def numbered(place: str, number: int) -> int:
    """``number`` if it can be that of a change at all."""
    if not isinstance(number, int) or isinstance(number, bool) or not 0 <= number < 1 << 31:
        raise InputError([Fault(place, repr(number)[:40], "the number that came with the text")])
    return number


def known(connection: Connection, job: str) -> None:
    """Refuse a job that is not there."""
    here = t.job.c.id == plain("job", job)
    if connection.execute(select(t.job.c.id).where(here)).first() is None:
        raise UnknownError("job", job)


def lock(connection: Connection, job: str) -> int:
    """Keep others from changing ``job`` until the transaction ends; number of its last change."""
    plain("job", job)
    row = connection.execute(
        select(t.job.c.revision).where(t.job.c.id == job).with_for_update()
    ).first()
    if row is None:
        raise UnknownError("job", job)
    return int(row.revision)


def standing(connection: Connection, job: str, part: str) -> Standing:
    """The text of a part, "" at revision 0 where it never was."""
    row = connection.execute(
        select(t.part.c.revision, t.part.c.hash, t.content.c.body)
        .outerjoin(
            t.content,
            and_(t.content.c.job_id == t.part.c.job_id, t.content.c.hash == t.part.c.hash),
        )
        .where(t.part.c.job_id == job, t.part.c.name == part)
    ).first()
    return Standing(row.revision, row.hash, row.body or "") if row else Standing(0, None, "")


def apply(
    connection: Connection,
    job: str,
    part: str,
    new: Prepared | None,
    what: str,
    who: str,
    undoes: int | None = None,
) -> Change:
    """Put ``new`` (None: nothing) in the place of what stands, and say so in the history."""
    number, before = lock(connection, job) + 1, standing(connection, job, part)
    change: dict[str, Any] = {
        "number": number,
        "at": now(),
        "who": who,
        "part": part,
        "what": what,
        "before": before.hash,
        "after": new.hash if new else None,
        "undoes": undoes,
    }
    if new and not _held(connection, job, new.hash):
        connection.execute(insert(t.content).values(job_id=job, hash=new.hash, body=new.text))
    connection.execute(insert(t.change).values(job_id=job, **change))
    upsert(connection, t.part, _part(job, change, new))
    connection.execute(update(t.job).where(t.job.c.id == job).values(**_shown(change, new)))
    return Change(job, **(change | {"at": moment(change["at"])}))


def replay(
    connection: Connection,
    job: str,
    changes: Sequence[Mapping[str, Any]],
    texts: Mapping[str, str],
) -> None:
    """Put a whole history, already looked through, into an empty job at once."""
    contents = [{"job_id": job, "hash": hash_, "body": body} for hash_, body in texts.items()]
    connection.execute(insert(t.content), contents)
    connection.execute(insert(t.change), [{"job_id": job, **change} for change in changes])
    shown = _shown(changes[0], None)  # when it began
    for part, change in {change["part"]: change for change in changes}.items():
        hash_ = change["after"]
        new = prepared(part, texts[hash_]) if hash_ else None
        connection.execute(insert(t.part).values(**_part(job, change, new)))
        shown |= _shown(change, new)
    shown |= _shown(changes[-1], None)
    connection.execute(update(t.job).where(t.job.c.id == job).values(**shown))


def _part(job: str, change: Mapping[str, Any], new: Prepared | None) -> dict[str, Any]:
    """The row of the part that ``change`` is of."""
    row = {"job_id": job, "name": change["part"], "revision": change["number"]}
    return row | {"hash": change["after"], "words": new.words if new else ""}


def _shown(change: Mapping[str, Any], new: Prepared | None) -> dict[str, Any]:
    """What the job list shows anew after ``change``."""
    shown: dict[str, Any] = {"revision": change["number"]}
    shown |= {"changed": change["at"], "changed_by": change["who"]}
    if change["number"] == 1:
        shown["created"] = change["at"]
    if change["part"] == "state":
        shown["archived"] = change["after"] is not None
    return shown | (vars(new.facts) if new and new.facts else {})


def _held(connection: Connection, job: str, hash_: str) -> bool:
    here = and_(t.content.c.job_id == job, t.content.c.hash == hash_)
    return connection.execute(select(literal(1)).where(here)).first() is not None


def body(connection: Connection, job: str, hash_: str | None) -> str:
    """A text by its hash; "" for none."""
    here = and_(t.content.c.job_id == job, t.content.c.hash == hash_)
    return connection.execute(select(t.content.c.body).where(here)).scalar() or ""


def changes(
    connection: Connection, job: str, *where: Any, most: int | None = None
) -> tuple[Change, ...]:
    """Changes of a job, newest first."""
    rows = connection.execute(
        select(t.change)
        .where(t.change.c.job_id == job, *where)
        .order_by(t.change.c.number.desc())
        .limit(most)
    ).all()
    if not rows:
        return ()
    undoes = t.change.c.undoes.between(rows[-1].number, rows[0].number)
    undone = connection.execute(
        select(t.change.c.undoes, t.change.c.number).where(t.change.c.job_id == job, undoes)
    )
    undone_by = {row.undoes: row.number for row in undone}
    return tuple(_change(row, undone_by.get(row.number)) for row in rows)


def _change(row: Row[Any], undone_by: int | None) -> Change:
    values = row._asdict()
    job, at = values.pop("job_id"), moment(values.pop("at"))
    return Change(job=job, at=at, undone_by=undone_by, **values)


def at_revision(connection: Connection, job: str, part: str, revision: int) -> str:
    """Text that ``part`` had after change ``revision``; "" for revision 0."""
    if numbered(f"revision of {part}", revision) == 0:
        return ""
    found = changes(connection, job, t.change.c.part == part, t.change.c.number == revision)
    if not found:
        allowed = "the revision that came with the text"
        raise InputError([Fault(f"revision of {part}", str(revision)[:30], allowed)])
    return body(connection, job, found[0].after)


def stale(connection: Connection, job: str, part: str, from_: int, draft: str = "") -> StaleError:
    """Say what changed in ``part`` since the revision ``from_``."""
    newer = (t.change.c.part == part, t.change.c.number > from_)
    base, here = at_revision(connection, job, part, from_), standing(connection, job, part)
    since = changes(connection, job, *newer, most=50)[::-1]
    return StaleError(part, from_, here.revision, since, difference(base, here.text), draft)


def difference(before: str, after: str) -> str:
    """Unified diff of two texts, without file names; only their lengths where they are long."""
    old, new = before.splitlines(), after.splitlines()
    if max(len(old), len(new)) > _MOST_LINES:
        return f"{len(new)} lines in the place of {len(old)}"
    lines = unified_diff(old, new, lineterm="", n=2)
    return "\n".join([*lines][2:])


def undo(connection: Connection, job: str, number: int, who: str) -> Change:
    """Take back change ``number``: the last of its part that still stands."""
    lock(connection, job)
    found = changes(connection, job, t.change.c.number == numbered("change", number))
    if not found:
        raise UnknownError("change", str(number)[:30])
    change = found[0]
    _refuse_final(change)
    later = changes(connection, job, t.change.c.part == change.part, t.change.c.number > number)
    if _still_stand(later):
        raise stale(connection, job, change.part, number)
    text = body(connection, job, change.before)
    before = prepared(change.part, text) if change.before else None
    return apply(connection, job, change.part, before, f"undone: {change.what}", who, number)


def _refuse_final(change: Change) -> None:
    """What cannot be undone."""
    allowed = ""
    if change.undone_by is not None or change.undoes is not None:
        allowed = "a change that still stands; save an earlier text to bring it back"
    elif change.part == "survey" and change.before is None:
        allowed = "a later change; a whole job is archived or erased instead"
    elif change.part.split("/")[0] in ("person", "import", "erased", "paper", "numbers"):
        allowed = "a change of a text, a record, a photo or a setting"
    if allowed:
        raise InputError([Fault("undo", f"change {change.number}: {change.what}", allowed)])


def _still_stand(later: Sequence[Change]) -> bool:
    return any(c.undoes is None and c.undone_by is None for c in later)
