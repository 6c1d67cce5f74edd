"""The close-out: what was promised, what was measured, what was installed, what is left to do."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from warmside import drawings, units
from warmside.catalog import Foam, Source
from warmside.documents.close_out_views import CloseOutView, Row, WallProof
from warmside.documents.picture import Picture
from warmside.documents.readers import builder_style, head_of
from warmside.documents.typesetting import typeset
from warmside.options import Step
from warmside.proof import FanChange, MeasuredWall, ThermalProof
from warmside.site import Log, WallPlan, day_sheet, signed_by
from warmside.study import KeptPromise, Proven, ProvenWall
from warmside.study.report import Statement
from warmside.units import R_IMPERIAL
from warmside.wording import (
    PROMISES,
    SHEET,
    Sentence,
    Style,
    counted,
    figure_told,
    joined,
    listed,
    plain,
    raised,
)
from warmside.works import HouseWork, WorkItem, house_works

_RECEIPT = Source(
    "16 CFR 460.17: receipt part by part, R for the thickness installed by the product's own "
    "table; R of one inch is never multiplied",
    "published",
)
_READ = Source("Readings on site", "own figure")
_BARE = 1e-3  # [m] of foam below which a bay counts as empty
_SAME = 0.006  # [m] within which bays are one part of the receipt
CARE = (
    "Where a nail or a screw went through foam, seal the hole with the sealant of the same kind.",
    "New cables and pipes go through sealed holes; tell whoever opens the wall that foam is in it.",
    "Keep the fans running that fresh air depends on, and clean their grilles twice a year.",
    "Watch the wood that was wet: a reading each autumn, until it is below 19 % twice running.",
    "Foam stays covered. Where a finish is taken off, it goes back before the room is used.",
    "Keep this paper with the house: an inspector, a buyer or an insurer may ask for it.",
)


@dataclass(frozen=True)
class SitePhoto:
    """A photo of the wall before or after: JPEG bytes and what it shows."""

    wall: str
    caption: str
    jpeg: bytes
    width: int  # [pixel]
    height: int  # [pixel]


def close_out(view: CloseOutView) -> bytes:
    """The close-out as a tagged PDF (PDF/UA-1, PDF/A-2a)."""
    return typeset("close_out", view, view.date)


def close_out_view(
    proven: Proven,
    today: date,
    *,
    prepared_by: str = "",
    log: Log | None = None,
    photos: Sequence[SitePhoto] = (),
    re_entry: str = "",
    plans: Sequence[WallPlan] = (),
) -> CloseOutView:
    """Everything that the close-out shows.

    Parameters
    ----------
    proven : Proven
        The house after the work.
    today : date
        Date of the paper.
    prepared_by : str
        The contractor's name and licence.
    log : Log, optional
        Day records and overrides; the paper says where there are none.
    photos : sequence of SitePhoto
        Before and after.
    re_entry : str
        When people came back, and by what.
    plans : sequence of WallPlan
        How the walls were to be done: what the day record is counted against.
    """
    currency, style = proven.study.prices.currency, builder_style(proven.study.outside.climate)
    receipt = tuple(_receipt(proven))
    return CloseOutView(
        **head_of(proven.study, today),
        prepared_by=prepared_by,
        synthetic=proven.measured.synthetic,
        headline=tuple(_headline(proven, log, plans)),
        promises=tuple(_sum(proven, promise) for promise in PROMISES),
        receipt=receipt,
        receipt_note=_note(
            "Each part by itself, with the R of the product for the thickness installed; parts "
            "are not added together, and the R of one inch is not multiplied.",
            _RECEIPT,
        ),
        house_kept=tuple(_kept(k, currency, style) for k in proven.house),
        house_works=tuple(_once(proven, log)),
        walls=tuple(_wall(w, proven, photos, log) for w in proven.walls),
        probes=tuple(_probes(proven)),
        density=tuple(_density(proven)),
        fan=tuple(_fan(proven.measured.fan, proven.study.survey.house.volume, style)),
        remedies=tuple(_remedies(proven)),
        remedy_sum=_remedy_sum(proven),
        days=tuple(_days(log)),
        overrides=tuple(_overrides(log)),
        re_entry=re_entry,
        care=CARE,
    )


def _note(text: str, *sources: Source) -> Statement:
    return Statement(plain(text), sources)


def _headline(proven: Proven, log: Log | None, plans: Sequence[WallPlan]) -> Iterator[Statement]:
    """What was recorded and what was measured, in this order; nothing of what was planned."""
    yield _note(_recorded(log, plans))
    yield _note(_measured(proven))
    unfinished = [plan.wall for plan in plans if not _finished(plan, log)]
    if unfinished:
        yield _note(f"Not recorded as finished: {', '.join(unfinished)}.")
    short = [k for k in proven.kept if k.verdict == "falls short" and k.basis != "as proposed"]
    money = [kept for kept in short if kept.promise == "worth it"]
    for kept in short:
        if kept not in money:
            yield _note(f"{kept.wall or 'house'}: {raised(kept.reason)}", kept.source)
    if money:  # two findings a wall would hide the wet wood and the empty bay among them
        where = listed(list(dict.fromkeys(kept.wall or "the whole house" for kept in money)))
        yield _note(
            f"The savings stay below the price, or come after the years counted: {where}. "
            "The figures stand with each wall.",
            *dict.fromkeys(kept.source for kept in money),
        )
    fan = proven.measured.fan
    if fan is not None:
        volume = proven.study.survey.house.volume
        before, after = (h.air_change_50(volume).best for h in (fan.before, fan.after))
        yield _note(
            f"The fan test fell from {before:.1f} to {after:.1f} air changes an hour at 50 Pa.",
            _READ,
        )
    worth = [k for k in proven.house if k.promise == "worth it" and k.verdict == "falls short"]
    for kept in worth:
        if kept not in short:
            currency = proven.study.prices.currency
            text = _grouped(raised(kept.reason), currency)
            yield _note(f"Computed, not measured: {text}", kept.source)
    if proven.remedies:
        yield _note(f"Still to be done: {_remedy_sum(proven)}. See What is left to do.")


def _recorded(log: Log | None, plans: Sequence[WallPlan]) -> str:
    """What the day record holds: gates passed, joints sealed, walls with foam."""
    if log is None or not log.entries:
        return "No day record was kept: nothing says here what was done."
    passed = sum(log.standing(p.wall, s).state in _LET for p in plans for s in p.steps)
    sealed = sum(len(log.sealed(p.wall) & {run.key for run in p.runs}) for p in plans)
    gates, joints = (sum(len(part) for part in parts)
                     for parts in ((p.steps for p in plans), (p.runs for p in plans)))  # fmt: skip
    sprayed = len({noted.wall for noted in log.of("use")})
    foam = f", foam used on {counted(sprayed, 'wall')}" if sprayed else ""
    return (
        f"Recorded: {passed} of {counted(gates, 'gate')} passed, "
        f"{sealed} of {counted(joints, 'joint')} sealed{foam}."
    )


_LET = ("passed", "overridden")


def _finished(plan: WallPlan, log: Log | None) -> bool:
    """Whether every gate of a wall was passed or let through, and every joint sealed."""
    if log is None:
        return False
    gates = all(log.standing(plan.wall, step).state in _LET for step in plan.steps)
    return gates and {run.key for run in plan.runs} <= log.sealed(plan.wall)


def _measured(proven: Proven) -> str:
    """What was measured, and how that came out."""
    walls = [w.wall.wall.name for w in proven.walls if w.measured.bays or w.measured.thickness]
    what = [counted(len(walls), "wall")] if walls else []
    what += ["the air leakage"] if proven.measured.fan is not None else []
    if not what:
        return "Nothing was measured: no promise is proven."
    found = [k for k in proven.kept if k.basis != "as proposed"]
    short = sum(k.verdict == "falls short" for k in found)
    came = counted(short, "promise falls", "promises fall") if short else "no promise falls"
    return f"Measured: {listed(what)}. By that {came} short."


def _sum(proven: Proven, promise: str) -> Row:
    verdicts = [k.verdict for k in proven.kept if k.promise == promise]
    return {
        "promise": promise,
        "verdict": proven.verdict(promise),
        "holds": verdicts.count("holds"),
        "short": verdicts.count("falls short"),
        "person": verdicts.count("needs a person"),
    }


# --- the receipt


def _receipt(proven: Proven) -> Iterator[Row]:
    """One row for every wall and thickness in it."""
    for wall in proven.walls:
        option = wall.promised.option
        if not option.foam:
            continue
        foam = proven.study.catalog.foam(option.foam)
        groups = _groups(wall)
        for thickness, names, how in groups:
            where = "" if len(groups) == 1 or len(names) > 4 else f", {', '.join(names)}"
            yield {
                "part": f"{wall.wall.wall.name}{where}",
                "product": foam.name if thickness >= _BARE else "no foam",
                "area": SHEET(sum(wall.areas[name] for name in names), "area"),
                "thickness": f"{units.show(thickness, 'length')} ({thickness * 1e3:.0f} mm)",
                "resistance": _table_r(foam, thickness),
                "how": how,
                "sources": (foam.source_heat,),
            }


def _groups(wall: ProvenWall) -> list[tuple[float, list[str], str]]:
    """Bays of about one thickness: its mean by area [m], their names, how it is known."""
    bays = wall.measured.bays
    planned = wall.promised.option.thickness
    if not bays:
        names = [bay.name for bay in wall.wall.frame.bays]
        return [(planned, names, "as planned, not measured")]
    rows: list[tuple[float, list[str], str]] = []
    left = sorted(bays, key=lambda b: -b.thickness)
    while left:
        top = left[0].thickness
        group = [b for b in left if top - b.thickness <= 2 * _SAME]
        left = left[len(group) :]
        areas = [wall.areas[b.bay] for b in group]
        mean = float(np.average([b.thickness for b in group], weights=areas))
        rows.append((mean, [b.bay for b in group], ", ".join(dict.fromkeys(b.how for b in group))))
    return rows


def _table_r(foam: Foam, thickness: float) -> str:
    """R for the thickness, by the product's own table of conductivity by thickness."""
    if thickness < _BARE:
        return "none"
    rsi = thickness / foam.conductivity(thickness)
    return f"R-{rsi / R_IMPERIAL:.1f} (RSI {rsi:.2f})"


