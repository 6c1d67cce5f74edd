"""Taking an entry: the same rules whether a form, a program or a file brings it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.site.checks import Check
from warmside.site.entries import (
    EARLIEST,
    ENTRIES,
    FUTURE,
    Core,
    Entry,
    GateEntry,
    JointDone,
    Override,
    Probe,
    ReEntryNote,
    TakeBack,
)
from warmside.site.hours import read_forecast
from warmside.site.log import Log, gate_checks
from warmside.site.plan import WallPlan
from warmside.survey.faults import describe, reader_of, shown
from warmside.works import HOUSE_WORKS

_SLACK = 0.003  # [m] foam may stand out of a bay by this before it is a mistake
_CORE = (2.0, 100.0)  # [kg/m3] what any foam could weigh


@dataclass(frozen=True)
class Ground:
    """What an entry is held against: the clock, the limits, the walls' plans, what was noted."""

    now: datetime
    catalog: Catalog
    plans: Mapping[str, WallPlan] = field(default_factory=dict)  # by name of the wall
    log: Log = field(default_factory=lambda: Log(()))
    photos: Mapping[str, int] | None = None  # taken before cover, by wall


def accept(kind: str, wall: str, data: Mapping[str, Any], ground: Ground) -> dict[str, Any]:
    """The entry as it is kept: plain JSON, SI, with what a gate's readings come to.

    Parameters
    ----------
    kind : str
        One of ``ENTRIES``.
    wall : str
        Name of the wall, "" for the house.
    data : mapping
        As sent.
    ground : Ground
        What it is held against.

    Raises
    ------
    InputError
        Every fault, each naming its field, what was read and what is allowed.
    """
    if kind not in ENTRIES:
        raise InputError([Fault("kind", repr(kind)[:60], ", ".join(ENTRIES))])
    if wall and ground.plans and wall not in ground.plans:
        raise InputError([Fault("wall", repr(wall)[:80], ", ".join(ground.plans))])
    entry = parse_entry(kind, data)
    faults = list(_faults(entry, wall, ground))
    if faults:
        raise InputError(faults)
    kept: dict[str, Any] = entry.model_dump(mode="json", exclude_none=True)
    if isinstance(entry, GateEntry):
        checks = gate_checks(entry, wall, ground.plans, ground.log, ground.catalog, ground.photos)
        kept["checks"] = [_plain(check) for check in checks]
        kept["passed"] = all(check.state == "passed" for check in checks)
    return kept


def parse_entry(kind: str, data: Mapping[str, Any]) -> Entry:
    """The typed entry of what was sent, or of what was kept; raises InputError."""
    model = ENTRIES[kind]
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise InputError(
            [_told(model, dict(one), data) for one in error.errors(include_url=False)[:20]]
        ) from None


def _told(model: type[Entry], error: dict[str, Any], data: Mapping[str, Any]) -> Fault:
    name = str(error["loc"][0]) if error["loc"] else ""
    info = model.model_fields.get(name)
    if info is None:
        return Fault(name[:60] or "entry", "a key of that name", ", ".join(model.model_fields))
    read = shown(data.get(name) if error["type"] != "missing" else None)
    return Fault(info.title or name, read, allowed(info))


def allowed(info: FieldInfo) -> str:
    """What a field of an entry takes, in words."""
    words = str(info.annotation)
    if "datetime.datetime" in words:
        return "a date and a time, such as 2026-11-25T14:30"
    if "datetime.date" in words:
        return "a day, such as 2026-11-25"
    metadata = (*info.metadata, *(m for a in get_args(info.annotation)
                                  for m in getattr(a, "__metadata__", ())))  # fmt: skip
    if reader_of(tuple(metadata)) is None and "str" in words and "Literal" not in words:
        lengths = {type(m).__name__: m for m in metadata}
        least = getattr(lengths.get("MinLen"), "min_length", 0)
        most = getattr(lengths.get("MaxLen"), "max_length", 2000)
        from_ = f"{least} to {most}" if least else f"up to {most}"
        return f"text of {from_} characters"
    if "Member" in words:
        return "one to twenty people, one a line: name, certificate number"
    if "tuple" in words:
        return "a list, not too long"
    return describe(info.annotation, tuple(info.metadata))


