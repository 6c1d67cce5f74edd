"""The account of a job: what is agreed, asked for, kept back, paid, and what comes next.

All in ``Decimal``, each line rounded half up to the smallest coin. A stage is asked for as the
difference of what is due in all so far and what was asked before, so that invoices add up to the
price exactly, whatever changed between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from warmside.errors import Fault, InputError
from warmside.estimate import Stage, coin

_ZERO = Decimal(0)
BEFORE_TAX = "Price before tax"
HOLDBACK = "what was kept back"


@dataclass(frozen=True)
class Money:
    """Named amounts of one currency: the price before tax first, then each tax."""

    currency: str
    lines: tuple[tuple[str, Decimal], ...]

    @property
    def total(self) -> Decimal:
        """Their sum."""
        return sum((amount for _, amount in self.lines), _ZERO)

    def plus(self, other: Money) -> Money:
        """Line by line."""
        return self._with(other, 1)

    def minus(self, other: Money) -> Money:
        """Line by line."""
        return self._with(other, -1)

    def _with(self, other: Money, sign: int) -> Money:
        sums = dict(self.lines)
        for name, amount in other.lines:
            sums[name] = sums.get(name, _ZERO) + sign * amount
        return Money(self.currency, tuple(sums.items()))

    def share(self, share: Decimal) -> Money:
        """A share of each line, to the coin; all of it at 1."""
        one = coin(self.currency)
        return Money(
            self.currency,
            tuple((n, (a * share).quantize(one, ROUND_HALF_UP)) for n, a in self.lines),
        )


@dataclass(frozen=True)
class Account:
    """Where the money of a job stands."""

    money: Money  # agreed, with every change
    rates: tuple[tuple[str, Decimal], ...]
    stages: tuple[Stage, ...]
    holdback: Decimal  # [-] of an invoice
    asked: Money  # by all invoices
    stages_done: int
    held: Decimal  # kept back and not asked for again
    paid: Decimal

    @property
    def due(self) -> Decimal:
        """Asked for and not yet paid, without what is kept back."""
        return self.asked.total - self.held - self.paid

    @property
    def left(self) -> Decimal:
        """Agreed and not yet asked for."""
        return self.money.total - self.asked.total

    @property
    def next_stage(self) -> Stage | None:
        """The stage that is asked for next; None when all were."""
        return self.stages[self.stages_done] if self.stages_done < len(self.stages) else None

    def taxed(self, before_tax: Decimal) -> Money:
        """An amount before tax with the taxes of the contract."""
        one = coin(self.money.currency)
        amount = before_tax.quantize(one, ROUND_HALF_UP)
        taxes = ((n, (amount * rate).quantize(one, ROUND_HALF_UP)) for n, rate in self.rates)
        return Money(self.money.currency, ((BEFORE_TAX, amount), *taxes))

    def invoice(self) -> tuple[str, Money, Decimal]:
        """What is asked for next: of which stage, its lines, and what of it is kept back.

        Raises
        ------
        InputError
            Nothing is left to ask for.
        """
        stage = self.next_stage
        if stage is None:
            return self._rest()
        done = sum((s.share for s in self.stages[: self.stages_done + 1]), _ZERO)
        lines = self.money.share(done).minus(self.asked)
        held = (lines.total * self.holdback).quantize(coin(self.money.currency), ROUND_HALF_UP)
        return stage.name, lines, held

    def _rest(self) -> tuple[str, Money, Decimal]:
        """After the last stage: what changed since, and all that was kept back."""
        lines = self.money.minus(self.asked)
        if not lines.total and not self.held:
            raise InputError([Fault("invoice", "everything was asked for", "a stage that is left")])
        return HOLDBACK, lines, -self.held
