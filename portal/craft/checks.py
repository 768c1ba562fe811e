"""Tests and looks before a part goes on: which ones an order needs, how they are done, what they
stop, and what may come of them.

The table is `data/checks.toml`. A check follows from what the customer was told, by the key of the
caution, so that nothing is promised that nobody has to do.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from portal.craft.answers import COMMON_PRACTICE
from portal.craft.check_kinds import CheckKind, CheckResult, Found
from portal.craft.damaged import counted, how_many
from portal.craft.facts import Facts, holds, sentence_of
from portal.craft.messages import Message
from portal.craft.parts import Closed, Damage, Layer, Metal, PartKind, PartSet, WheelBuild
from portal.craft.tables import sentence, toml_table


@dataclass(frozen=True, slots=True)
class Result:
    """One outcome of a check. A `positive` one is put to the customer before work goes on.

    `customer` is the sentence for the customer's page; `becomes` what the parts are by it.
    """

    key: CheckResult
    says: Message
    customer: Message
    positive: bool
    becomes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Check:
    """A row of the table. `before` is the word of a station, empty for advice that stops nothing.

    `still_open` takes the number of the part. `report` is where the results leave something else
    to be found; `elsewhere` marks what is recorded by another page, such as the choice of a colour.
    `since` is the word of the station from which on it can be done.
    """

    kind: CheckKind
    before: str
    do: Message
    kit: Message | None
    care: Message | None
    still_open: Message | None
    report: Message | None
    results: tuple[Result, ...]
    source: Message
    elsewhere: bool = False
    since: str = ""

    def result(self, key: str) -> Result | None:
        """Return the outcome of a key; None where the check has no such outcome."""
        return next((one for one in self.results if one.key == key), None)

    @property
    def is_gate(self) -> bool:
        """Whether parts may not go on before its result is recorded."""
        return bool(self.before)


_ROWS: Mapping[CheckKind, Mapping[str, Any]] = {
    CheckKind(row["key"]): row for row in toml_table("checks.toml")["check"]
}


def needed(facts: Facts, caution_keys: Collection[str]) -> tuple[CheckKind, ...]:
    """Return the checks of a set by its facts and by the keys of the cautions told for it."""
    return tuple(
        kind
        for kind in CheckKind
        if any(key in caution_keys for key in _ROWS[kind].get("told", ()))
        or ("when" in _ROWS[kind] and holds(_ROWS[kind]["when"], facts))
    )


def on_part(kinds: Iterable[CheckKind], damage: Collection[Damage]) -> tuple[CheckKind, ...]:
    """Return which checks of its set concern a part with this damage."""
    return tuple(
        kind
        for kind in kinds
        if "parts" not in _ROWS[kind] or any(one in _ROWS[kind]["parts"] for one in damage)
    )


@cache
def check(kind: CheckKind) -> Check:
    """Return the row of a check."""
    row = _ROWS[kind]
    return Check(
        kind=kind,
        before=row.get("before", ""),
        do=sentence(row["do"]),
        kit=sentence_of(row, "kit"),
        care=sentence_of(row, "care"),
        still_open=Message(row["open"], part="") if "open" in row else None,
        report=sentence_of(row, "report"),
        results=tuple(
            Result(
                key=CheckResult(one["key"]),
                says=Message(one["title"]),
                customer=Message(one["customer"]),
                positive=one.get("positive", False),
                becomes=one.get("becomes", {}),
            )
            for one in row.get("result", ())
        ),
        source=Message(row["source"]) if "source" in row else COMMON_PRACTICE,
        elsewhere=row.get("elsewhere", False),
        since=row.get("since", ""),
    )


def as_found(one: PartSet, becomes: Mapping[str, str]) -> PartSet:
    """Return parts as a result of a check says they are; the same where it changes nothing."""
    if "found" in becomes:
        one = replace(one, found=_with(one.found, Found(becomes["found"])))
    if "damage" in becomes:
        damage = Damage(becomes["damage"])
        counts = {each: how_many(one, each) for each in one.damage}
        one = counted(one, {**counts, damage: one.count})
    if "closed" in becomes:
        one = replace(one, closed=(Closed(becomes["closed"]),))
    if "layer" in becomes:
        known = Layer(becomes["layer"])
        one = replace(
            one, layers=tuple(known if on is Layer.UNKNOWN else on for on in one.layers) or (known,)
        )
    if "metal" not in becomes:
        return one
    if one.kind is PartKind.WHEEL:
        return replace(one, build=WheelBuild(becomes["build"]))
    return replace(one, metal=Metal(becomes["metal"]))


def _with(found: tuple[Found, ...], more: Found) -> tuple[Found, ...]:
    return tuple(one for one in Found if one in found or one is more)
