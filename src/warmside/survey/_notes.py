"""What of a survey is only read by people."""

from __future__ import annotations

from warmside.survey._models import Survey


def without_notes(survey: Survey) -> Survey:
    """The survey without notes, and without who looked twice at a figure: nothing is computed
    from either.
    """
    blank = {"notes": ""}
    return survey.model_copy(
        update={
            "house": survey.house.model_copy(update=blank),
            "walls": tuple(wall.model_copy(update=blank) for wall in survey.walls),
            "hazards": tuple(hazard.model_copy(update=blank) for hazard in survey.hazards),
            "accepted": (),
        }
    )