# --- promises


def _kept(kept: KeptPromise, currency: str, style: Style) -> Row:
    found = _shown(kept.measured, kept, style)
    return {
        "promise": kept.promise,
        "name": kept.name,
        "promised": _shown(kept.promised, kept, style),
        "measured": found if kept.basis == "measured" else "",
        "computed": found if kept.basis != "measured" else "",
        "limit": _limit(kept, style),
        "verdict": kept.verdict,
        "basis": kept.basis,
        "reason": _grouped(raised(kept.reason), currency),
        "sources": (kept.source,),
    }


def _shown(value: float | None, kept: KeptPromise, style: Style) -> str:
    """A figure of a promise, no finer than the sentence beside it tells it."""
    return "" if value is None else style.figure(figure_told(value, kept.unit, kept.told))


def _grouped(text: str, currency: str) -> str:
    """``CAD 38258`` as ``CAD 38,258``, wherever money in that currency is told."""
    told = rf"(?<={re.escape(currency)} )-?\d{{4,}}\b"
    return re.sub(told, lambda m: f"{int(m[0]):,}", text) if currency else text


def _limit(kept: KeptPromise, style: Style) -> str:
    if kept.limit is None or kept.limit_is == "none":
        return ""
    return f"at {kept.limit_is} {_shown(kept.limit, kept, style)}"


