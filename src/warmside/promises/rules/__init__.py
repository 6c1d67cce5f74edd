"""What a clause says of facts: one evaluator for every code, and the facts of one option."""

from warmside.promises.rules.case import Case
from warmside.promises.rules.evaluation import Judgement, judge, judged, worst
from warmside.promises.rules.facts import facts_of, flame_facts
from warmside.promises.rules.layers import HIDDEN

__all__ = ["HIDDEN", "Case", "Judgement", "facts_of", "flame_facts", "judge", "judged", "worst"]
