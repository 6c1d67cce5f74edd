"""What owners, officials and crews ask, answered for one wall from its own figures."""

from warmside.study.answers.answer import About, Answer
from warmside.study.answers.questions import answers

__all__ = ["About", "Answer", "answers"]
