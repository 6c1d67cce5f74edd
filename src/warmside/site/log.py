"""What was written down, read back: days, gates as they stand, late entries, foam unguarded."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, Protocol, TypeVar

from pydantic import ValidationError

from warmside.catalog import Catalog, Source
from warmside.options import Step
from warmside.site.checks import Check, State, dry_checks, spray_checks
from warmside.site.entries import (
    ENTRIES,
    Adhesion,
    Core,
    DayStart,
    Entry,
    GateEntry,
    JointDone,
    Override,
    PlanChoice,
    Probe,
    Reading,
    ReEntryNote,
    Signature,
    TakeBack,
    UseEntry,
)
from warmside.site.foam_yield import Use
from warmside.site.samples import density, density_checks, thickness_checks

if TYPE_CHECKING:
    from warmside.site.plan import WallPlan

LATE_NOTED = timedelta(hours=4)  # between what happened and writing it down
LATE_SENT = timedelta(hours=24)  # between writing it down and its arrival
MAP = Source("the plan of this wall", "computed")
SPRAY_GATES = frozenset({"spray", "more-passes"})
FRESH = timedelta(hours=4)  # a gate rests on a reading no older than this
_ADDED = ("checks", "passed", "account_role")  # to an entry, when it is kept
Standing = Literal["open", "passed", "failed", "overridden"]
E_co = TypeVar("E_co", bound=Entry)


class Kept(Protocol):
    """A record as the store gives it back."""

    @property
    def id(self) -> str:
        """Of the record."""
        ...

    @property
    def kind(self) -> str:
        """What was noted, such as a reading or a gate."""
        ...

    @property
    def wall(self) -> str:
        """The wall it is of; empty for the house."""
        ...

    @property
    def data(self) -> Mapping[str, Any]:
        """What was typed, by field."""
        ...

    @property
    def replaces(self) -> str:
        """Id of the record it stands in for; empty for a first one."""
        ...

    @property
    def at(self) -> datetime:
        """When it was kept."""
        ...

    @property
    def who(self) -> str:
        """Account of whoever noted it."""
        ...


@dataclass(frozen=True)
class Noted:
    """One entry with how it came: ``received`` is when, ``who`` signed in as whom."""

    id: str
    kind: str
    wall: str
    entry: Entry
    replaces: str
    received: datetime
    who: str
    checks: tuple[Mapping[str, Any], ...] = ()  # of a gate
    passed: bool = False  # of a gate
    amended_by: str = ""  # id of the entry that corrects this one or takes it back
    account_role: str = ""  # of ``who`` at that time; "" where it was not kept

    @property
    def at(self) -> datetime:
        """When it happened."""
        return self.entry.at

    @cached_property
    def day(self) -> date:
        """The day on which it happened, as this computer's clock has it."""
        return self.at.astimezone().date()

    @property
    def late(self) -> str:
        """Why the entry counts as late, "" where it does not."""
        written = self.entry.noted or self.received
        if written - self.at > LATE_NOTED:
            return f"written down {_span(written - self.at)} after it happened"
        if self.received - written > LATE_SENT:
            return f"received {_span(self.received - written)} after it was written down"
        return ""


def _span(time: timedelta) -> str:
    hours = time.total_seconds() / 3600
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} days"


@dataclass(frozen=True)
class GateStanding:
    """How a gate of a wall stands; ``signed`` is the last signing, ``override`` what passed it."""

    state: Standing
    signed: Noted | None = None
    override: Noted | None = None


