"""Questions that are asked of the model many at a time, and each of them answered once."""

from collections.abc import Callable, Sequence
from itertools import islice
from typing import Generic, TypeVar

QuestionT = TypeVar("QuestionT")
AnswerT = TypeVar("AnswerT")


class AskedOnce(Generic[QuestionT, AnswerT]):
    """A function of questions, each answered by itself, that keeps its last `most` answers and asks for none again."""

    def __init__(self, answer: Callable[[Sequence[QuestionT]], Sequence[AnswerT]], most: int) -> None:
        self._answer = answer
        self._most = most
        self._known: dict[QuestionT, AnswerT] = {}

    def __call__(self, questions: Sequence[QuestionT]) -> tuple[AnswerT, ...]:
        new = [question for question in dict.fromkeys(questions) if question not in self._known]
        if new:
            self._known |= dict(zip(new, self._answer(new), strict=True))
        found = tuple(self._known[question] for question in questions)
        for oldest in tuple(islice(self._known, max(len(self._known) - self._most, 0))):
            del self._known[oldest]
        return found
