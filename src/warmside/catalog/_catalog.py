"""The catalog as one object; see ``load``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cached_property
from typing import TypeVar

from warmside.catalog._air import AirFigure, VentingRow
from warmside.catalog._codes import CodePack
from warmside.catalog._countries import country_of, usual_air, usual_foams, usual_fuels
from warmside.catalog._fills import FillState
from warmside.catalog._hazards import HazardRow, NeverAlone, Presumption
from warmside.catalog._near import near
from warmside.catalog._places import find_place, one_letter
from warmside.catalog._rows import (
    Climate,
    Foam,
    Fuel,
    JointRow,
    Lumber,
    Material,
    MoistureRow,
)
from warmside.catalog._site import Reminder, Sign, SiteFigure
from warmside.catalog._usual import Usual
from warmside.catalog._words import TradeWord
from warmside.errors import UnknownRowError

Row = TypeVar("Row")


@dataclass(frozen=True)
class Catalog:
    """Everything known before a house is seen, by id; what the hazards are called by kind.

    Materials and foams carry their moisture rows. The look-ups raise ``UnknownRowError`` with the
    nearest names.
    """

    materials: Mapping[str, Material]
    foams: Mapping[str, Foam]
    joints: Mapping[str, JointRow]
    fuels: Mapping[str, Fuel]
    climates: Mapping[str, Climate]
    lumber: tuple[Lumber, ...]
    hazards: Mapping[str, HazardRow] = field(default_factory=dict)
    presumed: Mapping[str, Presumption] = field(default_factory=dict)
    never: Mapping[str, NeverAlone] = field(default_factory=dict)
    usual: Mapping[str, Usual] = field(default_factory=dict)
    words: Mapping[str, TradeWord] = field(default_factory=dict)
    fills: Mapping[str, FillState] = field(default_factory=dict)
    site: tuple[SiteFigure, ...] = ()
    reminders: tuple[Reminder, ...] = ()
    signs: tuple[Sign, ...] = ()
    air: Mapping[str, AirFigure] = field(default_factory=dict)
    venting: Mapping[str, VentingRow] = field(default_factory=dict)
    packs: Mapping[str, CodePack] = field(default_factory=dict)
    own_files: tuple[str, ...] = ()  # files of the user's own rows
    # where an own row stands: kind and id -> "ours.toml, line 12"
    places: Mapping[tuple[str, str], str] = field(default_factory=dict, compare=False, repr=False)

    def material(self, id: str) -> Material:
        """Look up a material or membrane."""
        return _row("material", self.materials, id, self.words)

    def foam(self, id: str) -> Foam:
        """Look up a sprayed foam."""
        return _row("foam", self.foams, id, self.words)

    def joint(self, id: str) -> JointRow:
        """Look up a joint or hole by the id of its row."""
        return _row("joint", self.joints, id)

    def for_kind(self, kind: str) -> JointRow:
        """Look up the row that serves joints of ``kind``, as the framing names it."""
        return _row("kind of joint", self._by_kind, kind)

    @cached_property
    def _by_kind(self) -> Mapping[str, JointRow]:
        return {k: row for row in reversed(tuple(self.joints.values())) for k in row.kinds}

    @cached_property
    def moisture(self) -> Mapping[str, MoistureRow]:
        """The moisture rows by the id of the material or foam that carries them."""
        rows: list[Material | Foam] = [*self.materials.values(), *self.foams.values()]
        return {row.id: row.moisture for row in rows if row.moisture is not None}

    def fuel(self, id: str) -> Fuel:
        """Look up a fuel."""
        return _row("fuel", self.fuels, id, self.words)

    def climate(self, id: str) -> Climate:
        """Look up a station: a row by its id, else a place by name, ZIP prefix or position."""
        if id in self.climates:
            return self.climates[id]
        close = [one for one in self.climates if one_letter(str(id).strip().lower(), one)]
        if len(close) == 1:
            row = self.climates[close[0]]
            return replace(row, said=(*row.said, f"place: '{id}' was taken as {row.name}"))
        return find_place(id, self.climates)

    def hazard(self, kind: str) -> HazardRow:
        """Look up what is known of a kind of hazard."""
        return _row("hazard", self.hazards, kind)

    def site_figure(self, id: str, family: str = "") -> SiteFigure:
        """Look up a figure of the working day, for a family of foam if it has its own."""
        found = self._site.get((id, family)) or self._site.get((id, ""))
        if found is None:
            raise UnknownRowError("site figure", str(id), near(str(id), {r.id for r in self.site}))
        return found

    @cached_property
    def _site(self) -> Mapping[tuple[str, str], SiteFigure]:
        return {(row.id, row.family): row for row in self.site}

    def fill_state(self, state: str, material: str) -> FillState | None:
        """What ``state`` does to a fill of ``material``; None where no row tells: it is sound."""
        found = [row for row in self.fills.values() if row.state == state]
        named = [row for row in found if material in row.materials]
        return next(iter([*named, *(row for row in found if not row.materials)]), None)

    def air_figure(self, id: str) -> AirFigure:
        """Look up a rate or threshold of the air that people breathe."""
        return _row("air figure", self.air, id)

    def vent(self, kind: str) -> VentingRow:
        """Look up how far the pressure may fall for a kind of venting."""
        return _row("kind of venting", self.venting, kind)

    def pack(self, id: str) -> CodePack:
        """Look up a code pack."""
        return _row("code pack", self.packs, id)

    def packs_for(self, climate: Climate) -> tuple[CodePack, ...]:
        """The packs that a house at ``climate`` is judged by when none is asked for.

        Those of the station's country; all where neither its row nor its region says it.
        """
        packs, country = tuple(self.packs.values()), country_of(climate)
        if country is None:
            return packs
        return tuple(pack for pack in packs if pack.country == country.name)

    def at(self, place: str) -> Catalog:
        """This catalog as it serves a house at ``place``: what its country takes for granted.

        The country's usual foam comes first of its family, its radon figure is the guideline, and
        gas is what is sold there as gas; own rows stay before all of them.
        """
        country = country_of(self.climate(place))
        foams, air = usual_foams(self.foams, country), usual_air(self.air, country)
        return replace(self, foams=foams, air=air, fuels=usual_fuels(self.fuels, country))

    def usual_of(self, of: str, year: int | None = None) -> Usual:
        """Look up what is usual of a figure of the survey, in a house of ``year``."""
        for row in self.usual.values():
            if row.of == of and (year is None or row.since <= year < row.before):
                return row
        raise UnknownRowError("usual figure", of, near(of, {r.of for r in self.usual.values()}))

    def stud(self, nominal: str, year: int) -> Lumber:
        """Look up the actual size of ``nominal`` lumber, such as "2x4", in a house of ``year``."""
        of_size = [row for row in self.lumber if row.nominal == nominal]
        for row in of_size:
            if row.first <= year <= row.last:
                return row
        if of_size:
            spans = tuple(f"{row.first}-{row.last}" for row in of_size)
            raise UnknownRowError("lumber", f"{nominal} of {year}", spans)
        raise UnknownRowError(
            "lumber", nominal, near(nominal, {row.nominal for row in self.lumber})
        )


def _row(
    kind: str, rows: Mapping[str, Row], id: str, words: Mapping[str, TradeWord] | None = None
) -> Row:
    try:
        return rows[id]
    except (KeyError, TypeError):
        close = (*_meant(kind, str(id), rows, words or {}), *near(str(id), rows))
        raise UnknownRowError(kind, str(id), tuple(dict.fromkeys(close))[:4]) from None


def _meant(
    kind: str, name: str, rows: Mapping[str, Row], words: Mapping[str, TradeWord]
) -> tuple[str, ...]:
    """Rows that the trade calls so, a letter or two wrong or not."""
    spelt = "-".join(name[:100].lower().split())
    of_kind = {word.id: word for word in words.values() if word.kind == kind}
    for word in (spelt, *get_close_matches(spelt, of_kind, n=1, cutoff=0.8)):
        if word in of_kind:
            return tuple(id for id in of_kind[word].means if id in rows)
    return ()