def _wall(
    wall: ProvenWall,
    proven: Proven,
    photos: Sequence[SitePhoto],
    log: Log | None,
) -> WallProof:
    part, currency = wall.measured, proven.study.prices.currency
    name = wall.wall.wall.name
    rests = [k for k in wall.kept if k.basis != "as proposed" or k.verdict == "falls short"]
    return WallProof(
        name=name,
        option=wall.promised.option.name,
        kept=tuple(_kept(k, currency, builder_style(proven.study.outside.climate)) for k in rests),
        pictures=tuple(difference_picture(p, wall) for p in part.pictures),
        remarks=(
            *(_note(text) for p in part.pictures for text in p.remarks),
            *(_note(f"{one.file} is not counted: {one.why}.") for one in part.lost),
        ),
        rules=tuple(_rules(part)),
        readings=tuple(
            _note(f"{r.reading.day}, {r.reading.where}: {r.why}", r.source) for r in part.moisture
        ),
        photos=tuple(_photo(p) for p in photos if p.wall == name),
        works=tuple(_works(wall, log)),
    )


def _works(wall: ProvenWall, log: Log | None) -> Iterator[Row]:
    """What findings asked for on this wall."""
    for item in wall.promised.works:
        signed = _signed(log, wall.wall.wall.name, item.step)
        yield _work(item, item.quantities[0].how, signed)


