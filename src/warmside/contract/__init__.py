"""What was agreed, changed, asked for and paid: the money of a job, to the cent."""

from warmside.contract.account import Account, Money
from warmside.contract.papers import (
    KINDS,
    SIGNED,
    Agreement,
    Change,
    Invoice,
    Notice,
    Order,
    Paper,
    PaperKind,
    Receipt,
    Signature,
    Signed,
    fingerprint,
    read_account,
    read_paper,
    superseded,
)
from warmside.contract.reminder import reminder
from warmside.contract.table import money_csv

__all__ = [
    "KINDS",
    "SIGNED",
    "Account",
    "Agreement",
    "Change",
    "Invoice",
    "Money",
    "Notice",
    "Order",
    "Paper",
    "PaperKind",
    "Receipt",
    "Signature",
    "Signed",
    "fingerprint",
    "money_csv",
    "read_account",
    "read_paper",
    "reminder",
    "superseded",
]
