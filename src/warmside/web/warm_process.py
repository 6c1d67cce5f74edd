"""What a warm process does: it keeps the last study of a few jobs and judges walls that are edited.

It serves many people by steps: first whoever has no figures yet, then what is put forward by its
field, then the rest; among those in the same place each gets a step in turn.
"""

from __future__ import annotations

import gc
import itertools
import json
import os
import traceback
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Literal

from warmside.errors import InputError, WarmsideError
from warmside.workers import alone

if TYPE_CHECKING:
    from warmside.estimate import PriceList
    from warmside.physics.conduction import Inside
    from warmside.store import Store
    from warmside.study import OptionStudy, Study, Together
    from warmside.study.depths import Depth
    from warmside.study.one_wall import Ground, Seen
    from warmside.study.report import OptionReport
    from warmside.survey import Survey
    from warmside.wording import Figure

JOBS = 6  # kept warm by one process
MEMORY = 1200 << 20  # [byte] that a process takes until it keeps one job alone
_NICE = 2  # pages come first, studies of whole houses last
_PAUSE = 1.0  # [s] without an ask, after which there is time to tidy up
_LOOSE = 60_000  # objects made since that was done last, after which it is done between two asks


@dataclass(frozen=True)
class Ask:
    """A wall as somebody has it in a form now.

    ``base`` is the key of what the job's last study computed beside money, where it was made of the
    same catalog and weather; "" for none. ``texts`` are the revisions of what was not edited.
    """

    job: str
    base: str
    texts: Mapping[str, int]
    survey: str
    prices: str
    wall: int
    shown: str = ""  # id of the option that somebody looks at
    depths: bool = False  # every depth of foam is asked for, and nothing else
    first: float = 0.0  # [m] the depth that is looked at; 0: what is put forward
    pages: bool = False  # the pages of the study by these texts are asked for, and nothing else
    inside: str = ""  # id of the option whose layers and pieces are asked for, and nothing else
    number: int = 0  # of those that one server asks


@dataclass(frozen=True)
class Option:
    """One option as the page shows it, and how far it is known."""

    report: OptionReport
    state: Literal["quick", "3-D", "whole"]
    coldest_at: str
    price: Figure | None


@dataclass(frozen=True)
class House:
    """What the house comes to with the last plan on its other walls."""

    price: Figure
    saving: Figure | None


@dataclass(frozen=True)
class Told:
    """What has become known of an ask; ``done`` of ``total`` options are known in whole."""

    number: int
    options: tuple[Option, ...] = ()
    put_forward: str = ""
    house: House | None = None
    done: int = 0
    total: int = 0
    complete: bool = False  # whether all options are told
    depths: tuple[float, ...] = ()  # [m] that will be told, in that order
    depth: Depth | None = None
    inside: Inside | None = None
    ends: bool = False
    fault: str = ""


@dataclass
class _Served:
    """An ask that is being answered."""

    steps: Iterator[Told | None]
    place: int = 0  # 0: no figures yet; 1: what is put forward by its field; 2: the rest
    turn: int = 0


def serve(line: Connection, where: str, secret: bytes) -> None:
    """Answer what comes over ``line`` until it is closed; the target of the process.

    An ``Ask`` begins, its number alone (an int) ends it.
    """
    from warmside.store import Store

    os.nice(_NICE)
    alone()
    gc.disable()  # a look at all that is kept takes longer than a step: it comes between edits
    with Store.open(where) as store:
        jobs, open_, turns = _Jobs(store, secret), dict[int, _Served](), itertools.count()
        while True:
            try:
                if not open_ and not line.poll(_PAUSE):
                    jobs.tidy()
                while line.poll(0 if open_ else None):
                    _take(line.recv(), open_, jobs)
                if gc.get_count()[0] > _LOOSE and all(one.place for one in open_.values()):
                    jobs.tidy()  # nobody waits for first figures
                if open_:
                    number = min(open_, key=lambda n: (open_[n].place, open_[n].turn))
                    open_[number].turn = next(turns)
                    _step(number, open_, line)
            except (EOFError, OSError):  # whoever asked is gone
                return


