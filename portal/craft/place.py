"""Legal rules of countries, as data: shown where they concern a job, never argued away.

A vehicle carries the rules of the country where it is registered wherever it is worked on; those of
the country where the works stand count for the work as well.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from portal.craft.answers import About, Caution, CautionKind, CoatPlan, PlaceRule
from portal.craft.facts import Facts, holds, sentence_of
from portal.craft.messages import Message
from portal.craft.parts import PartKind, PartSet
from portal.craft.registration import Country, Permission
from portal.craft.tables import sentence, toml_table

_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("places.toml")["rule"])


@dataclass(frozen=True, slots=True)
class Place:
    """A country (ISO 3166, or `other`) and what the shop decided where a rule is against a job."""

    country: str
    decision: str = ""


def places() -> tuple[str, ...]:
    """Return the countries (ISO 3166) whose rules are known here."""
    return tuple(sorted({row["country"] for row in _ROWS}))


def places_of(
    registered: Country | None, country: str, decision: str, abroad: str
) -> tuple[Place, ...]:
    """Return the places whose rules count: of the registration, if elsewhere, then of the works.

    `decision` is the shop's for its own country, `abroad` for any other.
    """
    here = Place(country, decision)
    if registered is None or registered == country:
        return (here,)
    return (Place(registered, abroad), here)


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


def asks_permission(
    facts: Facts, plan: CoatPlan | None, where: Iterable[Place]
) -> tuple[PlaceRule, ...]:
    """Return the rules of these places from which the maker of the wheel can exempt."""
    return tuple(
        rule for one in where for rule in rules_for(facts, plan, one.country) if rule.needs_decision
    )


def _hot_enough(row: Mapping[str, Any], plan: CoatPlan | None) -> bool:
    above = row.get("above_c")
    return above is None or plan is None or any(coat.cure_c > above for coat in plan.coats)


def place_cautions(
    facts: Facts, plan: CoatPlan | None, where: tuple[Place, ...], one: PartSet
) -> tuple[Caution, ...]:
    """Return the rules as cautions: one of kind PLACE blocks until the shop's decision is recorded.

    With a decision the rule is still shown, with the decision, for the customer to confirm. With
    the maker's permission it is shown, and the permission is looked at before the work.
    """
    allowed = one.permission is Permission.YES
    found: dict[str, Caution] = {}
    for at in where:
        for rule in rules_for(facts, plan, at.country):
            found.setdefault(rule.key, _caution(rule, at.decision.strip(), allowed=allowed))
    about = (*_permission(one, asks_permission(facts, plan, where)), *_of_places(where, one.kind))
    if any(caution.kind is CautionKind.PLACE for caution in found.values()):
        return (_undecided(where), *found.values(), *about)
    return (*found.values(), *about)


def _undecided(where: tuple[Place, ...]) -> Caution:
    if len(where) > 1:
        says = Message(
            "We can't take this booking yet. A rule of the country where the vehicle is "
            "registered, or of ours, is against this work, and we haven't decided how we apply it."
        )
    else:
        says = Message(
            "We can't take this booking yet. A rule in this country is against this work, and "
            "we haven't decided how we apply it."
        )
    instead = Message(
        "If the maker of the wheel allows it in writing, tell us under “Old finish”. If not, call "
        "us and ask."
    )
    return Caution("place_undecided", CautionKind.PLACE, says, instead, about=About.PLACE)


def _caution(rule: PlaceRule, decision: str, *, allowed: bool) -> Caution:
    kind, instead = CautionKind.TELL, rule.instead
    if rule.inspect:
        kind = CautionKind.INSPECT
    elif rule.needs_decision and allowed:
        instead = None
    elif rule.needs_decision and decision:
        kind = CautionKind.CONFIRM
        instead = Message("What we have decided: {decision}", decision=decision)
    elif rule.needs_decision:
        kind = CautionKind.PLACE
    source = Message("{source}; {date}", source=rule.source, date=Message(rule.date))
    return Caution(f"place_{rule.key}", kind, rule.says, instead, source, About.PLACE)


def _permission(one: PartSet, rules: tuple[PlaceRule, ...]) -> tuple[Caution, ...]:
    """Return what becomes of the maker's permission that the customer has."""
    if one.permission is not Permission.YES or not rules:
        return ()
    says = Message(
        "You have the wheel maker's permission in writing. Bring it: we look at it before we "
        "start. Without it we can't start."
    )
    source = rules[0].source
    return (Caution("place_permission", CautionKind.INSPECT, says, None, source, About.PLACE),)


def _of_places(where: tuple[Place, ...], kind: PartKind) -> tuple[Caution, ...]:
    """Return what is said of the places themselves: that two count, and that none is known of."""
    if kind is not PartKind.WHEEL:
        return ()
    found = []
    if len(where) > 1:
        country = _country(where[0].country)
        found.append(
            Caution(
                "place_registered",
                CautionKind.TELL,
                Message(
                    "Registered in: {country}. The rules there go with the vehicle; those of the "
                    "country where we work count too.",
                    country=country,
                ),
                about=About.PLACE,
            )
        )
    unknown = [at for at in where if at.country not in places()]
    return (*found, *(_none_known(at, abroad=len(where) > 1 and at is where[0]) for at in unknown))


def _none_known(at: Place, *, abroad: bool) -> Caution:
    country = _country(at.country)
    says = (
        Message(
            "{country}: we know of no rule about coating wheels. That does not mean that there is "
            "none.",
            country=country,
        )
        if country
        else Message(
            "We know of no rule in this country about coating wheels. That does not mean that "
            "there is none."
        )
    )
    instead = Message("Ask a vehicle inspection body before you drive on them.")
    kind = CautionKind.CONFIRM if abroad else CautionKind.TELL
    return Caution(f"place_none_known_{at.country}", kind, says, instead, about=About.PLACE)


def _country(code: str) -> Country | None:
    return next((one for one in Country if one.value == code), None)
