"""What a clause says of facts: one evaluator for every code, and the facts of one option."""

from warmside.promises.rules.evaluation import Judgement, judge, worst
from warmside.promises.rules.facts import Case, facts_of

__all__ = ["Case", "Judgement", "facts_of", "judge", "worst"]