def _once(proven: Proven, log: Log | None) -> Iterator[Row]:
    """What is done once for the house."""
    foam = any(wall.promised.option.foam for wall in proven.walls)
    for work in house_works(foam, not proven.study.survey.house.spill_free):
        yield _work(work, joined(work.step.do), _signed(log, "", work.step))


def _work(work: WorkItem | HouseWork, what: Sentence, signed: str) -> Row:
    told = {"accepted": work.accepted, "warranty": work.warranty}
    return {"name": work.name, "what": what, "signed": signed} | told


def _signed(log: Log | None, wall: str, step: Step) -> str:
    """Who closed a step's gate, and when; what nobody signed is said to be open."""
    standing = log.standing(wall, step) if log else None
    if standing is None or standing.signed is None or standing.state not in _LET:
        return "not signed"
    return f"{signed_by(standing.signed)}, {standing.signed.at:%Y-%m-%d}"


def _rules(part: MeasuredWall) -> Iterator[Statement]:
    for picture in part.pictures[:1]:
        for rule in picture.rules:
            met = {True: "met", False: "NOT met", None: "not noted"}[rule.met]
            yield _note(f"{rule.what}: {rule.read}, {rule.asked} ({met})", rule.source)


def difference_picture(picture: ThermalProof, wall: ProvenWall) -> Picture:
    """The difference map of one picture, with what a person must know written into it."""
    frame = wall.wall.frame
    rects = {bay.name: bay.rect for bay in frame.bays}
    bays = [
        drawings.MarkedBay(
            rects[b.bay],
            f"{b.bay}: {b.deviation or 0.0:+.1f} K, {(b.thickness or 0.0) * 1e3:.0f} mm",
            b.seen == "colder",
        )
        for b in picture.bays
        if b.seen in ("colder", "warmer")
    ]
    leaks = {j.joint: j for j in wall.measured.leaks}
    joints = [
        drawings.MarkedJoint(j.at[0], j.at[1], f"leak, {j.kind}")
        for j in leaks.values()
        if j.at is not None
    ]
    svg = drawings.difference_map(
        difference_thermal(picture), frame, bays, joints,
        title=f"{picture.wall}: measured less predicted",
        conditions=f"{wall.promised.option.name}; offset of the camera taken off "
        f"({picture.offset:+.1f} K)",
        width=520.0, max_height=230.0,
    )  # fmt: skip
    return Picture.of(svg)


def difference_thermal(picture: ThermalProof) -> drawings.Thermal:
    """Measured less predicted as the drawings take a surface."""
    values = picture.difference.T
    there = np.isfinite(values)
    step = picture.x[1] - picture.x[0], picture.z[1] - picture.z[0]
    edges = [
        np.concatenate([c - s / 2, [c[-1] + s / 2]])
        for c, s in zip((picture.x, picture.z), step, strict=True)
    ]
    return drawings.Thermal(edges[0], edges[1], np.where(there, values, 0.0), there)


def _photo(photo: SitePhoto) -> Picture:
    """A photo as an SVG that carries it, so that papers take it like a drawing."""
    data = base64.b64encode(photo.jpeg).decode("ascii")
    size = f'width="{photo.width}" height="{photo.height}"'
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} href="data:image/jpeg;base64,{data}"/></svg>'
    )
    return Picture(svg, photo.caption or f"Photo of {photo.wall}")


# --- measures of the house


def _probes(proven: Proven) -> Iterator[Row]:
    for wall in proven.walls:
        found = wall.measured.thickness
        if found is None or found.found is None:
            continue
        yield {
            "wall": found.wall,
            "rule": found.rule,
            "sold": f"{found.sold * 1e3:.0f} mm",
            "probes": f"{found.found.count} of {found.asked}",
            "mean": f"{found.found.mean * 1e3:.0f} mm",
            "least": f"{found.found.least * 1e3:.0f} mm",
            "verdict": found.verdict,
            "why": _sure(found.found.count, found.share_above or 0.0),
        }


