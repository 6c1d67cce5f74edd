"""People, their roles and passwords, and the jobs that a crew sees."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, get_args

from sqlalchemy import Connection, Row, delete, insert, select, update

from warmside.errors import Fault, InputError
from warmside.store import ledger
from warmside.store import tables as t
from warmside.store.checks import canonical, prepared, who_of
from warmside.store.database import Database, upsert
from warmside.store.errors import UnknownError
from warmside.store.keeping import Person, Role
from warmside.store.moments import folded, moment, now

if TYPE_CHECKING:
    from argon2 import PasswordHasher

_SHORTEST, _LONGEST = 8, 256  # characters of a password; the upper bound keeps hashing short


class People:
    """Who may sign in. Nobody is deleted, since the history names them; they are let go."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def add(self, name: str, role: Role, password: str, who: str) -> Person:
        """Add a person; names differ by more than capital letters and accents."""
        name, who = who_of(name), who_of(who)
        refuse_guessable(password, name) if isinstance(password, str) else None
        hashed = _hashed(password)
        _role(role)
        row = {"key": folded(name), "name": name, "role": role, "password": hashed}
        with self._db.writing() as connection:
            ledger.lock(connection, ledger.SHOP)
            if _row(connection, name) is not None:
                raise InputError([Fault("name", name, "a name that nobody here has yet")])
            connection.execute(insert(t.person).values(**row, active=True, created=now()))
            return self._noted(connection, name, "added", who)

    def all(self) -> tuple[Person, ...]:
        """Everyone, by name; those let go too."""
        with self._db.reading() as connection:
            rows = connection.execute(select(t.person).order_by(t.person.c.key)).all()
            return tuple(person(connection, row) for row in rows)

    def get(self, name: str) -> Person:
        """The person of that name."""
        with self._db.reading() as connection:
            return person(connection, known(connection, name))

    def sign_in(self, name: str, password: str) -> Person | None:
        """The person, if active and the password is theirs; as slow for a name nobody has.

        Counting failures and making people wait is up to the caller.
        """
        from argon2.exceptions import InvalidHashError, VerificationError

        with self._db.reading() as connection:
            row = _row(connection, name) if name.isprintable() else None
        kept = row.password if row is not None and row.active else _nobody()
        try:
            _hasher().verify(kept, password[: _LONGEST + 1])
        except (VerificationError, InvalidHashError, UnicodeError):
            return None
        if row is None or not row.active:
            return None
        if _hasher().check_needs_rehash(kept):
            self._set(name, "password kept under a newer cost", name, password=_hashed(password))
        return self.get(name)

    def set_password(self, name: str, password: str, who: str) -> Person:
        """Give a person another password."""
        refuse_guessable(password, name) if isinstance(password, str) else None
        return self._set(name, "another password", who, password=_hashed(password))

    def set_role(self, name: str, role: Role, who: str) -> Person:
        """Give a person another role; one active owner always remains."""
        return self._set(name, f"now {_role(role)}", who, role=role)

    def let_go(self, name: str, who: str) -> Person:
        """Keep a person from signing in; one active owner always remains."""
        return self._set(name, "let go", who, active=False)

    def take_back(self, name: str, who: str) -> Person:
        """Let a person sign in again."""
        return self._set(name, "taken back", who, active=True)

    def assign(self, name: str, job: str, who: str) -> Person:
        """Let a crew member see a job."""
        who = who_of(who)
        with self._db.writing() as connection:
            key = known(connection, name).key
            ledger.lock(connection, job)
            upsert(connection, t.assignment, {"person": key, "job_id": job})
            return self._noted(connection, name, f"assigned to {job}", who)

    def unassign(self, name: str, job: str, who: str) -> Person:
        """Take a job from a crew member's list."""
        who = who_of(who)
        with self._db.writing() as connection:
            _unassign(connection, known(connection, name).key, job)
            return self._noted(connection, name, f"no longer on {job}", who)

    def _set(self, name: str, what: str, who: str, **values: str | bool) -> Person:
        who = who_of(who)
        with self._db.writing() as connection:
            ledger.lock(connection, ledger.SHOP)
            key = known(connection, name).key
            connection.execute(update(t.person).where(t.person.c.key == key).values(**values))
            if "password" in values or values.get("active") is False:
                connection.execute(delete(t.session).where(t.session.c.person == key))
            owners = select(t.person.c.key).where(t.person.c.role == "owner", t.person.c.active)
            if {"role", "active"} & values.keys() and not connection.execute(owners).first():
                raise InputError([Fault("owner", f"{name}, {what}", "one owner who stays")])
            return self._noted(connection, name, what, who)

    @staticmethod
    def _noted(connection: Connection, name: str, what: str, who: str) -> Person:
        """The person, after the shop's history says what was done; never the password."""
        noted = person(connection, known(connection, name))
        told = {"name": noted.name, "role": noted.role, "active": noted.active}
        part = f"person/{folded(name)}"
        text = canonical("person", told | {"jobs": [*noted.jobs]})
        ledger.apply(connection, ledger.SHOP, part, prepared(part, text), what, who)
        return noted


