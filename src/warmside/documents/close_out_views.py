"""What the close-out shows, as plain data: every text as the reader sees it, with its sources.

The rows of its tables are made in `close_out_paper`, each under the names of its columns.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from warmside.documents.picture import Picture
from warmside.documents.typesetting import PaperView
from warmside.study.report import Statement

Row = dict[str, Any]


@dataclass(frozen=True)
class WallProof:
    """One wall: its promises, its pictures, its readings."""

    name: str
    option: str
    kept: tuple[Row, ...]
    pictures: tuple[Picture, ...] = ()
    remarks: tuple[Statement, ...] = ()
    rules: tuple[Statement, ...] = ()
    readings: tuple[Statement, ...] = ()
    photos: tuple[Picture, ...] = ()
    works: tuple[Row, ...] = ()


@dataclass(frozen=True)
class CloseOutView(PaperView):
    """The whole close-out."""

    synthetic: bool  # nobody measured any of it
    headline: tuple[Statement, ...]
    promises: tuple[Row, ...]  # each promise with its verdict, and in how many findings
    receipt: tuple[Row, ...]  # what was installed in each part of the house; parts are never added
    receipt_note: Statement
    house_kept: tuple[Row, ...]
    house_works: tuple[Row, ...]
    walls: tuple[WallProof, ...]
    probes: tuple[Row, ...]  # of each wall
    density: tuple[Statement, ...]
    fan: tuple[Statement, ...]
    remedies: tuple[Row, ...]  # what is still to be done
    remedy_sum: str
    days: tuple[Row, ...]
    overrides: tuple[Row, ...]
    re_entry: str
    care: tuple[str, ...]
