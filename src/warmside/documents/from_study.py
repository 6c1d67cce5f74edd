"""From a study to the plain data that the proposal shows: texts, figures, numbered sources."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from warmside.catalog import Source
from warmside.documents.camera import FIELD, camera_note
from warmside.documents.evidence import chances as _chances
from warmside.documents.evidence import half_inch, sealing
from warmside.documents.proposal_data import Gate, HouseRow, Note, ProposalView, SummaryRow
from warmside.documents.questions import what_people_ask
from warmside.documents.takeoff import sums
from warmside.documents.unpromised import unpromised
from warmside.documents.wall_page import judged, wall_page
from warmside.documents.words import (
    References,
    celsius,
    grouped,
    money,
    raised,
    resistance,
    temperature,
)
from warmside.study import Spread, Study, WallStudy, compare

_METHODS = Source(
    "ISO 6946: mean of the parallel-path and layer-by-layer limits; surface films 0.13 and 0.04",
    "from memory",
)
_FILMS = Source("EN ISO 13788: surface film 0.25 m2 K/W where humidity is judged", "from memory")
_YEAR = Source("EN ISO 13788: monthly balance of condensation and drying", "from memory")
_NOMINAL = Source("16 CFR 460: R of the insulation alone, for the thickness installed", "published")
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


def proposal_view(
    study: Study, today: date, prepared_by: str = "", chances: Spread | None = None
) -> ProposalView:
    """Everything the proposal shows, as plain data.

    Parameters
    ----------
    study : Study
        The house studied.
    today : date
        Date of the paper.
    prepared_by : str
        The contractor's name and licence, as it is to be printed.
    chances : Spread, optional
        From ``warmside.study.spread``: how sure each promise is; left out when not given.

    Returns
    -------
    ProposalView
        For ``proposal``.
    """
    refs = References()
    fields = any(w.chosen.warm.field for w in study.walls)
    columns = {
        "nominal": refs.to(_NOMINAL),
        "effective": refs.to(_METHODS, *([FIELD] if fields else [])),
        "coldest": refs.to(_FILMS),
        "year": refs.to(_YEAR),
    }
    house = study.survey.house
    headline = _headline(study, columns["effective"], refs)
    whole = _whole(study, refs)
    walls = tuple(wall_page(w, study, refs) for w in study.walls)
    asked, of_wall = what_people_ask(study, refs)
    walls = tuple(replace(page, asked=of_wall[page.name]) for page in walls)
    camera = camera_note(study, refs) if any(w.images for w in walls) else None
    thickness = half_inch(study, refs)
    joints, columns["sealing"] = sealing(study, refs)
    sure = _chances(chances, refs) if chances else None
    assumptions = _assumptions(study, refs)
    return ProposalView(
        house=house.name,
        place=house.place,
        client=house.client,
        date=today,
        prepared_by=prepared_by,
        headline=headline,
        conditions=_conditions(study),
        summary=tuple(_summary(w) for w in study.walls),
        totals=sums(study.price, study.price.top_up),
        walls=walls,
        unpromised=unpromised(study),
        closing=tuple(pack.closing for pack in study.packs),
        gates=tuple(_gates(study)),
        whole=whole,
        asked=asked,
        camera=camera,
        half_inch=thickness,
        sealing=joints,
        chances=sure,
        assumptions=assumptions,
        cautions=(
            *(Note(text) for text in _CAUTIONS),
            *(Note(f"{pack.name}: {pack.closing}") for pack in study.packs),
        ),
        sources=refs.listed(),
        column_refs=columns,
        currency=study.prices.currency,
        price_list=study.prices.title,
        prices_invented=study.prices.invented,
        valid="30 days from the date above",
    )


def _headline(study: Study, effective: tuple[int, ...], refs: References) -> tuple[Note, ...]:
    """What a client reads first: what it costs, what it does, what comes before, what is open."""
    price = f"Price of the work as put forward, taxes included: {money(study.price)}."
    if study.price.missing:
        price += f" Not priced: {'; '.join(_unpriced(study))}."
    notes = [
        Note(price),
        Note(grouped(compare(study).sentence, study.prices.currency), effective),
        *_gains(study, effective, refs),
        *_saving(study, refs),
    ]
    gates = sum(h.state != "cleared" for h in study.survey.hazards)
    if gates:
        notes.append(
            Note(
                f"{gates} hazards stop the work until each is cleared, which is not in the price; "
                "see Before any work starts."
            )
        )
    return tuple(notes)


def _gains(study: Study, effective: tuple[int, ...], refs: References) -> list[Note]:
    """Heat and surfaces of all walls, before and after."""
    area = sum(w.frame.net_area for w in study.walls)
    now = area / sum(w.frame.net_area / w.as_found.warm.resistance for w in study.walls)
    after = area / sum(w.frame.net_area / w.chosen.warm.resistance for w in study.walls)
    coldest_now = min((w.as_found.warm.coldest for w in study.walls), key=lambda c: c.surface)
    coldest_after = min((w.chosen.warm.coldest for w in study.walls), key=lambda c: c.surface)
    where = " and then ".join(dict.fromkeys([coldest_now.kind, coldest_after.kind]))
    seats = [w.chosen.comfort for w in study.walls]
    first, last = resistance(now), resistance(after)
    return [
        Note(
            f"The {len(study.walls)} outside walls will lose {now / after:.0%} of the heat that "
            f"they lose now: their whole framed resistance goes from {first.text} "
            f"({first.small}) to {last.text} ({last.small}).",
            effective,
        ),
        Note(
            f"On the design night at {celsius(study.outside.design)} the coldest place on the "
            f"room side {_course(coldest_now.surface, coldest_after.surface)} (at the "
            f"{where}). The warmth felt on a seat 1 m from the coldest wall "
            + _course(
                min(s.before.radiant_temperature for s in seats),
                min(s.after.radiant_temperature for s in seats),
            )
            + ".",
            refs.to(_FILMS),
        ),
    ]


def _course(now: float, after: float) -> str:
    """What becomes of a temperature [degC], as far as it is printed."""
    first, last = celsius(now), celsius(after)
    if first == last:
        return f"stays at {first}"
    return f"{'warms' if after > now else 'cools'} from {first} to {last}"


def _saving(study: Study, refs: References) -> list[Note]:
    """What the heat saved is worth, as the house's own findings tell it."""
    found = [f for f in study.worth.findings if f.key == "simple_payback_years"]
    currency = study.prices.currency
    return [Note(grouped(raised(str(f.reason)), currency), refs.to(f.source)) for f in found]


