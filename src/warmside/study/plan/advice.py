"""What is recommended for each wall within a plan, and why, in a few plain sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.plan.eligible import (
    LEAST_HUMIDITY,
    drier_air,
    humidity_held,
    is_priced,
    is_stopped,
    move_of,
    must_change,
    shortfalls,
    takes_part,
)
from warmside.study.plan.net import Net, doubt_of
from warmside.study.plan.program import Choice
from warmside.study.plan.saving import Ground
from warmside.study.plan.table import Charges, Saving, result
from warmside.wording import Figure, Sentence, joined, lowered, say

_BETTER = 0.02  # [-] of humidity that work must bear more than the wall as found


@dataclass(frozen=True)
class Undone:
    """A wall on which a plan does nothing, and why."""

    wall: str
    why: Sentence


@dataclass(frozen=True)
class Advice:
    """What is recommended for one wall, why, and what stands beside it."""

    wall: str
    recommended: str  # id
    kind: str  # of that option
    reason: Sentence
    net: Net | None  # by which the house's net present value falls without it
    cost: float | None  # [currency] that the house pays less without it
    stopped: bool  # nothing is priced before it is mended
    then: str | None  # id of what looks best once a stopped wall is dry
    beside: str | None  # id of the best option without foam, where foam is recommended


@dataclass(frozen=True)
class _Worth:
    """One option of a wall within the plan, against leaving the wall as it was found."""

    saved: float  # [currency] worth today
    cost: float  # [currency]
    doubt: tuple[float, float]  # [-] the saving at least and at most, as shares of it

    @property
    def net(self) -> Net:
        """Net present value."""
        return Net.of(self.saved, self.cost, self.doubt)


@dataclass(frozen=True)
class Advised:
    """The recommended plan, to be asked about each wall."""

    walls: Mapping[str, WallStudy]  # stopped ones studied as if they were dry
    ground: Ground
    best: Choice
    dried: Choice | None
    saving: Saving | None
    charges: Charges

    def of(self, wall: WallStudy) -> Advice:
        """What is recommended for one wall, and what it is worth within the plan."""
        name = wall.wall.name
        move = next(m for m in self.best.moves if m.wall == name)
        option = wall.option(move.option)
        worths = self._worths(wall)
        if is_stopped(wall):
            then = self._then(wall)
            return Advice(
                wall=name,
                recommended=option.option.id,
                kind=option.option.kind.name,
                reason=self._wet(wall, then),
                net=None if self.saving is None else Net(0.0, 0.0, 0.0),
                cost=None,
                stopped=True,
                then=then.option.id if then else None,
                beside=None,
            )
        fit = [o for o in wall.options if o.option.kind.worked and takes_part(o, wall)]
        if worths:
            fit.sort(key=lambda o: -worths[o.option.id].net.best)
        plain = [o for o in fit if o.option.foam is None and o is not option]
        beside = plain[0] if plain and option.option.foam else None
        return Advice(
            wall=name,
            recommended=option.option.id,
            kind=option.option.kind.name,
            reason=joined([self._reason(wall, option, worths, fit, beside), *self._barred(wall)]),
            net=worths[option.option.id].net if worths else None,
            cost=worths[option.option.id].cost if worths else None,
            stopped=False,
            then=None,
            beside=beside.option.id if beside else None,
        )

    def _then(self, wall: WallStudy) -> OptionStudy | None:
        """What looks best on a wet wall once it is dry."""
        if self.dried is None:
            return None
        name = wall.wall.name
        id = next(m.option for m in self.dried.moves if m.wall == name)
        option = self.walls[name].option(id)
        return option if option.option.kind.worked else None

    def _worths(self, wall: WallStudy) -> dict[str, _Worth]:
        """What each option of a wall saves and costs within the plan; nothing without prices."""
        saving = self.saving
        if saving is None:
            return {}
        others = [m for m in self.best.moves if m.wall != wall.wall.name]

        def of(option: OptionStudy) -> tuple[float, float]:
            return result([*others, move_of(option)], saving, self.charges)

        saved, cost = of(wall.as_found)
        return {
            option.option.id: _Worth(value - saved, charge - cost, doubt_of(option.worth))
            for option in wall.options
            for value, charge in [of(option)]
        }

    def _reason(
        self,
        wall: WallStudy,
        option: OptionStudy,
        worths: Mapping[str, _Worth],
        order: Sequence[OptionStudy],
        beside: OptionStudy | None,
    ) -> Sentence:
        if not option.option.kind.worked:
            return self._left(wall, worths, order)
        own = worths.get(option.option.id)
        cost = self._money(own.cost if own else _price(option))
        carried = must_change(wall)
        if carried is not None:
            mended = say(
                "{option} for {cost} puts that right.", option=option.option.name, cost=cost
            )
            why = joined([carried.reason, mended])
        elif wall.wall.comfort:
            why = say(
                "The client asks for comfort here: {option} for {cost}.",
                option=lowered(option.option.name),
                cost=cost,
            )
        elif own is None:
            return say("{option} must be done.", option=option.option.name)
        else:
            why = say(
                "{option} for {cost}: over {years} the savings are worth {worth}.",
                option=option.option.name,
                cost=cost,
                years=self._years,
                worth=own.net.beside("that", self._currency),
            )
        parts = [why]
        if own is not None and own.net.best < 0.0:
            lost = say(
                "It does not pay by itself: it costs {net} more than it saves.",
                net=self._money(-own.net.best),
            )
            parts.append(lost)
            drier = drier_air(wall)
            if drier is not None and not wall.wall.comfort:
                parts.append(
                    say(
                        "Drier air may do it for less: at {most} humidity or less in winter the "
                        "wall holds as it is. Run fans and measure first.",
                        most=Figure(drier, "share"),
                    )
                )
        if own is not None and beside is not None:
            parts.append(self._without_foam(own, worths[beside.option.id], beside))
        return joined(parts)

    def _without_foam(self, own: _Worth, other: _Worth, beside: OptionStudy) -> Sentence:
        """The best that another trade would do, beside foam."""
        return say(
            "Without foam the best is {option} for {cost}, worth {less} less over the years.",
            option=lowered(beside.option.name),
            cost=self._money(other.cost),
            less=self._money(max(own.net.best - other.net.best, 0.0)),
        )

    def _wet(self, wall: WallStudy, then: OptionStudy | None) -> Sentence:
        wet = [f.reason for f in wall.as_found.standing if f.verdict == "falls short"]
        first = say(
            "Mend the water and dry the wall first. What the mending costs is not known: the trade "
            "that does it gives a price."
        )
        if then is None or then.price is None:
            after = say("After that nothing more pays here; it is judged again when it is dry.")
        else:
            after = say(
                "After that {option} looks best; it is priced and judged again when it is dry.",
                option=lowered(then.option.name),
            )
        return joined([*wet, first, after])

    def _left(
        self, wall: WallStudy, worths: Mapping[str, _Worth], order: Sequence[OptionStudy]
    ) -> Sentence:
        now = Figure(wall.as_found.warm.resistance, "resistance")
        if not worths:
            return say("Leave it: the price file lacks what would tell whether anything pays.")
        fuller = [o for o in order if o.warm.resistance > wall.as_found.warm.resistance * 1.01]
        damp = self._air_first(wall, worths)
        if damp is not None:
            left = damp
        elif not fuller:
            left = say(
                "Leave it: at {now} none of the ways to make it warmer keeps every promise.",
                now=now,
            )
        else:
            own = worths[fuller[0].option.id]
            left = say(
                "Leave it: at {now} no change pays. The best of them, {option}, would cost {cost} "
                "in all for savings worth {worth} over {years}.",
                now=now,
                option=lowered(fuller[0].option.name),
                cost=self._money(own.cost),
                years=self._years,
                worth=self._money(max(own.saved, 0.0)),
            )
        return joined([left, *self._watched(wall, worths, order)])

    def _air_first(self, wall: WallStudy, worths: Mapping[str, _Worth]) -> Sentence | None:
        """Where the air of the room alone keeps surfaces from holding: how dry it must be.

        None where the surfaces hold as found, or where no air that people live in would do.
        """
        if must_change(wall) is None:
            return None
        found = wall.as_found
        near = [
            o for o in wall.options
            if o.option.kind.worked and is_priced(o)
            and all(f in o.warm.findings for f in shortfalls(o, found))
            and humidity_held(o) >= max(LEAST_HUMIDITY, humidity_held(found) + _BETTER)
        ]  # fmt: skip
        drier = drier_air(wall)
        if not near and drier is None:
            return None
        parts = [
            say(
                "Dry the air first: at {now} humidity in winter the coldest place ({place}) is too "
                "cold, whatever is done here. Run fans and measure.",
                now=Figure(found.room.humidity, "share"),
                place=found.warm.coldest.where,
            )
        ]
        if drier is not None:
            most = Figure(drier, "share")
            parts.append(say("At {most} or less the wall holds as it is.", most=most))
        if near:
            best = max(near, key=lambda o: worths[o.option.id].net.best)
            parts.append(
                say(
                    "At {most} or less this would hold: {option}, {cost}. It is judged again then.",
                    most=Figure(humidity_held(best), "share"),
                    option=lowered(best.option.name),
                    cost=self._money(worths[best.option.id].cost),
                )
            )
        return joined(parts)

    def _watched(
        self, wall: WallStudy, worths: Mapping[str, _Worth], order: Sequence[OptionStudy]
    ) -> list[Sentence]:
        """What the wall falls short of today, and will go on to: nobody promises it dry."""
        damp = [f.name for f in wall.as_found.dry.findings if f.verdict == "falls short"]
        if not damp:
            return []
        what = say(
            "By the sums it is not dry as it stands ({what}), and left alone it stays so: read the "
            "wood in late winter and again in early autumn.",
            what=lowered(damp[0]),
        )
        ends = [o for o in order if all(f.verdict != "falls short" for f in o.dry.findings)]
        if not ends:
            return [what]
        least = min(ends, key=lambda o: worths[o.option.id].cost)
        then = say(
            "If it reads above {dry}, find where the water comes from and mend that first. By the "
            "sums this would then keep it dry: {option}, {cost}.",
            dry=Figure(self.ground.catalog.site_figure("wood-moisture").most, "share"),
            option=lowered(least.option.name),
            cost=self._money(worths[least.option.id].cost),
        )
        return [what, then]

    def _barred(self, wall: WallStudy) -> list[Sentence]:
        """What a hazard alone keeps from being judged, until the person named clears it."""
        rows = self.ground.catalog
        for option in wall.options:
            refusals = option.build_up.refusals
            if refusals and all(refusal.hazard for refusal in refusals):
                title = rows.hazard(refusals[0].hazard).title
                return [
                    say(
                        "Once this is cleared, {option} can be judged here too: {hazard}.",
                        option=lowered(option.option.name),
                        hazard=lowered(title),
                    )
                ]
        return []

    def _money(self, value: float) -> Figure:
        return Figure(round(value, -1), "money", currency=self._currency)

    @property
    def _currency(self) -> str:
        return self.ground.prices.currency

    @property
    def _years(self) -> Figure:
        terms = self.ground.heating.terms
        return Figure(float(terms.years) if terms else 0.0, "years")


def _price(option: OptionStudy) -> float:
    return float(option.price.total) if option.price else 0.0
