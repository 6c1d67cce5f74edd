"""What people ask: each question once, its answers by wall where they differ, with sources."""

from __future__ import annotations

from warmside.documents.annex_data import Asked, Reply
from warmside.study import Answer, Study, WallStudy, answers
from warmside.wording import parted, raised

_Told = dict[str, Answer]  # by wall


def what_people_ask(study: Study) -> tuple[Asked, ...]:
    """Every question once, its answers by the walls that they hold for.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    return tuple(_shared(told, study) for told in _by_question(study))


def _by_question(study: Study) -> list[_Told]:
    """For every question its answers by wall; each wall answers the same ones in the same order."""
    walls = [wall.wall.name for wall in study.walls]
    rows = [answers(study, name) for name in walls]
    return [dict(zip(walls, told, strict=True)) for told in zip(*rows, strict=True)]


def _shared(told: _Told, study: Study) -> Asked:
    """One question with its few answers, the one that holds for most walls first."""
    walls: dict[str, list[str]] = {}
    for name, answer in told.items():
        walls.setdefault(str(answer.text), []).append(name)
    replies = []
    for names in sorted(walls.values(), key=lambda names: -len(names)):
        where = parted(names) if len(walls) > 1 else ""
        replies.append(_reply(where, told[names[0]], study.wall(names[0]), study))
    return Asked(next(iter(told.values())).question, tuple(replies))


def _reply(where: str, answer: Answer, wall: WallStudy, study: Study) -> Reply:
    """An answer with the sources of its figures and of the findings whose words it takes over."""
    judged = {("", finding.key): finding.source for finding in study.findings}
    for option in wall.options:
        judged |= {(option.option.id, f.key): f.source for f in option.findings}
    sources = [figure.source for figure in answer.figures if figure.source]
    sources += [judged[link] for link in answer.findings if link in judged]
    return Reply(where, answer.text, raised(answer.measure), tuple(sources))