@dataclass(frozen=True)
class Log:
    """Everything noted of a job, in the order it was kept.

    Entries that were amended or taken back are marked, not left out.
    """

    entries: tuple[Noted, ...]

    @cached_property
    def _by_id(self) -> dict[str, Noted]:
        return {noted.id: noted for noted in self.entries}

    @cached_property
    def standing_entries(self) -> tuple[Noted, ...]:
        """Entries that no other corrects."""
        return tuple(noted for noted in self.entries if not noted.amended_by)

    def get(self, id: str) -> Noted | None:
        """The entry of that id."""
        return self._by_id.get(id)

    def reading(self, id: str) -> Reading | None:
        """The reading of that id, as it stands after amendments."""
        found = self._by_id.get(id)
        while found is not None and found.amended_by:
            found = self._by_id.get(found.amended_by)
        return found.entry if found is not None and isinstance(found.entry, Reading) else None

    def fresh_reading(self, id: str, wall: str, at: datetime) -> bool:
        """Whether the reading is of that wall or the house, and was taken just before ``at``."""
        found = self._by_id.get(id)
        if found is None or not isinstance(found.entry, Reading):
            return False
        return found.wall in ("", wall) and abs(at - found.at) <= FRESH

    @cached_property
    def _in_order(self) -> Mapping[tuple[str, str | None], tuple[Noted, ...]]:
        """Standing entries by kind and wall (None: all of the kind), earliest first."""
        found = defaultdict[tuple[str, str | None], list[Noted]](list)
        for noted in sorted(self.standing_entries, key=lambda noted: noted.at):
            found[noted.kind, noted.wall].append(noted)
            found[noted.kind, None].append(noted)
        return {key: tuple(some) for key, some in found.items()}

    @cached_property
    def _on_days(self) -> Mapping[date, tuple[Noted, ...]]:
        found = defaultdict[date, list[Noted]](list)
        for noted in sorted(self.entries, key=lambda noted: noted.at):
            found[noted.day].append(noted)
        return {day: tuple(some) for day, some in found.items()}

    def of(self, kind: str, wall: str | None = None) -> tuple[Noted, ...]:
        """Standing entries of a kind, of a wall (None: any), earliest first."""
        return self._in_order.get((kind, wall), ())

    @property
    def days(self) -> tuple[date, ...]:
        """Days on which anything happened, the last first."""
        return tuple(sorted(self._on_days, reverse=True))

    def on(self, day: date) -> tuple[Noted, ...]:
        """All entries of a day, amended ones too, by when they happened."""
        return self._on_days.get(day, ())

    def standing(self, wall: str, step: Step) -> GateStanding:
        """How the gate of a step stands on a wall: its last signing counts."""
        signed = [
            n
            for n in self.of("gate", wall)
            if isinstance(n.entry, GateEntry) and n.entry.gate == step.id
        ]
        if not signed:
            return GateStanding("open")
        last = signed[-1]
        if last.passed:
            return GateStanding("passed", last)
        for noted in self.of("override", wall):
            if isinstance(noted.entry, Override) and noted.entry.gate_record == last.id:
                return GateStanding("overridden", last, noted)
        return GateStanding("failed", last)

    def overrides(self) -> tuple[tuple[Noted, Noted], ...]:
        """Every override with the failed gate that it passed, for the close-out papers."""
        found = []
        for noted in self.of("override"):
            if isinstance(noted.entry, Override):
                gate = self.get(noted.entry.gate_record)
                if gate is not None:
                    found.append((gate, noted))
        return tuple(found)

    def unguarded(self, day: date | None = None) -> tuple[Noted, ...]:
        """Foam sprayed on a wall on a day (None: any) before its spray gate let it."""
        uses = self.of("use") if day is None else (n for n in self.on(day) if n.kind == "use")
        return tuple(n for n in uses if not n.amended_by and not self._guarded(n))

    def _guarded(self, use: Noted) -> bool:
        begun = self._let_by.get((use.wall, use.day))
        return begun is not None and begun <= use.at

    @cached_property
    def _let_by(self) -> Mapping[tuple[str, date], datetime]:
        """By wall and day, from when on foam may be sprayed."""
        overridden = {
            (noted.wall, noted.entry.gate_record)
            for noted in self.of("override")
            if isinstance(noted.entry, Override)
        }
        found: dict[tuple[str, date], datetime] = {}
        for noted in self.of("gate"):
            if not isinstance(noted.entry, GateEntry) or noted.entry.gate not in SPRAY_GATES:
                continue
            if noted.passed or (noted.wall, noted.id) in overridden:
                found.setdefault((noted.wall, noted.day), noted.at)
        return found

    def sealed(self, wall: str) -> frozenset[str]:
        """Keys of the runs whose last entry says sealed."""
        last: dict[str, str] = {}
        for noted in self.of("joint", wall):
            if isinstance(noted.entry, JointDone):
                last[noted.entry.run] = noted.entry.state
        return frozenset(run for run, state in last.items() if state == "sealed")

    def sealings(self, wall: str) -> dict[str, str]:
        """For each run that is sealed, the id of the entry that says so."""
        done = self.sealed(wall)
        return {
            noted.entry.run: noted.id
            for noted in self.of("joint", wall)
            if isinstance(noted.entry, JointDone) and noted.entry.run in done
        }

    def plan_choice(self) -> PlanChoice | None:
        """How the work is wanted, by the last that said so."""
        said = self.entries_as(PlanChoice)
        return said[-1] if said else None

    def uses(self) -> tuple[Use, ...]:
        """Foam used, as the yield is learned from it."""
        return tuple(
            Use(n.day.isoformat(), e.foam, e.lot, e.board_feet, e.sets,
                e.substrate_c)
            for n in self.of("use")
            if isinstance(e := n.entry, UseEntry)
        )  # fmt: skip

    def entries_as(self, kind: type[E_co], wall: str | None = None) -> tuple[E_co, ...]:
        """Typed entries of one kind, earliest first."""
        name = next(name for name, model in ENTRIES.items() if model is kind)
        return tuple(n.entry for n in self.of(name, wall) if isinstance(n.entry, kind))