def _unassign(connection: Connection, key: str, job: str) -> None:
    here = (t.assignment.c.person == key, t.assignment.c.job_id == job)
    connection.execute(delete(t.assignment).where(*here))


def _row(connection: Connection, name: str) -> Row[tuple[object, ...]] | None:
    return connection.execute(select(t.person).where(t.person.c.key == folded(name))).first()


def known(connection: Connection, name: str) -> Row[tuple[object, ...]]:
    """The row of a person; ``UnknownError`` for a name that nobody has."""
    row = _row(connection, name) if name.isprintable() else None
    if row is None:
        raise UnknownError("person", repr(name)[:90])
    return row


def person(connection: Connection, row: Row[tuple[object, ...]]) -> Person:
    """A person as the store gives them back."""
    here = t.assignment.c.person == row.key
    jobs = connection.execute(
        select(t.assignment.c.job_id).where(here).order_by(t.assignment.c.job_id)
    ).scalars()
    return Person(row.name, row.role, row.active, moment(row.created), tuple(jobs))


def _role(role: str) -> str:
    if role not in get_args(Role):
        raise InputError([Fault("role", repr(role)[:80], " or ".join(get_args(Role)))])
    return role


# passwords that every list of guesses begins with, bare of digits and signs; common practice,
# written from memory
_GUESSED = (
    " password passwort motdepasse passw passwd letmein welcome admin administrator iloveyou"
    " football baseball dragon monkey sunshine princess qwerty qwertyuiop qwertz azerty asdfghjkl"
    " abc abcd abcdefg abcdefgh changeme secret master superman batman trustno warmside hello"
    " charlie michael jennifer foam sprayfoam insulation default guest user test testtest "
)


_SWAPPED = str.maketrans("013457@$", "oieastas")  # digits and signs that stand for letters


def refuse_guessable(password: str, name: str) -> None:
    """Refuse what is guessed first: a list's own words, a row of signs, the person's name."""
    signs = folded(password)
    bare = "".join(c for c in signs if c.isalpha())
    swapped = "".join(c for c in signs.translate(_SWAPPED) if c.isalpha())
    row = len(set(signs)) < 4 or any(signs in r for r in ("0123456789" * 3, "9876543210" * 3))
    common = any(word and f" {word} " in _GUESSED for word in (bare, swapped))
    if common or row or (bare and bare in folded(name).replace(" ", "")):
        allowed = "one that is not guessed first: a few words of your own"
        raise InputError([Fault("password", "one of the commonest, or the name", allowed)])


def _hashed(password: str) -> str:
    if not isinstance(password, str) or not _SHORTEST <= len(password) <= _LONGEST:
        read = f"{len(password)} characters" if isinstance(password, str) else "no text"
        raise InputError([Fault("password", read, f"{_SHORTEST} to {_LONGEST} characters")])
    try:
        return _hasher().hash(password)
    except UnicodeEncodeError:
        raise InputError([Fault("password", "a character that is none", "text")]) from None


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher

    return PasswordHasher()  # argon2id, RFC 9106 low-memory parameters


@cache
def _nobody() -> str:
    """A hash that no password meets in practice, for names nobody has."""
    from secrets import token_hex

    return _hasher().hash(token_hex(32))
