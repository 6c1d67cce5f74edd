"""How is it written: figures, sentences, verdicts and counts, once for every page and paper."""

from warmside.wording.figure import Figure, Kind, Source, Tag, figure_by_unit
from warmside.wording.plain import from_plain, to_plain
from warmside.wording.sentence import (
    Sentence,
    capital,
    counted,
    joined,
    listed,
    lowered,
    plain,
    say,
)
from warmside.wording.style import (
    DATES,
    PAPER,
    SHEET,
    STEPS,
    WAYS,
    Country,
    Language,
    Style,
    beside_english,
    feet,
    raised,
)
from warmside.wording.verdict import OPEN, PROMISES, WORST, Promise, Standing, Verdict, worst

__all__ = [
    "DATES",
    "OPEN",
    "PAPER",
    "PROMISES",
    "SHEET",
    "STEPS",
    "WAYS",
    "WORST",
    "Country",
    "Figure",
    "Kind",
    "Language",
    "Promise",
    "Sentence",
    "Source",
    "Standing",
    "Style",
    "Tag",
    "Verdict",
    "beside_english",
    "capital",
    "counted",
    "feet",
    "figure_by_unit",
    "from_plain",
    "joined",
    "listed",
    "lowered",
    "plain",
    "raised",
    "say",
    "to_plain",
    "worst",
]
