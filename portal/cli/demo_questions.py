"""The demo's questions: asked before booking through the verbs that the pages use."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from typing import Any

from portal.craft.declared import read_declared
from portal.craft.parts import Declared
from portal.orders.counter import answering_questions
from portal.orders.counter.questions_view import to_answer
from portal.orders.intake import drafts, questions
from portal.orders.kernel.unit import UnitOfWork


@dataclass(frozen=True, slots=True)
class Wonders:
    """One question as `jobs.toml` tells it; `asked` counts working days from today."""

    name: str
    declared: Declared
    asked: int
    text: str
    answer: str = ""
    locale: str = "en"


def read_questions(text: str) -> list[Wonders]:
    """Read the questions of `jobs.toml`; each names one of its orders."""
    data: dict[str, Any] = tomllib.loads(text)
    return [
        Wonders(declared=read_declared(data["orders"][row.pop("order")]), **row)
        for row in map(dict, data.get("question", ()))
    ]


def plan(
    unit: UnitOfWork,
    text: str,
    at: Callable[[datetime, Callable[[], None]], None],
    evening: Callable[[int], datetime],
    morning: Callable[[float], datetime],
    *,
    who: int,
) -> None:
    """Let each question be asked in the evening, and answered the next morning."""
    for number, one in enumerate(read_questions(text)):
        at(evening(one.asked), partial(_ask, unit, one, number))
        if one.answer:
            at(morning(one.asked + 1.1), partial(_answer, unit, one, who))


def _ask(unit: UnitOfWork, one: Wonders, number: int) -> None:
    token = drafts.begin(unit, locale=one.locale)
    for version, place in enumerate(("set:A", *(f"fitted:{s.key}" for s in one.declared.sets)), 1):
        drafts.save(unit, token, place, version, lambda a: replace(a, declared=one.declared))
    email = one.name.lower().replace(" ", ".") + "@example.com"
    questions.ask(
        unit,
        token,
        questions.Asking(one.text, one.name, email),
        once_token=f"demo-question-{number}",
        address=f"192.0.2.{number + 1}",
    )


def _answer(unit: UnitOfWork, one: Wonders, who: int) -> None:
    for line in to_answer(unit):
        if line.name == one.name:
            answering_questions.answer(
                unit, line.question_id, one.answer, once_token=f"demo-answer-{one.name}", who=who
            )
