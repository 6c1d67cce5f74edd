"""What work is worth beyond its cost, as far as its saving is known."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.promises import Worth, banded
from warmside.wording import Figure, Sentence, say


@dataclass(frozen=True)
class Net:
    """Net present value [currency], at the least and the most that is saved too."""

    low: float
    best: float
    high: float

    @staticmethod
    def of(saved: float, cost: float, doubt: tuple[float, float]) -> Net:
        """Of savings worth ``saved`` today [currency], and at ``doubt`` [-] times that."""
        low, high = sorted(saved * share for share in doubt)
        return Net(low - cost, saved - cost, high - cost)

    @property
    def unsure(self) -> bool:
        """Whether the saving is known too little to tell if it pays."""
        return self.low < 0.0 <= self.high

    def figure(self, currency: str) -> Figure:
        """With its band."""
        return banded((self.low, self.best, self.high), "money", currency)

    def amount(self, currency: str) -> Figure:
        """Its amount to ten, whichever sign it has, with its band where it surely pays."""
        if self.low >= 0.0:
            return self.figure(currency)
        return Figure(abs(round(self.best, -1)), "money", currency=currency)

    @property
    def ends(self) -> tuple[float, float]:
        """How much less than its cost it may be worth, and how much more [currency]."""
        return round(-self.low, -1), round(self.high, -1)

    def beside(self, cost: str, currency: str) -> Sentence:
        """How the savings stand to the cost, after "are worth"; ``cost`` is how that is named."""
        net = self.amount(currency)
        than = "more" if self.best >= 0.0 else "less"
        if not self.unsure:
            return say("{net} {than} than {cost}", net=net, than=than, cost=cost)
        less, more = (Figure(end, "money", currency=currency) for end in self.ends)
        return say(
            "{net} {than} than {cost}, but not surely: from {less} less to {more} more",
            cost=cost, net=net, than=than, less=less, more=more,
        )  # fmt: skip


def doubt_of(worth: Worth) -> tuple[float, float]:
    """Shares [-] of the reckoned saving that it is at least and at most."""
    money = worth.money
    if money is None or money.best <= 0.0:
        return 1.0, 1.0
    return money.low / money.best, money.high / money.best
