"""What is not promised: every verdict that a person must give or that falls short, in few lines."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from warmside.documents.annex_data import Unpromised
from warmside.promises import Finding, Promise, Verdict
from warmside.study import Study
from warmside.wording import OPEN, lowered, parted

_HOUSE = "the house"
_ALL = "all walls"
_WHOLE = (_HOUSE, _ALL)
_Place = tuple[str, Finding]
# what the hours say of each path, which the wall's own page tells path by path
_BY_HOURS = ("mould_index_", "rot_activation_", "rotting_days_", "summer_moisture_")


def unpromised(study: Study) -> tuple[Unpromised, ...]:
    """One line per promise and verdict that does not hold, what falls short first.

    Parameters
    ----------
    study : Study
        The house: what is put forward on each wall, and the house with all of it.
    """
    walls = [w.wall.name for w in study.walls]
    places: list[_Place] = [(w.wall.name, f) for w in study.walls for f in w.chosen.findings]
    places += [(_HOUSE, f) for f in study.findings]
    # a clause by its title alone: its number stands among the findings of the study
    titles = {f"{p.id}:{c.id}": c.title for p in study.packs for c in p.clauses}
    places = [(w, replace(f, name=titles.get(f.key, f.name))) for w, f in places]
    return tuple(
        Unpromised(promise, verdict, _told(open_, walls, _few), _told(open_, walls, _every))
        for verdict in OPEN
        for promise, open_ in _by_promise(places, verdict)
    )


def _by_promise(
    places: Sequence[_Place], verdict: Verdict
) -> Iterator[tuple[Promise, list[_Place]]]:
    promises = dict.fromkeys(f.promise for _, f in places if f.verdict == verdict)
    for promise in promises:
        yield promise, [(w, f) for w, f in places if (f.promise, f.verdict) == (promise, verdict)]


def _told(
    places: Sequence[_Place], walls: Sequence[str], listed: Callable[[Sequence[str], int], str]
) -> str:
    """``all walls: A, B; north front: C``: what is open, by where it is open."""
    where: dict[str, dict[str, None]] = {}
    for place, finding in places:
        where.setdefault(_short(finding), {})[place] = None
    what: dict[str, list[str]] = {}
    for name, spots in where.items():
        what.setdefault(_spots(list(spots), walls), []).append(name)
    return "; ".join(
        f"{listed(names, 3 if place in _WHOLE else 2)} ({place})" for place, names in what.items()
    )


def _few(names: Sequence[str], most: int) -> str:
    """The first names, and how many more the list on a later page tells."""
    if len(names) <= most:
        return parted(names)
    return f"{parted(names[: most - 1])} and {len(names) - most + 1} more"


def _every(names: Sequence[str], _most: int) -> str:
    return parted(names)


def _short(finding: Finding) -> str:
    """A finding by the first words of its name; hazards in one, since their own table has them."""
    if finding.key.startswith("hazard"):
        return "the hazards under Before any work starts"
    if finding.key.startswith(_BY_HOURS):
        return "mould, rot or wet wood through the year"
    name = finding.name.partition(":")[0].partition(",")[0]
    return lowered(name)


def _spots(spots: list[str], walls: Sequence[str]) -> str:
    if len(spots) == 1:
        return spots[0]
    if set(walls) <= set(spots):
        return _ALL
    return f"{len(spots)} walls" if len(spots) > 2 else parted(spots)
