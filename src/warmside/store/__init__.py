"""What was done and decided: jobs with their texts, photos, records, people, and every change."""

from warmside.store.backup import Copy, Restored, back_up, checked_copy, restore
from warmside.store.checks import catalog_of
from warmside.store.errors import StaleError, StoreError, UnknownError
from warmside.store.images import cleaned
from warmside.store.keeping import (
    Change,
    Draft,
    Erased,
    Hit,
    Job,
    Kept,
    Person,
    Photo,
    Record,
    Role,
    Session,
    Task,
    TextPart,
)
from warmside.store.ledger import SHOP
from warmside.store.store import Store, import_into

__all__ = [
    "SHOP",
    "Change",
    "Copy",
    "Draft",
    "Erased",
    "Hit",
    "Job",
    "Kept",
    "Person",
    "Photo",
    "Record",
    "Restored",
    "Role",
    "Session",
    "StaleError",
    "Store",
    "StoreError",
    "Task",
    "TextPart",
    "UnknownError",
    "back_up",
    "catalog_of",
    "checked_copy",
    "cleaned",
    "import_into",
    "restore",
]