def read_log(records: Iterable[Kept]) -> Log:
    """The log of a job's records; kinds of other rooms are passed over.

    Parameters
    ----------
    records : iterable
        As the store gives them back, corrected ones too, in the order they were kept.
    """
    noted: list[Noted] = []
    amended: dict[str, str] = {}
    for record in records:
        model = ENTRIES.get(record.kind)
        if model is None:
            continue
        data = {key: value for key, value in record.data.items() if key not in _ADDED}
        try:
            entry = model.model_validate(data)
        except ValidationError:  # of another program, or an older shape
            continue
        checks = tuple(record.data.get("checks", ()))
        passed = record.data.get("passed") is True
        noted.append(
            Noted(record.id, record.kind, record.wall, entry, record.replaces, record.at,
                  record.who, checks, passed,
                  account_role=str(record.data.get("account_role", "")))
        )  # fmt: skip
        if record.replaces:
            amended[record.replaces] = record.id
        if isinstance(entry, TakeBack):
            amended[entry.record] = record.id
    return Log(tuple(_marked(one, amended) for one in noted))


def _marked(noted: Noted, amended: Mapping[str, str]) -> Noted:
    if noted.id not in amended:
        return noted
    told = {name: getattr(noted, name) for name in noted.__dataclass_fields__}
    return Noted(**(told | {"amended_by": amended[noted.id]}))


def gate_checks(
    entry: GateEntry,
    wall: str,
    plans: Mapping[str, WallPlan],
    log: Log,
    catalog: Catalog,
    photos: Mapping[str, int] | None = None,
) -> tuple[Check, ...]:
    """What the gate's readings come to; none for a gate that a person clears by name.

    Parameters
    ----------
    entry : GateEntry
        The signing.
    wall : str
        Name of the wall.
    plans : mapping
        Plans by wall.
    log : Log
        What was noted before.
    catalog : Catalog
        Limits of the working day.
    photos : mapping, optional
        Photos taken before cover, by wall; not asked for when not given.
    """
    plan = plans.get(wall)
    step = next((s for s in plan.steps if s.id == entry.gate), None) if plan else None
    if plan is None or step is None:
        return ()
    if step.gate.reads == "quality":
        return quality_checks(plan, log, catalog, None if photos is None else photos.get(wall, 0))
    reading = log.reading(entry.reading)
    if reading is None:
        return ()
    if step.gate.reads == "spray":
        return spray_checks(reading, plan.family, catalog, plan.outside)
    sealed = [_all_sealed(plan, log)] if plan.runs_close(step) else []
    return (*dry_checks(reading, catalog), *sealed)


def _all_sealed(plan: WallPlan, log: Log) -> Check:
    """Whether every run of the joint map is ticked off."""
    done = len(log.sealed(plan.wall) & {run.key for run in plan.runs})
    state: State = "passed" if done == len(plan.runs) else "failed"
    return Check("runs_sealed", "Runs of the joint map sealed", float(done),
                 float(len(plan.runs)), None, "-", state, MAP)  # fmt: skip


def quality_checks(
    plan: WallPlan, log: Log, catalog: Catalog, photos: int | None = None
) -> tuple[Check, ...]:
    """Probes, cores, adhesion and photos of a wall against what was sold."""
    probes = [probe.thickness_m for probe in log.entries_as(Probe, plan.wall)]
    cores = [density(c.mass_kg, c.volume_m3) for c in log.entries_as(Core, plan.wall)]
    bonds = log.entries_as(Adhesion, plan.wall)
    thick = thickness_checks(probes, plan.thickness, plan.sprayed_area, catalog)
    bond = Check(
        "adhesion", "Adhesion cuts that broke in foam or wood", float(sum(b.good for b in bonds)),
        float(max(len(bonds), 1)), None, "-",
        "passed" if bonds and all(b.good for b in bonds) else "failed" if bonds else "not read",
        thick[0].source,
    )  # fmt: skip
    seen = () if photos is None else (
        Check("photos", "Photos before cover", float(photos), 1.0, None, "-",
              "passed" if photos else "failed", MAP),
    )  # fmt: skip
    return (*thick, *density_checks(cores, plan.family, catalog), bond, *seen)


@dataclass(frozen=True)
class DaySheet:
    """One day, gathered for the page and the close-out papers."""

    day: date
    head: DayStart | None
    readings: tuple[Noted, ...]
    others: tuple[Noted, ...]
    signatures: tuple[Noted, ...]
    late: tuple[Noted, ...]
    unguarded: tuple[Noted, ...]
    re_entry: ReEntryNote | None


def day_sheet(log: Log, day: date) -> DaySheet:
    """What was noted of one day; a day is the computer's own local date."""
    here = log.on(day)
    heads = [n.entry for n in log.of("day") if isinstance(n.entry, DayStart)
             and n.entry.day == day]  # fmt: skip
    notes = [n.entry for n in log.of("re-entry") if isinstance(n.entry, ReEntryNote)]
    rest = ("day", "reading", "signature", "re-entry", "forecast")
    signed = [n for n in log.of("signature") if isinstance(n.entry, Signature)
              and n.entry.day == day]  # fmt: skip
    return DaySheet(
        day,
        heads[-1] if heads else None,
        tuple(n for n in here if n.kind == "reading" and not n.amended_by),
        tuple(n for n in here if n.kind not in rest),
        tuple(signed),
        tuple(n for n in here if n.late),
        log.unguarded(day),
        notes[-1] if notes else None,
    )
