"""Letters to who must know of the work: the building official, the insurer, the programme."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from warmside.physics.assembly import Layer, Stack
from warmside.study.house import Study
from warmside.study.parts import WallStudy
from warmside.study.report.offer import mend_first, names, scope_rows
from warmside.study.report.passage import BLANK, Cell, Passage
from warmside.wording import OPEN, Figure, Sentence, joined, plain, say

_INSULATION = ("foam", "fill", "board")
_NEW = (*_INSULATION, "vapour control", "finish")  # layers that have a listing
_ANSWERS = {
    "holds": "meets it, as we read it",
    "falls short": "does not meet it, as we read it",
    "needs a person": "yours to decide",
}


def permit_letter(study: Study) -> tuple[Passage, ...]:
    """What is done, with which products, and each clause as it was judged; the official decides.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    return (
        Passage(
            "What we ask",
            (
                say("We ask for a permit, or for your word that none is needed, for this work."),
                say("You decide. Tell us which edition of the code you go by, and where our "
                    "reading of it differs from yours."),
            ),
        ),
        Passage("The house", tuple(_house(study))),
        _work(study),
        _products(study),
        *_clauses(study),
        Passage("Cleared before the work", tuple(_hazards(study))),
        Passage(
            "When you may want to look",
            (
                say("Before the walls are closed or filled, and when the work is done."),
                say("The close-out papers go to you with readings and photos of every wall."),
            ),
        ),
    )  # fmt: skip


def insurer_letter(study: Study) -> tuple[Passage, ...]:
    """What changes in the house, what was found in it, and what the insurer is asked.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    foam = [w for w in study.worked if w.chosen.option.foam]
    changes = [
        say("Spray foam burns. It goes into {walls}, behind a cover that the code accepts.",
            walls=names([w.wall.name for w in foam]))
        if foam
        else say("No spray foam is used."),
        say("Heating, wiring and plumbing stay as they are, unless a licensed trade mends them "
            "first."),
    ]  # fmt: skip
    return (
        Passage(
            "What we ask",
            (
                say("Tell the owner in writing, before the work starts, whether the cover holds "
                    "during the work and after it."),
                say("Tell us what you want to see: listings, photos, a permit, a test."),
            ),
        ),
        Passage("The house", tuple(_house(study))),
        _work(study),
        Passage("What changes for you", tuple(changes), safety=True),
        _products(study),
        Passage("Found in the house, and who clears it first", tuple(_hazards(study))),
        Passage(
            "While we work",
            (
                say("How long the house is empty, and who holds the keys: {blank}", blank=BLANK),
                say("Our liability insurance: {blank}", blank=BLANK),
            ),
        ),
        Passage("Who decides", (say("Your policy and local law decide, not this letter."),)),
    )  # fmt: skip


def _house(study: Study) -> Iterator[Sentence]:
    house = study.survey.house
    if house.year_built:
        yield say("Built in {year}.", year=f"{house.year_built}")
    frames = dict.fromkeys(wall.wall.frame for wall in study.walls)
    yield say(
        "Wood frame ({frame}), {walls}, {area} of wall without openings.",
        frame=names(list(frames)),
        walls=Figure(len(study.walls), "count", noun="outside wall"),
        area=Figure(sum(w.frame.net_area for w in study.walls), "area"),
    )


def _work(study: Study) -> Passage:
    rows: list[tuple[Cell, ...]] = [
        (row.wall, row.area, row.work, row.side, row.resistance) for row in scope_rows(study)
    ]
    return Passage(
        "What is done",
        head=("Wall", "Area", "Work", "Where from", "Wall after"),
        table=tuple(rows),
    )


def _products(study: Study) -> Passage:
    """Every new product once, its listing to be filled in by who buys it."""
    walls: dict[str, list[str]] = {}
    for wall in study.worked:
        for name in _new_products(wall):
            walls.setdefault(name, []).append(wall.wall.name)
    rows = tuple((name, names(where), BLANK, BLANK) for name, where in walls.items())
    return Passage(
        "Products and their listings",
        (say("The contractor fills in maker and listing when the product is bought. The listing "
             "decides how it is used."),),
        head=("Product", "Walls", "Maker", "Listing"),
        table=rows,
    )  # fmt: skip


def _new_products(wall: WallStudy) -> tuple[str, ...]:
    """Names of the layers that the option brings into the bays of a wall."""
    brought = _brought(wall, wall.chosen.build_up.stacks)
    return tuple(dict.fromkeys(layer.name for layer in brought if layer.role in _NEW))


def _brought(wall: WallStudy, stacks: Iterable[Stack]) -> Iterator[Layer]:
    """Layers of some stacks that the wall did not have; no air."""
    was = {layer.material for s in wall.as_found.build_up.stacks for layer in s.layers}
    for stack in stacks:
        for layer in stack.layers:
            if layer.material not in was and layer.conductivity is not None:
                yield layer


def _clauses(study: Study) -> Iterator[Passage]:
    """Each clause that applies, with its verdicts over the walls that are worked on."""
    for pack in study.packs:
        rows: list[tuple[Cell, ...]] = []
        for clause in pack.clauses:
            key = f"{pack.id}:{clause.id}"
            found = [
                (wall.wall.name, finding)
                for wall in study.worked
                for finding in wall.chosen.findings
                if finding.key == key and finding.verdict in _ANSWERS
            ]
            for verdict, answer in _ANSWERS.items():
                whys: dict[Sentence | str, list[str]] = {}
                for name, finding in found:
                    if finding.verdict == verdict:
                        why = finding.reason if verdict in OPEN else ""
                        whys.setdefault(why, []).append(name)
                rows += [
                    (f"{clause.number} {clause.title}", names(here), answer, why)
                    for why, here in whys.items()
                ]
        if rows:
            yield Passage(
                pack.name,
                (pack.closing,),
                head=("Clause", "Walls", "Answer", "Why"),
                table=tuple(rows),
            )


def _hazards(study: Study) -> Iterator[Sentence]:
    rows = list(mend_first(study))
    for row in rows:
        yield say("{who}: {what}.", who=row.who, what=row.what)
    presumed = sorted({h.kind for h in study.survey.hazards if h.state == "presumed"})
    if presumed:
        yield say(
            "A house of this age may hide these; each is looked for before the work starts: "
            "{what}.",
            what=joined([plain(study.catalog.hazard(kind).title) for kind in presumed], "; "),
        )
    elif not rows:
        yield say("Nothing was found. What is hidden is looked at when a wall is opened.")


# --- the programme that pays a part


def rebate_file(study: Study) -> tuple[Passage, ...]:
    """Resistances by the definition that each is named by, areas, products, leakage.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    return (
        Passage(
            "What the letters mean",
            (
                say("R in the bay: the new insulation alone, thickness over conductivity."),
                say("R by the code: wood and insulation by the share of each, as the Canadian "
                    "code reckons the effective value."),
                say("R of the wall: all layers and both air films with every stud and plate, "
                    "solved in three dimensions where that was done, else by ISO 6946."),
                say("Area: the wall without its openings."),
            ),
        ),
        Passage("The walls", head=_REBATE_HEAD, table=tuple(_rebate_row(w) for w in study.worked)),
        _products(study),
        Passage("Air leakage", tuple(_leakage(study))),
        Passage(
            "Who decides",
            (say("The programme decides what counts. Measured tests stand above computed "
                 "figures."),),
        ),
    )  # fmt: skip