def _sure(count: int, share: float) -> str:
    """How much of the wall the probes speak for, with 90 % confidence."""
    probes = counted(count, "probe")
    if share < 0.75:
        few = "is too few" if count == 1 else "are too few"
        return f"{probes} {few}: only about {share:.0%} of the wall is sure to be this thick."
    return f"{probes}: about {share:.0%} of the wall is sure to be this thick."


def _density(proven: Proven) -> Iterator[Statement]:
    found = proven.measured.density
    if found is None:
        yield _note("No core was cut.")
        return
    told = ", ".join(f"{v:.0f}" for v in found.densities)
    yield _note(f"Cores by water displacement: {told} kg/m³: {found.verdict}.")
    for check in found.checks:
        least = f", at least {check.low:g} {raised(check.unit)}" if check.low is not None else ""
        figure = "not read" if check.figure is None else f"{check.figure:.3g}"
        yield _note(f"{check.name}: {figure}{least} ({check.state}).", check.source)
    for text in found.remarks:
        yield _note(text)


def _fan(fan: FanChange | None, volume: float, style: Style) -> Iterator[Statement]:
    if fan is None:
        yield _note("No fan test after the work, or none before it: tightness is not proven.")
        return
    for when, leakage in (("Before", fan.before), ("After", fan.after)):
        flow, change = leakage.flow_50, leakage.air_change_50(volume)
        yield _note(
            f"{when}: {style(flow.best, 'flow')} at 50 Pa ({style(flow.low, 'flow')} to "
            f"{style(flow.high, 'flow')}), {change.best:.1f} air changes an hour. {leakage.basis}",
            _READ,
        )
    sure = "more" if fan.surely else "not more"
    yield _note(
        f"{fan.removed:.0%} of the leakage is gone ({fan.removed_low:.0%} to "
        f"{fan.removed_high:.0%} with 95 % confidence), {sure} than two tests scatter."
    )
    if fan.explained is not None:
        agree = "agree" if fan.as_reckoned else "do not agree"
        yield _note(
            f"The sealed joints were reckoned to hold {fan.joints.best:.0%} "
            f"({fan.joints.low:.0%} to {fan.joints.high:.0%}): {fan.explained:.0%} of what is "
            f"gone; both {agree} within their bands."
        )
    for text in fan.remarks:
        yield _note(text)


def _remedies(proven: Proven) -> Iterator[Row]:
    for r in proven.remedies:
        feet, metres = (f"{amount:.1f}" if amount else "" for amount in (r.board_feet, r.joint))
        yield {"wall": r.wall, "where": r.where, "what": r.what, "board_feet": feet,
               "metres": metres, "why": r.why}  # fmt: skip


def _remedy_sum(proven: Proven) -> str:
    if not proven.remedies:
        return "nothing"
    feet = sum(r.board_feet for r in proven.remedies)
    metres = sum(r.joint for r in proven.remedies)
    looks = sum(not r.foam and not r.joint for r in proven.remedies)
    parts = [f"{feet:.0f} board feet of foam" if feet else "",
             f"{metres:.1f} m of joint" if metres else "",
             f"{looks} places to open" if looks else ""]  # fmt: skip
    return ", ".join(part for part in parts if part)


# --- the day records


def _days(log: Log | None) -> Iterator[Row]:
    for day in reversed(log.days if log else ()):
        sheet = day_sheet(log, day) if log else None
        if sheet is None:
            continue
        names = ", ".join(m.name for m in sheet.head.crew) if sheet.head else "no crew noted"
        signed = ", ".join(map(signed_by, sheet.signatures)) or "nobody"
        text = (
            f"{names}; {counted(len(sheet.readings), 'reading')}, "
            f"{counted(len(sheet.others), 'other entry')}; "
            f"signed by {signed}"
        )
        if sheet.unguarded:
            text += f"; {counted(len(sheet.unguarded), 'time')} foam without a passed gate"
        late = f"{counted(len(sheet.late), 'entry')} late" if sheet.late else ""
        yield {"day": day.isoformat(), "text": text, "late": late}


def _overrides(log: Log | None) -> Iterator[Row]:
    for gate, noted in log.overrides() if log else ():
        entry = noted.entry
        yield {
            "gate": f"{getattr(gate.entry, 'gate', 'gate')}, {gate.wall or 'house'}",
            "who": signed_by(noted),
            "reason": str(getattr(entry, "reason", "")),
        }
