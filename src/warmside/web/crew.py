"""What the crew's pages stand on: plans of the walls, what was noted, taking an entry.

The room ``site`` brings the solvers' libraries with it, so it is loaded when a page first asks.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin

from warmside.errors import Fault, InputError
from warmside.store import Record, Store, UnknownError
from warmside.web import cached
from warmside.web.studies import standing
from warmside.wording import Style

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

    from warmside.catalog import Catalog
    from warmside.site import Ground, Log, WallPlan

BEFORE_COVER = "before cover"  # how the caption of such a photo begins
_ADDED = ("checks", "passed", "account_role")
_LONG = ("crew", "lots", "note", "text")
_BARE = re.compile(r"[-+−]?\d+(?:[.,]\d+)?")
# unit of a label -> what stands there for other readers: kind, label, and as it is typed
_OTHERWISE: Mapping[str, tuple[str, str, str]] = {
    "°C": ("temperature", "°F", "F"), "in": ("length", "mm", "mm"), "m³": ("volume", "ft³", "ft3"),
    "m/s": ("wind", "mph", "mph"),
}  # fmt: skip
_UNIT = "unit."  # before the name of a field: how a number alone is meant in it


@dataclass(frozen=True)
class Crew:
    """A job as the crew's pages read it."""

    plans: tuple[WallPlan, ...]
    log: Log
    photos: Mapping[str, int]  # before cover, by wall
    undecided: tuple[str, ...]  # walls without an option put forward
    rows: str  # the job's own rows of the catalog
    flames: bool  # whether one of the house may spill

    @property
    def catalog(self) -> Catalog:
        """What is known, the job's own rows included."""
        return cached.catalog(self.rows)

    @property
    def ground(self) -> Ground:
        """What an entry is held against, now."""
        from warmside.site import Ground

        plans = {plan.wall: plan for plan in self.plans}
        return Ground(datetime.now(UTC), self.catalog, plans, self.log, self.photos)


def crew_of(store: Store, job: str, prices: str | None = None) -> Crew:
    """Plans and log of a job; planned by another price list where its text is given."""
    from warmside.site import read_log

    survey = store.text("survey", job).text
    log = read_log(store.records.of(job, corrected=True))
    said = log.plan_choice()
    sealing, people = (said.sealing, said.people) if said else ("before", 2)
    options = _options(store, job, survey)
    rows = store.text("catalog", job).text
    plans = _plans(
        survey, rows, store.text("prices", job).text if prices is None else prices,
        tuple(options.items()), sealing, people,
    )  # fmt: skip
    read = cached.read(survey)
    names = [wall.name for wall in read.walls]
    photos: dict[str, int] = {}
    for photo in store.photos.of(job):
        if photo.caption.lower().startswith(BEFORE_COVER):
            photos[photo.wall] = photos.get(photo.wall, 0) + 1
    undecided = tuple(name for name in names if name not in options)
    return Crew(plans, log, photos, undecided, rows, not read.house.spill_free)


def _options(store: Store, job: str, survey: str) -> dict[str, str]:
    """What is done to each wall: as chosen by hand, else as the study puts it forward."""
    from warmside.options import offered

    found = cached.read(survey)
    rows = cached.catalog(store.text("catalog", job).text).at(found.house.climate)
    dossier = standing(store, job).dossier
    walls = dossier["walls"] if dossier else []
    wanted = {wall["name"]: wall["chosen"] for wall in walls} | store.choices(job)
    options = {}
    for wall in found.walls:
        known = {
            option.id for option in offered(wall, found.house, rows, found.options, found.hazards)
        }
        if wanted.get(wall.name) in known:
            options[wall.name] = wanted[wall.name]
    return options


@lru_cache(maxsize=16)
def _plans(
    survey: str,
    rows: str,
    prices: str,
    options: tuple[tuple[str, str], ...],
    sealing: Literal["before", "after"],
    people: int,
) -> tuple[WallPlan, ...]:
    from warmside.estimate import read_prices
    from warmside.options import LEAVE
    from warmside.site import build_option, plan_wall

    found = cached.read(survey)
    catalog = cached.catalog(rows).at(found.house.climate)
    priced = read_prices(prices) if prices.strip() else None
    chosen, plans = dict(options), []
    for wall in found.walls:
        if chosen.get(wall.name, LEAVE.id) != LEAVE.id:
            try:
                build_up = build_option(found, wall, chosen[wall.name], catalog)
            except InputError:  # kept before walls were framed at each save; its page tells why
                continue
            if build_up.can_be_built and build_up.option.kind.worked:
                plans.append(plan_wall(build_up, wall, found, catalog, priced, sealing, people))
    return tuple(plans)