_REBATE_HEAD = (
    "Wall", "Area", "R in the bay", "R by the code, before", "R by the code, after",
    "R of the wall, before", "R of the wall, after",
)  # fmt: skip


def _rebate_row(wall: WallStudy) -> tuple[Cell, ...]:
    before, after = wall.as_found, wall.chosen

    def resistance(value: float) -> Figure:
        return Figure(value, "resistance")

    nominal = _in_bay(wall)
    return (
        wall.wall.name,
        Figure(wall.frame.net_area, "area"),
        resistance(nominal) if nominal else "–",
        resistance(before.warm.code),
        resistance(after.warm.code),
        resistance(before.warm.resistance),
        resistance(after.warm.resistance),
    )


def _in_bay(wall: WallStudy) -> float:
    """Resistance of the new insulation in or on the largest bay [m2 K/W]."""
    bays = [s for s in wall.chosen.build_up.stacks if s.kind == "bay"]
    if not bays:
        return 0.0
    return sum(
        layer.thickness / layer.conductivity
        for layer in _brought(wall, [max(bays, key=lambda s: s.area)])
        if layer.role in _INSULATION and layer.conductivity
    )


def _leakage(study: Study) -> Iterator[Sentence]:
    tight = study.tight
    change = tight.air_change_after
    yield say(
        "Computed after the work: {after} air changes an hour at 50 Pa.",
        after=Figure(change.best, "air change", low=change.low, high=change.high),
    )
    test = study.survey.house.fan_test
    if test is None:
        yield say("No fan test before the work was recorded.")
    else:
        yield measured(say("before"), test.flow_50, study.survey.house.volume, test.day)


def measured(when: Sentence, flow: float | None, volume: float, day: str) -> Sentence:
    """A fan test as it was measured.

    Parameters
    ----------
    when : Sentence
        Before or after the work.
    flow : float or None
        At 50 Pa [m3/s].
    volume : float
        Of the house [m3].
    day : str
        When it was measured; "" unknown.
    """
    if not flow:
        return say("Measured {when}: by its readings, in the close-out.", when=when)
    text = "Measured {when}: {flow} at 50 Pa, {change} air changes an hour. Day: {day}"
    return say(
        text,
        when=when,
        flow=Figure(flow, "flow"),
        change=Figure(flow * 3600.0 / volume, "air change"),
        day=day or BLANK,
    )