def _take(message: Ask | int, open_: dict[int, _Served], jobs: _Jobs) -> None:
    if isinstance(message, int):
        open_.pop(message, None)
    else:
        open_[message.number] = _Served(jobs.answer(message))


def _step(number: int, open_: dict[int, _Served], line: Connection) -> None:
    """One step of one ask."""
    served = open_[number]
    try:
        told = next(served.steps)
    except StopIteration:
        told = Told(number, ends=True)
    except InputError as error:
        told = Told(number, ends=True, fault=" ".join(str(fault) for fault in error.faults[:3]))
    except WarmsideError as error:
        told = Told(number, ends=True, fault=str(error))
    except Exception:
        told = Told(number, ends=True, fault=f"A fault of the program: {traceback.format_exc(-1)}")
    if told is None:
        return
    if told.depth or told.depths:
        served.place = 2  # whoever edits goes first
    elif told.complete:
        served.place = 1
    elif served.place and any(o.report.id == told.put_forward for o in told.options):
        served.place = 2
    if told.ends:
        open_.pop(number)
    line.send(told)


@dataclass
class _Jobs:
    """Jobs that are warm, the one used last at the end."""

    store: Store
    secret: bytes
    grounds: OrderedDict[str, Ground] = field(default_factory=OrderedDict)

    def tidy(self) -> None:
        """Give back what nothing reaches of what was made since the last time.

        What was kept then is not looked through again: it goes when nobody refers to it, and
        looking through a few studied houses takes seconds, for which an edit would wait.
        """
        gc.collect()
        gc.freeze()

    def answer(self, ask: Ask) -> Iterator[Told | None]:
        """Figures of the wall, as they become known."""
        from warmside.study.one_wall import follow

        if ask.pages:
            yield from self._pages(ask)
            return
        ground, survey = self._ground(ask)
        if ask.inside:
            yield Told(ask.number, inside=_inside(ground.study, ask))
            return
        prices = _prices(ask.prices)
        if ask.depths:
            yield from _depths(ask, ground, prices)
            return
        whole: set[str] = set()
        total = 0
        for seen in follow(ground, survey, ask.wall - 1, prices, ask.shown):
            if seen is None:
                yield None
                continue
            options = _shown(seen, prices.currency)
            whole |= {o.report.id for o in options if o.state == "whole"}
            total = len(options) if seen.complete else total
            house = _house(seen.house, prices.currency) if seen.house else None
            yield Told(ask.number, options, seen.put_forward, house, len(whole), total,
                       complete=seen.complete)  # fmt: skip
        self._bound()

    def _pages(self, ask: Ask) -> Iterator[Told | None]:
        """The pages of the study, kept, where a whole study of this house is at hand."""
        from warmside.study import with_choices, with_notes, with_prices
        from warmside.survey import read
        from warmside.web.dossier import body_of, keep_pages, texts_of

        texts, survey = texts_of(self.store, ask.job, ask.texts), read(ask.survey)
        ground = self._whole(ask, survey) if body_of(texts) == ask.base else None
        if ground is None:
            yield Told(ask.number, ends=True, fault="Not a study of this house.")
            return
        self.grounds[ask.job] = ground
        self._bound()
        yield None
        found = with_prices(ground.study, _prices(ask.prices))
        if found is None:
            yield Told(ask.number, ends=True, fault="The house is studied anew.")
            return
        chosen = json.loads(texts["choices"]) if texts["choices"].strip() else {}
        put = with_choices(with_notes(found, survey), chosen)
        yield None
        yield from keep_pages(self.store, texts, put, date.today())
        yield Told(ask.number, ends=True)

    def _ground(self, ask: Ask) -> tuple[Ground, Survey]:
        """The last study, where it is one of this house; else one made by the simple methods."""
        from warmside.study.one_wall import Ground
        from warmside.survey import read

        survey, simple = read(ask.survey), f"by the simple methods {_name(ask)}"
        ground = self.grounds.get(ask.job)
        if ground is None or ground.name != simple or not ground.holds(survey):
            ground = self._whole(ask, survey) or Ground(self._simply(ask, survey), simple)
            gc.freeze()  # a whole study: nothing of it is loose
        self.grounds.pop(ask.job, None)
        self.grounds[ask.job] = ground
        self._bound()
        return ground, survey

    def _whole(self, ask: Ask, survey: Survey) -> Ground | None:
        """The last study as it is kept, where it is one of this house."""
        from warmside.study.one_wall import Ground
        from warmside.web.dossier import kept_study

        ground = self.grounds.get(ask.job)
        if ground is None or ground.name != _name(ask):
            found = kept_study(self.store, ask.base, self.secret) if ask.base else None
            ground = Ground(found, _name(ask)) if found else None
        return ground if ground and ground.holds(survey) else None

    def _simply(self, ask: Ask, survey: Survey) -> Study:
        from warmside.study import study
        from warmside.web.dossier import rows_and_year, texts_of

        texts = texts_of(self.store, ask.job, ask.texts)
        catalog, year = rows_and_year(texts, survey.house.climate)
        return study(survey, catalog, weather=year, fields=False, years=0)

    def _bound(self) -> None:
        """Keep a few jobs, and one alone where the process has grown large."""
        large = _taken() > MEMORY
        old = len(self.grounds) > (most := 1 if large else JOBS)
        while len(self.grounds) > most:
            self.grounds.popitem(last=False)
        if old and large:  # everything is looked through
            gc.unfreeze()
            self.tidy()


