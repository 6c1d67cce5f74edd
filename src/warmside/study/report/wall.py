"""What is reported of one wall: facts, what was found, what comes first, every option."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from warmside.catalog import Source
from warmside.physics.assembly import Layer
from warmside.promises import Finding, banded
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.report.parts import (
    Fact,
    Line,
    Statement,
    Sum,
    cents,
    sums,
    takeoff_lines,
)
from warmside.wording import (
    OPEN,
    PROMISES,
    WORST,
    Figure,
    Sentence,
    Standing,
    Verdict,
    counted,
    joined,
    lowered,
    say,
)

_NOTICED = 1e-3  # [kg/m2] less water than this is none


@dataclass(frozen=True)
class FindingReport:
    """A finding, its figure and limit ready to be written."""

    promise: str
    name: str
    figure: Figure | None
    limit: Figure | None
    limit_is: str
    verdict: Verdict
    reason: Sentence
    change: Sentence
    source: Source


@dataclass(frozen=True)
class OptionReport:
    """One option of a wall; a refused one has reasons and no verdicts worth reading."""

    id: str
    name: str
    built: bool
    keeps: bool
    refusals: tuple[str, ...]
    cautions: tuple[str, ...]
    resistance: Figure  # of the whole framed wall, by its field where that was solved
    between: Figure | None  # of the insulation between the studs alone
    parallel: Figure  # of the whole framed wall by parallel paths
    planes: Figure  # ... by isothermal planes
    combined: Figure  # ... by ISO 6946
    coldest: Figure
    coldest_is: Verdict
    water: Sentence  # most of a year's monthly balance, and how it ends
    water_is: Verdict
    foam: Figure | None  # that stays in the wall
    saving: Figure | None  # a year
    price: str  # to the cent; "" where there is none
    field: bool
    verdicts: dict[str, Standing]
    findings: tuple[FindingReport, ...]
    sources: tuple[Source, ...]  # of its insulation


@dataclass(frozen=True)
class WallReport:
    """One wall; the first of its options is the wall as found."""

    name: str
    chosen: str  # id
    why: Sentence
    price: str  # of what is put forward, or why it has none
    verdicts: dict[str, Standing]  # of the option recommended
    facts: tuple[Fact, ...]
    found: tuple[Statement, ...]
    mend_first: tuple[Statement, ...]
    takeoff: tuple[Line, ...]
    sums: tuple[Sum, ...]
    options: tuple[OptionReport, ...]


def wall_report(wall: WallStudy, currency: str, told: Collection[str] = PROMISES) -> WallReport:
    """Everything that is shown of one wall.

    Parameters
    ----------
    wall : WallStudy
        The wall studied.
    currency : str
        Of its prices.
    told : collection of str
        Promises whose findings are told of its options, beside verdicts and figures.
    """
    chosen = wall.chosen
    return WallReport(
        name=wall.wall.name,
        chosen=wall.chosen_id,
        why=wall.why_chosen,
        price=_asked(chosen),
        verdicts={p: chosen.verdict(p) for p in PROMISES},
        facts=_facts(wall),
        found=tuple(_found(wall)),
        mend_first=tuple(_mend_first(chosen)),
        takeoff=takeoff_lines(chosen.quantities, chosen.price),
        sums=sums(chosen.price) if chosen.price else (),
        options=tuple(option_report(option, currency, told) for option in wall.options),
    )


def _asked(option: OptionStudy) -> str:
    """What is left costs nothing; what another trade mends first has no price yet."""
    if option.price is not None:
        return cents(option.price.total)
    return "not known yet" if option.option.kind.mends else "nothing to be done"


def _facts(wall: WallStudy) -> tuple[Fact, ...]:
    frame = wall.frame

    def length(value: float) -> Figure:
        return Figure(value, "size")

    return (
        Fact("Size", say("{l} × {h}", l=length(frame.length), h=length(frame.height))),
        Fact("Without openings", say("{area}", area=Figure(frame.net_area, "area"))),
        Fact(
            "Studs",
            say(
                "{width} × {depth} at {spacing}",
                width=length(frame.stud_width),
                depth=length(frame.depth),
                spacing=length(wall.wall.spacing),
            ),
        ),
        Fact(
            "Framing share", say("{share} of the area", share=Figure(frame.framing_share, "share"))
        ),
        Fact(
            "Joints to seal",
            say("{run}", run=Figure(sum(joint.length for joint in frame.joints), "span")),
        ),
    )


def bay_layers(option: OptionStudy) -> tuple[Layer, ...]:
    """Layers of the bay that covers most of the wall, from the room outwards."""
    bays = [s for s in option.build_up.stacks if s.kind == "bay"] or option.build_up.stacks
    return max(bays, key=lambda s: s.area).sheets


def _found(wall: WallStudy) -> list[Statement]:
    found, frame, layers = wall.wall.found, wall.frame, bay_layers(wall.as_found)
    names = ", ".join(layer.name.lower() for layer in layers)
    sources = wall.as_found.build_up.sources
    notes = [
        Statement(
            say("Room to outside: {layers}.", layers=names),
            tuple(sources[layer.material].heat for layer in layers),
        )
    ]
    if found.fill and found.fill_state != "dry":
        notes.append(Statement(say("The fill was found {state}.", state=found.fill_state)))
    if frame.pockets:
        whys = "; ".join(dict.fromkeys(pocket.why for pocket in frame.pockets))
        count = counted(len(frame.pockets), "pocket")
        text = say("{count} that foam does not reach: {why}.", count=count, why=whys)
        notes.append(Statement(text))
    return notes


def _mend_first(chosen: OptionStudy) -> list[Statement]:
    """What a person must do before, worst first; the official's questions and money stand apart."""
    open_ = [
        f for f in chosen.findings if f.verdict in OPEN and f.promise not in ("legal", "worth it")
    ]
    gates = [f for f in open_ if f.key.startswith(("hazard", "wood_moisture", "pocket"))]
    rest = [f for f in open_ if f not in gates and f.verdict == "falls short"]
    order = sorted([*gates, *rest], key=lambda f: WORST.index(f.verdict))
    presumed = [f for f in order if _hazard_state(f) == "presumed"]
    notes = [Statement(_briefly(f), (f.source,)) for f in order if f not in presumed]
    if presumed:
        text = say(
            "Presumed in a house of this age until somebody looks: {what} (see Before any work "
            "starts).",
            what="; ".join(lowered(f.name) for f in presumed),
        )
        notes.append(Statement(text, tuple(dict.fromkeys(f.source for f in presumed))))
    return notes