def take(
    store: Store,
    job: str,
    who: str,
    kind: str,
    wall: str,
    data: Mapping[str, Any],
    id: str,
    replaces: str = "",
    role: str = "",
) -> Record:
    """Keep an entry; what was sent twice is kept once. ``role`` is that of the account ``who``.

    Raises
    ------
    InputError
        Every fault of the entry, or an id that another entry has.
    """
    there = _there(store, job, id)
    if there is not None:
        return _same(there, kind, wall, data, replaces)
    if replaces:
        old = store.records.get(job, replaces)
        if (old.kind, old.wall) != (kind, wall):
            read = f"{old.kind} of {old.wall or 'the house'}"
            raise InputError([Fault("amended entry", read, "one of the same kind and wall")])
    from warmside.site import accept

    kept = accept(kind, wall, data, crew_of(store, job).ground)
    if role:
        kept["account_role"] = role
    return store.records.add(job, kind, kept, who, wall, replaces, id)


def _there(store: Store, job: str, id: str) -> Record | None:
    try:
        return store.records.get(job, id)
    except UnknownError:
        return None


def _same(there: Record, kind: str, wall: str, data: Mapping[str, Any], replaces: str) -> Record:
    """The record that is there, where it is the one that was sent."""
    from warmside.site import ENTRIES, parse_entry

    sent = None
    if kind in ENTRIES:
        sent = parse_entry(kind, data).model_dump(mode="json", exclude_none=True)
    kept = {key: value for key, value in there.data.items() if key not in _ADDED}
    if (there.kind, there.wall, there.replaces, kept) != (kind, wall, replaces, sent):
        raise InputError([Fault("id", there.id, "an id not taken; entries are never altered")])
    return there


@dataclass(frozen=True)
class EntryField:
    """One field of an entry's form."""

    name: str
    title: str
    kind: Literal["choice", "long", "number", "text", "day", "moment", "strokes"]
    needed: bool
    choices: tuple[str, ...] = ()
    text: str = ""
    fault: str = ""
    hint: str = ""  # what is allowed
    relabelled: tuple[str, str] = ("", "")  # unit of the title, and what this reader has for it
    unit: str = ""  # of a number alone, where it is not that of the title

    @property
    def blank(self) -> EntryField:
        """The same field with nothing typed and nothing wrong."""
        return replace(self, text="", fault="")


def fields_of(
    kind: str,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    hide: tuple[str, ...] = (),
    write: Style | None = None,
) -> list[EntryField]:
    """The form of a kind of entry, with what was typed and what is wrong with it.

    It asks in the units of its reader; `with_units` writes them out again.
    """
    from warmside.site import ENTRIES

    told = {fault.place: f"allowed: {fault.allowed}" for fault in faults}
    # what every entry has comes last
    last = sorted(ENTRIES[kind].model_fields.items(), key=lambda item: item[0] in ("at", "note"))
    return [
        replace(_asked(_field(name, info), write or Style()), text=(typed or {}).get(name, ""),
                fault=told.get(info.title or "", ""))
        for name, info in last
        if name not in ("noted", *hide)
    ]  # fmt: skip


def _asked(field: EntryField, write: Style) -> EntryField:
    """The field in the unit that ``write`` has for it."""
    said = re.search(r", (\S+)", field.title)
    kind, label, unit = _OTHERWISE.get(said[1] if said else "", ("", "", ""))
    if not kind or label not in write(0.05, kind):
        return field
    return replace(field, relabelled=(f", {said[1] if said else ''}", f", {label}"), unit=unit)


def with_units(texts: Mapping[str, str]) -> dict[str, str]:
    """What a form sent, its numbers alone with the unit that their field asked for."""
    typed = {name: text for name, text in texts.items() if not name.startswith(_UNIT)}
    known = {unit for _, _, unit in _OTHERWISE.values()}
    for name, unit in texts.items():
        field = name.removeprefix(_UNIT)
        if name != field and unit in known and _BARE.fullmatch(typed.get(field, "").strip()):
            typed[field] = f"{typed[field].strip().replace('−', '-')} {unit}"
    return typed


def _field(name: str, info: FieldInfo) -> EntryField:
    words, title = str(info.annotation), info.title or name
    if get_origin(info.annotation) is Literal:
        choices = tuple(get_args(info.annotation))
        return EntryField(name, title, "choice", info.is_required(), choices)
    needed = info.is_required() and name != "at"
    if name == "strokes":
        return EntryField(name, title, "strokes", needed)
    if name in _LONG:
        return EntryField(name, title, "long", needed)
    if "datetime.datetime" in words:
        return EntryField(name, title, "moment", needed)
    if "datetime.date" in words:
        return EntryField(name, title, "day", needed)
    number = bool(re.search(r"\b(float|int)\b", words))
    return EntryField(name, title, "number" if number else "text", needed)
