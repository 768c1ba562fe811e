"""An assessment as JSON, so that an old job still says what it said: its parts, tests, conditions.

What was declared and the price have columns of their own; they are handed in again on reading.
Of the finishes that an open colour can become only the one that takes longest to come is kept:
what can be chosen is asked anew on the day on which it is.

What is kept outlives the release that kept it: a field that goes is skipped on reading, and one
that is added needs a default.
"""

import dataclasses
import types
from collections.abc import Mapping
from enum import Enum
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from portal.craft.answers import Appraisal, Caution, SetAppraisal
from portal.craft.checks import needed
from portal.craft.facts import facts_of
from portal.craft.messages import Message
from portal.craft.parts import Declared, FinishChoice, PartSet
from portal.shop.assessment.assess import Assessment
from portal.shop.message_json import from_json, to_json
from portal.shop.pricing.quote import Quote
from portal.shop.scheduling.stations import PartWork

# of an appraised set these two are written and read in ways of their own
DECLARED, POSSIBLE = "part_set", "possible"


def write_assessment(order: Assessment) -> dict[str, Any]:
    """Return what was said of an order as plain JSON values."""
    return {
        "cautions": _write(order.appraisal.cautions),
        "sets": [_write_set(one) for one in order.sets],
        "work": {key: work.to_dict() for key, work in order.work.items()},
    }


def read_assessment(kept: Mapping[str, Any], declared: Declared, quote: Quote) -> Assessment:
    """Return what `write_assessment` kept, of the order that was declared at that price."""
    sets = tuple(_read_set(one, own) for one, own in zip(kept["sets"], declared.sets, strict=True))
    cautions = tuple(_read(Caution, one) for one in kept["cautions"])
    return Assessment(
        declared=declared,
        appraisal=Appraisal(sets, cautions, declared.bringing),
        quote=quote,
        work={key: PartWork.from_dict(work) for key, work in kept["work"].items()},
    )


def _write_set(one: SetAppraisal) -> dict[str, Any]:
    written = {
        field.name: _write(getattr(one, field.name))
        for field in dataclasses.fields(one)
        if field.name not in (DECLARED, POSSIBLE)
    }
    if one.possible:
        longest = max(one.possible, key=lambda answer: answer.powder_days)
        written[POSSIBLE] = {
            **_write_set(longest),
            DECLARED: _write(longest.part_set.finish),
        }
    return written


def _read_set(kept: Mapping[str, Any], own: PartSet) -> SetAppraisal:
    fields = _fields(SetAppraisal)
    read = {
        name: _read(fields[name], value)
        for name, value in kept.items()
        if name in fields and name not in (DECLARED, POSSIBLE)
    }
    longest = kept.get(POSSIBLE)
    possible: tuple[SetAppraisal, ...] = ()
    if longest:
        finish = _read(FinishChoice, longest[DECLARED])
        possible = (_read_set(longest, dataclasses.replace(own, finish=finish)),)
    if "checks" not in kept:
        # kept before checks were: what was told then still has to be done
        read["checks"] = needed(facts_of(own), {one.key for one in read["cautions"]})
    return SetAppraisal(**{**read, DECLARED: own, POSSIBLE: possible})


def _write(value: Any) -> Any:
    if isinstance(value, Message):
        return to_json(value)
    if isinstance(value, Enum):
        return value.value
    if dataclasses.is_dataclass(value):
        return {one.name: _write(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, tuple):
        return [_write(one) for one in value]
    return value


def _read(kind: Any, kept: Any) -> Any:
    """Return a value of a type, or of the one of a union that is not None, from plain values."""
    arguments = get_args(kind)
    if get_origin(kind) in (Union, types.UnionType):
        one = next(one for one in arguments if one is not type(None))
        return None if kept is None else _read(one, kept)
    if get_origin(kind) is tuple:
        # all of one type, or one type for each place
        kinds = arguments[:1] * len(kept) if arguments[-1] is Ellipsis else arguments
        return tuple(_read(one, value) for one, value in zip(kinds, kept, strict=True))
    if isinstance(kept, Mapping) and "msgid" in kept:
        return from_json(kept)
    if isinstance(kept, kind):
        return kept
    if isinstance(kept, Mapping):
        fields = _fields(kind)
        known = {name: value for name, value in kept.items() if name in fields}
        return kind(**{name: _read(fields[name], value) for name, value in known.items()})
    return kind(kept)


@cache
def _fields(kind: type[Any]) -> dict[str, Any]:
    return get_type_hints(kind)
