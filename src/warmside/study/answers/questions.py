"""Every question, in the order in which a client is likely to ask."""

from __future__ import annotations

from collections.abc import Callable

from warmside.promises import Language, texts
from warmside.study.answers import people, thickness, water, work
from warmside.study.answers.answer import About, Answer, Asked
from warmside.study.house import Study

# Source of the questions: what owners, officials and crews ask in public; common practice.
_QUESTIONS: tuple[tuple[Callable[[Asked], None], About], ...] = (
    (thickness.how_thick, "wall"),
    (thickness.why_not_three, "wall"),
    (thickness.half_inch, "wall"),
    (thickness.studs, "wall"),
    (thickness.cold_studs, "wall"),
    (water.poly, "wall"),
    (water.trap, "wall"),
    (water.rain, "wall"),
    (water.siding, "wall"),
    (water.felt, "wall"),
    (water.sandwich, "wall"),
    (water.flash, "wall"),
    (work.wiring, "wall"),
    (work.from_outside, "wall"),
    (work.injected, "wall"),
    (work.rim, "wall"),
    (work.headers, "wall"),
    (work.balloon, "wall"),
    (work.brace, "wall"),
    (people.price, "wall"),
    (people.payback, "wall"),
    (people.fire, "wall"),
    (people.sleep, "wall"),
    (people.bad_foam, "wall"),
    (people.too_tight, "house"),
    (people.permit, "wall"),
    (work.mice, "wall"),
    (work.winter, "wall"),
)


def answers(study: Study, wall: str, language: Language = "en") -> tuple[Answer, ...]:
    """The questions that are asked, answered for one wall and what is put forward on it.

    Parameters
    ----------
    study : Study
        The house studied.
    wall : str
        Name of the wall.
    language : {"en", "fr"}
        Language of the texts; an answer that is not translated whole is English.

    Returns
    -------
    tuple of Answer
        Always the same questions in the same order.

    Raises
    ------
    InputError
        A wall that the study does not have, or a language that is not spoken.
    """
    place, spoken = study.wall(wall), texts(language)
    found = []
    for question, about in _QUESTIONS:
        key = question.__name__
        # an answer is in one language or the other, never in both
        whole = spoken if spoken.speaks(f"answer.{key}") else texts("en")
        asked = Asked(study, place, whole, key, about)
        question(asked)
        found.append(asked.answer())
    return tuple(found)
