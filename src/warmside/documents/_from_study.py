"""From a study to the plain data that the proposal shows: texts, figures, numbered sources."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from warmside import drawings, units
from warmside.catalog import Source
from warmside.catalog._hazards import hazard_rows
from warmside.documents._view import (
    ELEVATION_SIZE,
    SECTION_SIZE,
    Fact,
    Figure,
    Gate,
    Note,
    OptionRow,
    Picture,
    ProposalView,
    Reference,
    Sum,
    SummaryRow,
    TakeoffRow,
    WallPage,
)
from warmside.estimate import Price, Quantity
from warmside.options import Layer
from warmside.physics.moisture import MonthlyBalance
from warmside.promises import Finding, Verdict
from warmside.study import OptionStudy, Study, WallStudy

_METHODS = Source(
    "ISO 6946: mean of the parallel-path and layer-by-layer limits; surface films 0.13 and 0.04",
    "from memory",
)
_FILMS = Source("EN ISO 13788: surface film 0.25 m2 K/W where humidity is judged", "from memory")
_YEAR = Source("EN ISO 13788: monthly balance of condensation and drying", "from memory")
_NOMINAL = Source("16 CFR 460: R of the insulation alone, for the thickness installed", "published")
_AUTUMN = 9  # charts of a year begin in September
_CAUTIONS = (
    "Spraying foam releases isocyanates. Nobody but the protected crew is in the house while it is "
    "sprayed and until the time in the product's listing has passed.",
    "Foam burns. It is covered from every room, and kept from chimneys, flues and lights.",
    "A tighter house needs planned ventilation. Appliances that draw their air from the house are "
    "tested for spillage and carbon monoxide by a licensed person before and after the work.",
    "Foam is no bracing and carries no load. Cut or rotten framing is for a competent person.",
    "The figures are computed from the survey. Hidden rot, wiring or water may change them and the "
    "price; work stops and the client is told before it goes on.",
    "Local code, the building official and licensed trades decide wherever they differ from this "
    "paper.",
)


@dataclass
class _References:
    """Sources numbered in the order in which they are first used."""

    numbers: dict[Source, int] = field(default_factory=dict)

    def to(self, *sources: Source) -> tuple[int, ...]:
        """Numbers of the sources, new ones added."""
        return tuple(
            dict.fromkeys(self.numbers.setdefault(s, len(self.numbers) + 1) for s in sources)
        )

    def listed(self) -> tuple[Reference, ...]:
        return tuple(Reference(source.text, source.tag) for source in self.numbers)


def proposal_view(study: Study, today: date, prepared_by: str = "") -> ProposalView:
    """Everything the proposal shows, as plain data.

    Parameters
    ----------
    study : Study
        The house studied.
    today : date
        Date of the paper.
    prepared_by : str
        The contractor's name and licence, as it is to be printed.

    Returns
    -------
    ProposalView
        For ``proposal``.
    """
    refs = _References()
    columns = {
        "nominal": refs.to(_NOMINAL),
        "combined": refs.to(_METHODS),
        "parallel": refs.to(_METHODS),
        "planes": refs.to(_METHODS),
        "coldest": refs.to(_FILMS),
        "year": refs.to(_YEAR),
    }
    house = study.survey.house
    walls = tuple(_wall(w, study, refs) for w in study.walls)
    return ProposalView(
        house=house.name,
        place=house.place,
        client=house.client,
        date=today,
        prepared_by=prepared_by,
        headline=_headline(study, refs),
        conditions=_conditions(study),
        summary=tuple(_summary(w) for w in study.walls),
        totals=_sums(study.price, study.price.top_up),
        walls=walls,
        gates=tuple(_gates(study)),
        assumptions=_assumptions(study, refs),
        cautions=(
            *(Note(text) for text in _CAUTIONS),
            *(Note(f"{pack.name}: {pack.closing}") for pack in study.packs),
        ),
        sources=refs.listed(),
        column_refs=columns,
        price_list=study.prices.title,
        prices_invented=study.prices.invented,
        valid="30 days from the date above",
    )


def _headline(study: Study, refs: _References) -> tuple[Note, ...]:
    """What a client reads first: what it costs, what it does, what comes before, what is open."""
    area = sum(w.frame.net_area for w in study.walls)
    now = area / sum(w.frame.net_area / w.as_found.warm.resistance for w in study.walls)
    after = area / sum(w.frame.net_area / w.chosen.warm.resistance for w in study.walls)
    coldest_now = min(w.as_found.warm.coldest.surface for w in study.walls)
    coldest_after = min(w.chosen.warm.coldest.surface for w in study.walls)
    gates = sum(h.state != "cleared" for h in study.survey.hazards)
    notes = [
        Note(
            f"The {len(study.walls)} outside walls lose {now / after:.0%} of the heat they lose "
            f"now: their whole framed resistance rises from {_r(now).text} to {_r(after).text}.",
            refs.to(_METHODS),
        ),
        Note(
            f"On the design night at {_c(study.outside.design)} the coldest place on the room side "
            f"warms from {_c(coldest_now)} to {_c(coldest_after)}.",
            refs.to(_FILMS),
        ),
        Note(f"Price of the work as put forward, taxes included: {_money(study.price)}."),
    ]
    if gates:
        notes.append(
            Note(
                f"{gates} hazards stand before the work: each stops it until the person named on "
                "the next pages has cleared it. Clearing them is not in the price."
            )
        )
    if study.price.missing:
        notes.append(Note(f"Not priced: {'; '.join(study.price.missing)}."))
    return tuple(notes)


def _conditions(study: Study) -> str:
    room, outside = study.room, study.outside
    return (
        f"Room {_c(room.temperature)} and {room.humidity:.0%} (dew point {_c(room.dew_point)}); "
        f"outside {_c(outside.design)} on the design night, climate of {outside.climate.name} "
        f"({outside.climate.degree_days:.0f} degree-days below 18 °C)."
    )


def _summary(wall: WallStudy) -> SummaryRow:
    now, after = wall.as_found, wall.chosen
    return SummaryRow(
        wall=wall.wall.name,
        option=after.option.name,
        r_now=_r(now.warm.resistance),
        r_after=_r(after.warm.resistance),
        coldest_now=_temperature(now.warm.coldest.surface),
        coldest_after=_temperature(after.warm.coldest.surface),
        price=_money(after.price) if after.price else "nothing to be done",
        verdict=_worst(after.warm.findings + after.dry.findings),
    )


def _wall(study: WallStudy, whole: Study, refs: _References) -> WallPage:
    wall, frame, chosen = study.wall, study.frame, study.chosen
    return WallPage(
        name=wall.name,
        facts=(
            Fact("Size", Figure(f"{_length(frame.length)} x {_length(frame.height)}")),
            Fact("Without openings", _area(frame.net_area)),
            Fact("Studs", Figure(_studs(study))),
            Fact("Framing share", Figure(f"{frame.framing_share:.0%}", "of the area")),
            Fact("Joints to seal", _joints(study)),
        ),
        recommended=chosen.option.name,
        why=study.why_chosen,
        price=_money(chosen.price) if chosen.price else "",
        elevation=_elevation(study),
        section=_section(study, whole),
        options=tuple(_option(o, o is chosen, refs) for o in study.options),
        found=tuple(_found(study, refs)),
        mend_first=tuple(_mend_first(study, refs)),
        takeoff=_takeoff(chosen, refs),
        sums=_sums(chosen.price) if chosen.price else (),
        charts=(_year_chart(study),),
    )


def _studs(study: WallStudy) -> str:
    frame = study.frame
    width, depth = (units.show(v, "length") for v in (frame.stud_width, frame.depth))
    return f"{width} x {depth} at {units.show(study.wall.spacing, 'length')}"


def _joints(study: WallStudy) -> Figure:
    metres = sum(joint.length for joint in study.frame.joints)
    return Figure(f"{metres / 0.3048:.0f} ft", f"{metres:.0f} m")


def _elevation(study: WallStudy) -> Picture:
    frame = study.frame
    svg = drawings.elevation(
        frame,
        study.wall,
        width=ELEVATION_SIZE["width"],
        max_height=ELEVATION_SIZE["max_height"],
    )
    alt = (
        f"Framing of {frame.wall} seen from the room: {len(frame.members)} pieces of lumber, "
        f"{len(frame.bays)} bays, {len(frame.joints)} joints, {len(frame.holes)} openings."
    )
    return Picture(svg, alt)


def _section(study: WallStudy, whole: Study) -> Picture:
    chosen = study.chosen
    bay, stud = chosen.warm.profile_of("bay"), chosen.warm.profile_of("stud", "double stud")
    room = whole.room
    svg = drawings.section(
        chosen.build_up,
        drawings.DesignState(room.temperature, whole.outside.design, room.dew_point),
        bay,
        stud,
        width=SECTION_SIZE["width"],
        depth=SECTION_SIZE["depth"],
    )
    names = ", ".join(layer.name for layer in _bay(chosen))
    return Picture(svg, f"Section through bay and stud, room to outside: {names}.")


def _year_chart(study: WallStudy) -> Picture:
    years = [
        drawings.Year(o.option.name, _from_autumn(o.dry.worst), _AUTUMN, o.verdict("dry"))
        for o in study.options
    ]
    svg = drawings.moisture_year(years, title=f"{study.wall.name}: water gathered by diffusion")
    peaks = "; ".join(f"{y.name} {max(y.accumulated) * 1000:.0f} g/m2" for y in years)
    return Picture(svg, f"Water in the wettest path through the year, greatest: {peaks}.")


def _from_autumn(balance: MonthlyBalance) -> tuple[float, ...]:
    """Water held at the end of each month [kg/m2], from September on."""
    held = dict(zip(balance.months, balance.accumulated, strict=True))
    return tuple(held[(_AUTUMN - 1 + k) % 12 + 1] for k in range(12))


def _bay(option: OptionStudy) -> tuple[Layer, ...]:
    bays = [s for s in option.build_up.stacks if s.kind == "bay"] or option.build_up.stacks
    return max(bays, key=lambda s: s.area).sheets


def _option(option: OptionStudy, recommended: bool, refs: _References) -> OptionRow:
    heat, warm, dry = option.warm.heat, option.warm, option.dry
    between = [x for x in _bay(option) if x.role in ("foam", "fill", "board") and x.conductivity]
    nominal = sum(x.thickness / x.conductivity for x in between if x.conductivity)
    net = next((q.amount for q in option.quantities if q.group == "foam_net"), None)
    return OptionRow(
        name=option.option.name,
        nominal=_r(nominal, *refs.to(*dict.fromkeys(x.source_heat for x in between)))
        if between
        else Figure("none"),
        parallel=_r(heat.upper),
        planes=_r(heat.lower),
        combined=_r(heat.resistance),
        coldest=_temperature(warm.coldest.surface, _worst(warm.findings)),
        dew=Figure(f"{warm.coldest.surface - warm.dew_point:+.1f} K"),
        year=Figure(
            f"{dry.worst.peak * 1000:.0f} g/m²", _dries(option), verdict=_worst(dry.findings)
        ),
        board_feet=Figure(f"{net:,.0f}", "board ft") if net else Figure("-"),
        price=Figure(_money(option.price)) if option.price else Figure("-"),
        recommended=recommended,
        refusals=tuple(f"{r.reason} Instead: {r.instead}" for r in option.build_up.refusals),
    )


def _dries(option: OptionStudy) -> str:
    if option.dry.worst.peak < 1e-3:
        return "stays dry"
    return "dries by autumn" if option.dry.worst.dries else "does not dry"


def _found(study: WallStudy, refs: _References) -> list[Note]:
    found, frame = study.wall.found, study.frame
    layers = _bay(study.as_found)
    notes = [
        Note(
            "Room to outside: " + ", ".join(layer.name.lower() for layer in layers) + ".",
            refs.to(*dict.fromkeys(layer.source_heat for layer in layers)),
        )
    ]
    if found.fill and found.fill_state != "dry":
        notes.append(Note(f"The fill was found {found.fill_state}."))
    if frame.pockets:
        notes.append(
            Note(
                f"{len(frame.pockets)} pockets that foam does not reach: "
                + "; ".join(dict.fromkeys(pocket.why for pocket in frame.pockets))
                + "."
            )
        )
    return notes


def _mend_first(study: WallStudy, refs: _References) -> list[Note]:
    """What a person must do before, worst first; the rest of the findings stand in the JSON."""
    open_ = [f for f in study.chosen.findings if f.verdict != "holds" and f.promise != "legal"]
    order: dict[Verdict, int] = {"falls short": 0, "needs a person": 1, "holds": 2}
    gates = [f for f in open_ if f.key.startswith(("hazard", "wood_moisture", "pocket"))]
    rest = [f for f in open_ if f not in gates and f.verdict == "falls short"]
    return [
        Note(_briefly(f), refs.to(f.source))
        for f in sorted([*gates, *rest], key=lambda f: order[f.verdict])
    ]


def _briefly(finding: Finding) -> str:
    """A hazard by its first clause, since the first pages tell it whole; the rest as found."""
    if finding.key.startswith("hazard"):
        return f"{finding.reason.partition('. It stops:')[0]} (see Before any work starts)."
    return f"{finding.reason} {finding.change}".strip()


def _takeoff(option: OptionStudy, refs: _References) -> tuple[TakeoffRow, ...]:
    prices = {line.quantity.key: line for line in option.price.lines} if option.price else {}
    rows = []
    for quantity in option.quantities:
        line = prices.get(quantity.key)
        rows.append(
            TakeoffRow(
                name=quantity.name,
                amount=_amount(quantity),
                unit=quantity.unit,
                how=quantity.how,
                unit_price=f"{line.price:,.2f}" if line else "",
                total=f"{line.total:,.2f}" if line else "",
                refs=refs.to(quantity.source),
            )
        )
    return tuple(rows)


def _amount(quantity: Quantity) -> str:
    whole = quantity.amount == int(quantity.amount) or quantity.amount >= 1000
    return f"{quantity.amount:,.0f}" if whole else f"{quantity.amount:,.2f}"


def _sums(price: Price, top_up: Decimal = Decimal(0)) -> tuple[Sum, ...]:
    sums = [Sum("Cost", f"{price.cost:,.2f}"), Sum("Margin", f"{price.margin:,.2f}")]
    if top_up:
        sums.append(Sum("Up to the least charge", f"{top_up:,.2f}"))
    sums += [Sum(name, f"{amount:,.2f}") for name, amount in price.taxes]
    return (*sums, Sum(f"Total {price.currency}", f"{price.total:,.2f}", strong=True))


def _gates(study: Study) -> list[Gate]:
    rows = hazard_rows()
    return [
        Gate(
            what=rows[hazard.kind].title,
            where=": ".join(part for part in (hazard.wall or "house", hazard.where) if part),
            state=hazard.state,
            need=f"cleared by {rows[hazard.kind].clears}",
        )
        for hazard in study.survey.hazards
    ]


def _assumptions(study: Study, refs: _References) -> tuple[Note, ...]:
    climate = study.outside.climate
    notes = [
        Note(f"Temperatures: {climate.name}.", refs.to(climate.source)),
        Note("Outdoor humidity by month.", refs.to(climate.source_humidity)),
        Note(f"Design night {_c(study.outside.design)}.", refs.to(climate.source_design)),
    ]
    if study.room.assumption:
        notes.append(Note(study.room.assumption))
    for wall in study.walls:
        notes += [Note(f"{wall.wall.name}: {text}") for text in wall.frame.assumptions]
        notes += [Note(f"{wall.wall.name}: {text}") for text in wall.chosen.build_up.cautions]
    return tuple(notes)


def _worst(findings: tuple[Finding, ...]) -> Verdict:
    verdicts = {finding.verdict for finding in findings}
    order: tuple[Verdict, ...] = ("falls short", "needs a person", "holds")
    return next((v for v in order if v in verdicts), "holds")


def _r(resistance: float, *refs: int) -> Figure:
    return Figure(
        units.show(resistance, "thermal resistance", "trade", 3),
        units.show(resistance, "thermal resistance", "metric", 3),
        refs,
    )


def _temperature(value: float, verdict: Verdict | None = None) -> Figure:
    return Figure(_c(value), f"{value * 1.8 + 32:.0f} °F", verdict=verdict)


def _c(value: float) -> str:
    return f"{value:.0f} °C" if value == round(value) else f"{value:.1f} °C"


def _length(value: float) -> str:
    return units.show(value, "length")


def _area(value: float) -> Figure:
    return Figure(units.show(value, "area", "trade", 3), units.show(value, "area", "metric", 3))


def _money(price: Price) -> str:
    return f"{price.currency} {price.total:,.2f}"
