"""Every question, in the order in which a client is likely to ask."""

from __future__ import annotations

from collections.abc import Callable

from warmside.promises import Language, texts
from warmside.study._parts import Study
from warmside.study.answers import _people, _thickness, _water, _work
from warmside.study.answers._answer import About, Answer, Asked

# Source of the questions: what owners, officials and crews ask in public; common practice.
_QUESTIONS: tuple[tuple[Callable[[Asked], None], About], ...] = (
    (_thickness.how_thick, "wall"),
    (_thickness.why_not_three, "wall"),
    (_thickness.half_inch, "wall"),
    (_thickness.studs, "wall"),
    (_thickness.cold_studs, "wall"),
    (_water.poly, "wall"),
    (_water.trap, "wall"),
    (_water.rain, "wall"),
    (_water.siding, "wall"),
    (_water.felt, "wall"),
    (_water.sandwich, "wall"),
    (_water.flash, "wall"),
    (_work.wiring, "wall"),
    (_work.from_outside, "wall"),
    (_work.injected, "wall"),
    (_work.rim, "wall"),
    (_work.headers, "wall"),
    (_work.balloon, "wall"),
    (_work.brace, "wall"),
    (_people.price, "wall"),
    (_people.payback, "wall"),
    (_people.fire, "wall"),
    (_people.sleep, "wall"),
    (_people.bad_foam, "wall"),
    (_people.too_tight, "house"),
    (_people.permit, "wall"),
    (_work.mice, "wall"),
    (_work.winter, "wall"),
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
