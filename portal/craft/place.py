"""Legal rules of countries, as data: shown where they concern a job, never argued away."""

from collections.abc import Mapping
from typing import Any

from portal.craft.answers import About, Caution, CautionKind, CoatPlan, PlaceRule
from portal.craft.facts import Facts, holds, sentence_of
from portal.craft.messages import Message
from portal.craft.tables import sentence, toml_table

_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("places.toml")["rule"])


def places() -> tuple[str, ...]:
    """Return the countries (ISO 3166) whose rules are known here."""
    return tuple(sorted({row["country"] for row in _ROWS}))


def rules(country: str) -> tuple[PlaceRule, ...]:
    """Return all known rules of `country`; none known doesn't mean that there are none."""
    return tuple(_rule(row) for row in _ROWS if row["country"] == country.upper())


def _rule(row: Mapping[str, Any]) -> PlaceRule:
    return PlaceRule(
        key=row["key"],
        says=sentence(row["says"]),
        source=Message(row["source"]),
        date=row["date"],
        needs_decision=row["asks"] == "place",
        inspect=row["asks"] == "inspect",
        instead=sentence_of(row, "instead"),
    )


def rules_for(facts: Facts, plan: CoatPlan | None, country: str) -> tuple[PlaceRule, ...]:
    """Return the rules that concern a set; before a finish is chosen, any bake counts."""
    return tuple(
        _rule(row)
        for row in _ROWS
        if row["country"] == country.upper()
        and holds(row.get("when", {}), facts)
        and _hot_enough(row, plan)
    )


def _hot_enough(row: Mapping[str, Any], plan: CoatPlan | None) -> bool:
    above = row.get("above_c")
    return above is None or plan is None or any(coat.cure_c > above for coat in plan.coats)


def place_cautions(
    facts: Facts, plan: CoatPlan | None, country: str, decision: str
) -> tuple[Caution, ...]:
    """Return the rules as cautions: one of kind PLACE blocks until the shop's decision is recorded.

    With a decision the rule is still shown, with the decision, for the customer to confirm.
    """
    found = tuple(_caution(rule, decision.strip()) for rule in rules_for(facts, plan, country))
    if any(caution.kind is CautionKind.PLACE for caution in found):
        return (_undecided(), *found)
    return found


def _undecided() -> Caution:
    return Caution(
        "place_undecided",
        CautionKind.PLACE,
        Message(
            "We can't take this booking yet. A rule in this country is against this work, and "
            "we haven't decided how we apply it."
        ),
        Message("Call us and ask."),
        about=About.PLACE,
    )


def _caution(rule: PlaceRule, decision: str) -> Caution:
    kind, instead = CautionKind.TELL, rule.instead
    if rule.inspect:
        kind = CautionKind.INSPECT
    elif rule.needs_decision and decision:
        kind = CautionKind.CONFIRM
        instead = Message("What we have decided: {decision}", decision=decision)
    elif rule.needs_decision:
        kind = CautionKind.PLACE
    source = Message("{source}; {date}", source=rule.source, date=Message(rule.date))
    return Caution(f"place_{rule.key}", kind, rule.says, instead, source, About.PLACE)
