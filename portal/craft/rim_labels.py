"""Numbers that bear a label: "ET35", "66.6 CB", "PCD 114.3 OFFSET 45".

A label belongs to the number behind it or before it. Which of the two is decided for the marking
as a whole; where both could be meant, the value stays open and is asked for.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from portal.craft.marks import READ, Text
from portal.craft.messages import Message
from portal.craft.rim_grammar import LABEL

_BEHIND = re.compile(
    r"\s*[.:=]?\s*(?P<v>[+-]?\s?\d{1,3}(?:\.\d{1,3})?)(?![\d.])(?!\s*[X/]\s*\d)(?:\s*MM(?![A-Z]))?"
)
_BEFORE = re.compile(r"(?<![\w.])(?P<v>[+-]?\d{1,3}(?:\.\d{1,3})?)(?:\s*MM)?\s*$")
Span = tuple[int, int]
# how a number of each kind usually looks in mm (common practice)
_LOOKS: dict[str, Callable[[float], bool]] = {
    "offset": lambda value: value * 2 == int(value * 2),
    "bore": lambda value: value >= 50,
    "circle": lambda value: value >= 98,
}


@dataclass(frozen=True, slots=True)
class Labelled:
    """What the labels of a marking say: a value of each kind, and what has to be asked."""

    values: dict[str, float]
    unsure: tuple[Message, ...]


@dataclass(slots=True)
class _Label:
    kind: str
    span: Span
    before: re.Match[str] | None
    behind: re.Match[str] | None
    chosen: re.Match[str] | None = None
    other: re.Match[str] | None = None


def take_labelled(marking: Text) -> Labelled:
    """Take every labelled number out of the marking."""
    labels = [_label(marking.left, found) for found in LABEL.finditer(marking.left)]
    _choose(labels)
    _look_before(labels)
    values: dict[str, float] = {}
    unsure: list[Message] = []
    for kind in ("offset", "bore", "circle"):
        chosen = [one for one in labels if one.kind == kind and one.chosen]
        texts = list(dict.fromkeys(text for one in chosen for text in _meant(one)))
        if len(texts) == 1:
            values[kind] = float(texts[0])
        elif texts:
            unsure.append(_ask(kind, texts[0], texts[1]))
    _remove(marking, [one for one in labels if one.chosen])
    return Labelled(values, tuple(unsure))


def _label(text: str, found: re.Match[str]) -> _Label:
    before = _BEFORE.search(text[: found.start()])
    behind = _BEHIND.match(text, found.end())
    return _Label(found.lastgroup or "", found.span(), before, behind)


def _choose(labels: list[_Label]) -> None:
    """Give each label the number that it belongs to."""
    if all(one.behind for one in labels):
        for one in labels:
            one.chosen = one.behind
    elif all(one.before for one in labels):
        for one in labels:
            one.chosen = one.before
    else:
        _choose_singly(labels)


def _choose_singly(labels: list[_Label]) -> None:
    taken: set[int] = set()
    for one in sorted(labels, key=lambda label: bool(label.before and label.behind)):
        free = [side for side in (one.behind, one.before) if side and side.end("v") not in taken]
        one.chosen = free[0] if free else None
        taken |= {side.end("v") for side in free[:1]}


def _look_before(labels: list[_Label]) -> None:
    """Note the free number before a label that looks more like it than the one behind it."""
    taken = {one.chosen.end("v") for one in labels if one.chosen}
    for one in labels:
        before, behind, looks = one.before, one.behind, _LOOKS[one.kind]
        if not (before and behind) or one.chosen is before or before.end("v") in taken:
            continue
        if looks(float(before["v"])) and not looks(float(behind["v"].replace(" ", ""))):
            one.other = before


def _meant(one: _Label) -> list[str]:
    """Return the number that a label means; two where it could mean either."""
    assert one.chosen
    value = one.chosen["v"]
    texts = [value.replace(" ", "")]
    if one.other:
        texts.insert(0, one.other["v"])
    if value.startswith("- "):
        texts.append(value[2:])
    return texts


def _remove(marking: Text, labels: list[_Label]) -> None:
    for one in sorted(labels, key=lambda label: label.span, reverse=True):
        assert one.chosen
        start = min(one.span[0], (one.other or one.chosen).start())
        end = max(one.span[1], one.chosen.end())
        marking.left = marking.left[:start] + READ + marking.left[end:]


def _ask(kind: str, one: str, other: str) -> Message:
    if kind == "offset":
        return Message(
            "Is the offset {one} or {other}? Write it as ET{one} or ET{other}.",
            one=one,
            other=other,
        )
    if kind == "bore":
        return Message(
            "Is the centre bore {one} or {other}? Write it as CB{one} or CB{other}.",
            one=one,
            other=other,
        )
    return Message(
        "Is the bolt circle {one} or {other}? Write it as PCD{one} or PCD{other}.",
        one=one,
        other=other,
    )
