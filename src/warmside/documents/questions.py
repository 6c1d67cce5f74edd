"""What people ask: answers that walls share once, the others by wall, each with its sources."""

from __future__ import annotations

from warmside.documents.proposal_data import Asked, Reply
from warmside.documents.words import References, raised
from warmside.study import Answer, Study, WallStudy, answers

_Told = dict[str, Answer]  # by wall


def what_people_ask(
    study: Study, refs: References
) -> tuple[tuple[Asked, ...], dict[str, tuple[Asked, ...]]]:
    """Questions of the house, and by wall those whose answers differ from wall to wall.

    A question stands with the house as long as it has at most half as many answers as walls.

    Parameters
    ----------
    study : Study
        The house studied.
    refs : References
        Takes the sources used.
    """
    house: list[Asked] = []
    by_wall: dict[str, list[Asked]] = {wall.wall.name: [] for wall in study.walls}
    for told in _by_question(study):
        texts = {str(answer.text) for answer in told.values()}
        if len(texts) == 1 or 2 * len(texts) <= len(told):
            house.append(_shared(told, study, refs))
            continue
        for name, answer in told.items():
            reply = _reply("", answer, study.wall(name), study, refs)
            by_wall[name].append(Asked(answer.question, (reply,)))
    return tuple(house), {name: tuple(asked) for name, asked in by_wall.items()}


def _by_question(study: Study) -> list[_Told]:
    """For every question its answers by wall; each wall answers the same ones in the same order."""
    walls = [wall.wall.name for wall in study.walls]
    rows = [answers(study, name) for name in walls]
    return [dict(zip(walls, told, strict=True)) for told in zip(*rows, strict=True)]


def _shared(told: _Told, study: Study, refs: References) -> Asked:
    """One question with its few answers, the one that holds for most walls first."""
    walls: dict[str, list[str]] = {}
    for name, answer in told.items():
        walls.setdefault(str(answer.text), []).append(name)
    replies = []
    for names in sorted(walls.values(), key=lambda names: -len(names)):
        where = ", ".join(names) if len(walls) > 1 else ""
        replies.append(_reply(where, told[names[0]], study.wall(names[0]), study, refs))
    return Asked(next(iter(told.values())).question, tuple(replies))


def _reply(where: str, answer: Answer, wall: WallStudy, study: Study, refs: References) -> Reply:
    """An answer with the sources of its figures and of the findings whose words it takes over."""
    judged = {("", finding.key): finding.source for finding in study.findings}
    for option in wall.options:
        judged |= {(option.option.id, f.key): f.source for f in option.findings}
    sources = [figure.source for figure in answer.figures if figure.source]
    sources += [judged[link] for link in answer.findings if link in judged]
    return Reply(where, raised(str(answer.text)), raised(answer.measure), refs.to(*sources))