def _faults(entry: Entry, wall: str, ground: Ground) -> Iterator[Fault]:
    """What the field alone cannot know."""
    yield from _moments(entry, ground.now)
    plan = ground.plans.get(wall)
    if isinstance(entry, (Probe, Core)) and entry.bay is not None:
        yield from _bay(entry.bay, plan, wall)
    if isinstance(entry, Probe) and plan is not None and entry.bay in plan.bay_depths:
        deep = plan.bay_depths[entry.bay]
        if entry.thickness_m > deep + _SLACK:
            read = f"{entry.thickness_m * 1000:.0f} mm"
            yield Fault(
                "Thickness, in", read, f"up to {deep * 1000:.0f} mm, the depth of {entry.bay}"
            )
    if isinstance(entry, Core):
        low, high = _CORE
        weighs = entry.mass_kg / entry.volume_m3
        if not low <= weighs <= high:
            allowed_ = f"mass and volume of foam, {low:g} to {high:g} kg/m3"
            yield Fault("Core", f"{weighs:.3g} kg/m3", allowed_)
    if isinstance(entry, JointDone):
        runs = [run.key for run in plan.runs] if plan else []
        if entry.run not in runs:
            yield Fault("Run", shown(entry.run), "a run of this wall's joint map")
    if isinstance(entry, GateEntry):
        yield from _gate(entry, wall, ground)
    if isinstance(entry, Override):
        yield from _override(entry, wall, ground)
    if isinstance(entry, TakeBack):
        yield from _taken_back(entry, wall, ground)
    text = getattr(entry, "text", None)
    if text is not None:
        read_forecast(text)


def _moments(entry: Entry, now: datetime) -> Iterator[Fault]:
    times = {"When": entry.at, "Written down": entry.noted}
    if isinstance(entry, ReEntryNote):
        times |= {"Last spraying ended": entry.sprayed, "Clearance reading": entry.clearance}
    for name, at in times.items():
        if at is not None and at > now + FUTURE:
            yield Fault(name, f"{at:%Y-%m-%d %H:%M} UTC, in the future", "now or earlier")
        if at is not None and at < EARLIEST:
            yield Fault(name, f"{at:%Y-%m-%d}", "a time since 2000")
    day = getattr(entry, "day", None)
    if day is not None and day > (now + FUTURE).astimezone().date():
        yield Fault("Day", f"{day:%Y-%m-%d}, in the future", "today or earlier")


def _bay(bay: str, plan: WallPlan | None, wall: str) -> Iterator[Fault]:
    if plan is None:
        yield Fault("Bay", shown(bay), "a bay of a wall: name the wall")
    elif bay not in plan.bay_depths:
        near = ", ".join(list(plan.bay_depths)[:8])
        yield Fault("Bay", shown(bay), f"a bay of {wall}: {near} ...")


def _gate(entry: GateEntry, wall: str, ground: Ground) -> Iterator[Fault]:
    """A step of the wall, or of the house where none is named; on a wall in order."""
    plan = ground.plans.get(wall)
    done = plan.steps if plan else () if wall else [work.step for work in HOUSE_WORKS]
    steps = {step.id: step for step in done}
    if entry.gate not in steps:
        yield Fault("Gate", shown(entry.gate), ", ".join(steps) or "a gate of a wall's plan")
        return
    for step in plan.steps if plan else ():
        if step.id == entry.gate:
            break
        if ground.log.standing(wall, step).state not in ("passed", "overridden"):
            allowed_ = f"the gate before it first: {step.title}"
            yield Fault("Gate", shown(steps[entry.gate].title), allowed_)
            return
    if steps[entry.gate].gate.reads in ("dry", "spray") and not ground.log.fresh_reading(
        entry.reading, wall, entry.at
    ):
        allowed_ = "a reading of this wall, taken in the 4 h before the gate is signed"
        yield Fault("Reading", shown(entry.reading or None), allowed_)


def _override(entry: Override, wall: str, ground: Ground) -> Iterator[Fault]:
    signed = ground.log.get(entry.gate_record)
    plan = ground.plans.get(wall)
    if signed is None or not isinstance(signed.entry, GateEntry) or signed.wall != wall:
        yield Fault("Failed gate", shown(entry.gate_record), "a gate signed on this wall")
    elif signed.passed:
        yield Fault("Failed gate", "a gate that passed", "a gate that failed")
    else:
        gate = signed.entry.gate
        step = next((s for s in plan.steps if s.id == gate), None) if plan else None
        if step is None or not step.gate.may_be_overridden:
            yield Fault("Failed gate", shown(gate), "a gate that readings decide")


def _taken_back(entry: TakeBack, wall: str, ground: Ground) -> Iterator[Fault]:
    """Only what stands can be taken back, and a taking back cannot."""
    taken = ground.log.get(entry.record)
    if taken is None or taken.wall != wall:
        yield Fault("Entry", shown(entry.record), "an entry of this wall's record")
    elif taken.amended_by or isinstance(taken.entry, TakeBack):
        yield Fault("Entry", "one that no longer counts", "an entry that stands")


def _plain(check: Check) -> dict[str, Any]:
    return {
        "key": check.key, "name": check.name, "figure": check.figure, "low": check.low,
        "high": check.high, "unit": check.unit, "state": check.state,
    }  # fmt: skip