def _hazard_state(finding: Finding) -> str:
    """Whether a hazard is suspected, found or presumed; "" for what is no open hazard."""
    parts = dict(finding.reason.parts)
    return str(parts.get("state", "")) if finding.key.startswith("hazard") else ""


def _briefly(finding: Finding) -> Sentence:
    """A hazard by its first clause, since the first pages tell it whole; the rest as found."""
    if finding.key.startswith("hazard"):
        what = str(finding.reason).partition(". It stops:")[0]
        return say("{what} (see Before any work starts).", what=what)
    return joined([finding.reason, finding.change])


def option_report(
    option: OptionStudy, currency: str, told: Collection[str] = PROMISES
) -> OptionReport:
    """One option of a wall, with its findings of the promises ``told``."""
    saved, heat = option.worth.money if option.price else None, option.warm.heat
    between, sources = _between(option)
    net = next((q for q in option.quantities if q.group == "foam_net"), None)
    return OptionReport(
        id=option.option.id,
        name=option.option.name,
        built=option.build_up.can_be_built,
        keeps=option.keeps_its_promises,
        refusals=tuple(f"{r.reason} Instead: {r.instead}" for r in option.build_up.refusals),
        cautions=tuple(option.build_up.cautions),
        resistance=Figure(option.warm.resistance, "resistance"),
        between=Figure(between, "resistance") if sources else None,
        parallel=Figure(heat.upper, "resistance"),
        planes=Figure(heat.lower, "resistance"),
        combined=Figure(heat.resistance, "resistance"),
        coldest=Figure(option.warm.coldest.surface, "temperature"),
        coldest_is=_judged(option.warm.findings),
        water=_water(option),
        water_is=_judged(option.dry.findings),
        foam=net.figure if net and net.amount else None,
        saving=banded(saved, "money", currency) if saved else None,
        price=cents(option.price.total) if option.price else "",
        field=option.warm.field is not None,
        verdicts={p: option.verdict(p) for p in PROMISES},
        findings=tuple(finding_report(f) for f in option.findings if f.promise in told),
        sources=sources,
    )


def _between(option: OptionStudy) -> tuple[float, tuple[Source, ...]]:
    """Resistance of the insulation between the studs [m2 K/W], and where it is from."""
    insulation = [x for x in bay_layers(option) if x.role in ("foam", "fill", "board")]
    rows = [(x.material, x.thickness / x.conductivity) for x in insulation if x.conductivity]
    sources = [option.build_up.sources[material].heat for material, _ in rows]
    return sum(resistance for _, resistance in rows), tuple(dict.fromkeys(sources))


def _judged(findings: tuple[Finding, ...]) -> Verdict:
    """The worst verdict of the findings; 'holds' where there is none."""
    verdicts = {finding.verdict for finding in findings}
    return next((verdict for verdict in WORST if verdict in verdicts), "holds")


def _water(option: OptionStudy) -> Sentence:
    worst = option.dry.worst
    if worst.peak < _NOTICED:
        # a verdict is never gainsaid by the monthly sum beside it
        return say("stays dry" if option.verdict("dry") == "holds" else "none by diffusion")
    ends = "dries" if worst.dries else "stays wet"
    return say("{water}, {ends}", water=Figure(worst.peak, "water"), ends=ends)


def finding_report(finding: Finding) -> FindingReport:
    """A finding as pages and papers show it."""
    figure, limit = finding.shown
    return FindingReport(
        promise=finding.promise,
        name=finding.name,
        figure=figure,
        limit=limit,
        limit_is=finding.limit_is,
        verdict=finding.verdict,
        reason=finding.reason,
        change=finding.change,
        source=finding.source,
    )
