"""What was done and decided: jobs with their texts, photos, records, people, and every change."""

from warmside.store._checks import catalog_of
from warmside.store._errors import StaleError, StoreError, UnknownError
from warmside.store._kept import (
    Change,
    Draft,
    Hit,
    Job,
    Kept,
    Person,
    Photo,
    Record,
    Role,
    Task,
    TextPart,
)
from warmside.store._ledger import SHOP
from warmside.store._store import Store

__all__ = [
    "SHOP",
    "Change",
    "Draft",
    "Hit",
    "Job",
    "Kept",
    "Person",
    "Photo",
    "Record",
    "Role",
    "StaleError",
    "Store",
    "StoreError",
    "Task",
    "TextPart",
    "UnknownError",
    "catalog_of",
]
