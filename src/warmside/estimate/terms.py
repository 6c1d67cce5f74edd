"""Who offers, and on which terms: the business part of the price file.

General words, not legal advice: what deposits, holdback and days to cancel local law asks for, the
contractor puts in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal


@dataclass(frozen=True)
class Contractor:
    """Who stands at the head of every paper."""

    name: str = ""
    licence: str = ""
    phone: str = ""
    email: str = ""
    address: str = ""
    tax_number: str = ""
    mark: str = ""  # an image file beside the price file


@dataclass(frozen=True)
class Stage:
    """A part of the price, and when it falls due."""

    name: str
    share: Decimal  # [-] of the total


USUAL_STAGES = (
    Stage("when you sign", Decimal("0.15")),
    Stage("when the crew starts", Decimal("0.35")),
    Stage("when the walls are filled and checked", Decimal("0.30")),
    Stage("when you have the close-out papers", Decimal("0.20")),
)


@dataclass(frozen=True)
class Terms:
    """What an offer promises beside its price."""

    valid_days: int = 30
    start_weeks: int = 6  # from the signature, once all is cleared
    crew: int = 2
    hours_a_day: int = 8
    holdback: Decimal = Decimal(0)  # [-] kept back of every invoice
    holdback_days: int = 0  # until it is paid
    warranty_years: int = 0  # on the work; 0: not said
    cancel_days: int = 0  # to cancel after signing; 0: as local law has it
    stages: tuple[Stage, ...] = USUAL_STAGES


def parts_of(total: Decimal, shares: Sequence[Decimal], coin: Decimal) -> tuple[Decimal, ...]:
    """``total`` in parts that add up to it exactly: each rounded to the coin, the last the rest.

    Parameters
    ----------
    total : Decimal
        What is to be parted.
    shares : sequence of Decimal
        [-] of it, adding up to 1.
    coin : Decimal
        Smallest unit of the money.
    """
    first = [(total * share).quantize(coin, ROUND_HALF_UP) for share in shares[:-1]]
    return (*first, total - sum(first, Decimal(0)))


NUMBERS: Mapping[str, tuple[int, int]] = {  # whole numbers of [terms], from and to
    "valid_days": (1, 365),
    "start_weeks": (0, 104),
    "crew": (1, 20),
    "hours_a_day": (1, 16),
    "holdback_days": (0, 365),
    "warranty_years": (0, 50),
    "cancel_days": (0, 60),
}
