"""What the store gives back: plain frozen data, no connection behind it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

TextPart = Literal["survey", "prices", "catalog", "choices", "weather", "mark"]
TaskState = Literal["waiting", "running", "done", "failed", "cancelled"]
Role = Literal["owner", "estimator", "crew"]


@dataclass(frozen=True)
class Job:
    """A job as the list shows it; ``revision`` is the number of its last change."""

    id: str
    name: str
    place: str
    client: str
    walls: tuple[str, ...]
    created: datetime
    changed: datetime
    changed_by: str
    revision: int
    archived: bool


@dataclass(frozen=True)
class Kept:
    """A text that stands. ``revision`` 0 and an empty text: never saved."""

    part: str
    text: str
    revision: int


@dataclass(frozen=True)
class Change:
    """One change: when (UTC), who, which part, what was done.

    ``before`` and ``after`` are SHA-256 of the texts (None: no text); ``undoes`` is the change
    that this one took back, ``undone_by`` the one that took this back.
    """

    job: str
    number: int
    at: datetime
    who: str
    part: str
    what: str
    before: str | None
    after: str | None
    undoes: int | None = None
    undone_by: int | None = None


@dataclass(frozen=True)
class Record:
    """Something noted down for good: a reading, a day, a proof. ``data`` is plain JSON."""

    id: str
    job: str
    kind: str
    wall: str
    data: Mapping[str, Any]
    replaces: str
    number: int  # of the change that brought it
    at: datetime
    who: str


@dataclass(frozen=True)
class Photo:
    """A photo and its place: on ``wall`` at (x, z) [m], or not pinned (None)."""

    id: str
    job: str
    file: str
    wall: str
    x: float | None
    z: float | None
    caption: str
    width: int
    height: int
    revision: int
    at: datetime
    who: str


@dataclass(frozen=True)
class Draft:
    """A half-filled form as one person left it."""

    who: str
    job: str
    form: str
    at: datetime
    data: Mapping[str, Any]


@dataclass(frozen=True)
class Person:
    """Someone who signs in. ``jobs``: those a crew member is assigned to."""

    name: str
    role: Role
    active: bool
    created: datetime
    jobs: tuple[str, ...]


@dataclass(frozen=True)
class Session:
    """Someone signed in on one browser: since when, and last noted in use (to an hour)."""

    name: str
    created: datetime
    used: datetime


@dataclass(frozen=True)
class Erased:
    """What is gone with a job: when, by whom, and how much of each."""

    job: str
    name: str
    client: str
    at: datetime
    who: str
    changes: int
    photos: int
    results: int


@dataclass(frozen=True)
class Task:
    """Work in the background; ``key`` is that of its result, ``done`` of ``total`` steps."""

    id: str
    job: str
    kind: str
    key: str
    who: str
    state: TaskState
    step: str
    done: int
    total: int
    error: str
    data: Mapping[str, Any]
    created: datetime
    changed: datetime


@dataclass(frozen=True)
class Hit:
    """A job that a search found, and the parts in which it found something."""

    job: Job
    parts: tuple[str, ...]