def _unpriced(study: Study) -> list[str]:
    """Takeoff lines without a price, by their names."""
    names = {q.key: q.name for q in study.takeoff}
    told = []
    for text in study.price.missing:
        key, _, why = text.rpartition(": ")
        told.append(f"{names.get(key, key)} ({why})" if key else text)
    return told


def _conditions(study: Study) -> str:
    room, outside = study.room, study.outside
    return (
        f"Room {celsius(room.temperature)} and {room.humidity:.0%} (dew point "
        f"{celsius(room.dew_point)}); outside {celsius(outside.design)} on the design night, "
        f"climate of {outside.climate.name} "
        f"({outside.climate.degree_days:.0f} degree-days below 18 °C)."
    )


def _summary(wall: WallStudy) -> SummaryRow:
    now, after = wall.as_found, wall.chosen
    return SummaryRow(
        wall=wall.wall.name,
        option=after.option.name,
        r_now=resistance(now.warm.resistance),
        r_after=resistance(after.warm.resistance),
        coldest_now=temperature(now.warm.coldest.surface),
        coldest_after=temperature(after.warm.coldest.surface),
        price=f"{after.price.total:,.2f}" if after.price else "nothing to be done",
        promises=judged(after),
    )


def _whole(study: Study, refs: References) -> tuple[HouseRow, ...]:
    """What is judged of the house with all the work done."""
    return tuple(
        HouseRow(
            promise=f.promise,
            name=f.name,
            verdict=f.verdict,
            reason=grouped(raised(str(f.reason)), study.prices.currency),
            change=raised(str(f.change)),
            refs=refs.to(f.source),
        )
        for f in study.findings
    )


def _gates(study: Study) -> list[Gate]:
    known = study.catalog
    return [
        Gate(
            what=known.hazard(hazard.kind).title,
            where=": ".join(part for part in (hazard.wall or "house", hazard.where) if part),
            state=hazard.state,
            need=f"cleared by {known.hazard(hazard.kind).clears}",
        )
        for hazard in study.survey.hazards
    ]


def _assumptions(study: Study, refs: References) -> tuple[Note, ...]:
    """Weather and room, then what holds for walls, each text once with the walls it holds for."""
    climate = study.outside.climate
    notes = [
        Note(f"Temperatures: {climate.name}.", refs.to(climate.source)),
        Note("Outdoor humidity by month.", refs.to(climate.source_humidity)),
        Note(f"Design night {celsius(study.outside.design)}.", refs.to(climate.source_design)),
        *(Note(raised(text)) for text in study.weather.notes),
    ]
    if study.room.assumption:
        notes.append(Note(study.room.assumption))
    # hazards stand before any work starts, on their own page
    hazards = tuple(f"{h.kind.capitalize()}, {h.state} ({h.where})" for h in study.survey.hazards)
    held: dict[str, list[str]] = {}
    for wall in study.walls:
        for text in (*wall.frame.assumptions, *wall.chosen.build_up.cautions):
            if not text.startswith(hazards):
                held.setdefault(text, []).append(wall.wall.name)
    for text, names in held.items():
        every = len(names) == len(study.walls)
        notes.append(Note(f"{raised(text)} {'All walls' if every else ', '.join(names)}."))
    return tuple(notes)