def _depths(ask: Ask, ground: Ground, prices: PriceList) -> Iterator[Told]:
    """The wall at every depth of foam, what is looked at first."""
    from warmside.study import by_prices
    from warmside.study.depths import advised, built, depths

    study, number = by_prices(ground.study, prices), ask.wall - 1
    build_ups = built(study, number, ask.first or advised(study, number))
    yield Told(ask.number, depths=tuple(b.option.thickness for b in build_ups))
    for one in depths(study, number, build_ups, ground.kept):
        yield Told(ask.number, depth=one)


def _inside(study: Study, ask: Ask) -> Inside:
    """The wall with one option, cell by cell."""
    from warmside.physics.conduction import wall_inside
    from warmside.study.fields import CELLS, TOLERANCE

    option = study.walls[ask.wall - 1].option(ask.inside)
    return wall_inside(option.build_up.assembly, cells=CELLS, tolerance=TOLERANCE)


def _name(ask: Ask) -> str:
    return f"{ask.base} {ask.texts.get('catalog', 0)} {ask.texts.get('weather', 0)}"


def _taken() -> int:
    """Memory of this process [byte]; 0 where the system does not say."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except OSError:
        return 0


@lru_cache(maxsize=JOBS)
def _prices(text: str) -> PriceList:
    from warmside.estimate import read_prices

    return read_prices(text)


def _shown(seen: Seen, currency: str) -> tuple[Option, ...]:
    from warmside.study.one_wall import state_of
    from warmside.study.report.wall import option_report
    from warmside.wording import Figure

    def price(one: OptionStudy) -> Figure | None:
        return Figure(float(one.price.total), "money", currency=currency) if one.price else None

    return tuple(
        Option(
            option_report(one, currency, ()),
            state_of(one),
            one.warm.coldest.where,
            price(one),
        )
        for one in seen.options
    )


def _house(house: Together, currency: str) -> House:
    from warmside.promises import banded
    from warmside.wording import Figure

    saved, total = house.worth.money, float(house.price.total)
    return House(
        Figure(total, "money", currency=currency),
        banded(saved, "money", currency) if saved else None,
    )
