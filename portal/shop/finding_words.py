"""What a finding tells the customer: how many parts, which, what we found, what the order says.

Each sentence has forms for one wheel and several, one part and several: in no language can a noun
be put into a sentence without changing it.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from portal.craft.damaged import how_many
from portal.craft.hollow import Making
from portal.craft.messages import Message, Plural
from portal.craft.open_answers import layers_open
from portal.craft.parts import (
    Bringing,
    Damage,
    Metal,
    PartKind,
    PartSet,
    Powder,
    Titled,
    WheelBuild,
)
from portal.craft.quantities import Box
from portal.shop.change_words import another_way, more_brought, tyres_after, wanted_finish
from portal.shop.found_words import COLOURED, FOUND, LAYERS_OPEN, METAL_OPEN, SIZE_OPEN
from portal.shop.pricing.differences import Difference, DifferenceKind, kinds_of

WHEEL, PART = 0, 1
NOT_KNOWN = (Metal.UNKNOWN, WheelBuild.UNKNOWN, Making.UNKNOWN)
NO_SIZE = "–"

DAMAGE = {
    Damage.KERB_RASH: (
        Plural(
            "We found kerb damage on one wheel that you didn't mention (number {numbers}).",
            "We found kerb damage on {count} wheels that you didn't mention (numbers {numbers}).",
        ),
        Plural(
            "We found kerb damage on one part that you didn't mention (number {numbers}).",
            "We found kerb damage on {count} parts that you didn't mention (numbers {numbers}).",
        ),
    ),
    Damage.CORROSION: (
        Plural(
            "We found corrosion or lifting clear coat on one wheel that you didn't "
            "mention (number {numbers}).",
            "We found corrosion or lifting clear coat on {count} wheels that you didn't "
            "mention (numbers {numbers}).",
        ),
        Plural(
            "We found corrosion or lifting clear coat on one part that you didn't mention"
            " (number {numbers}).",
            "We found corrosion or lifting clear coat on {count} parts that you didn't "
            "mention (numbers {numbers}).",
        ),
    ),
    Damage.BEND: (
        Plural(
            "We found a bend or dent on one wheel that you didn't mention (number {numbers}).",
            "We found bends or dents on {count} wheels that you didn't mention (numbers "
            "{numbers}).",
        ),
        Plural(
            "We found a bend or dent on one part that you didn't mention (number {numbers}).",
            "We found bends or dents on {count} parts that you didn't mention (numbers {numbers}).",
        ),
    ),
    Damage.CRACK: (
        Plural(
            "We found a crack in one wheel that you didn't mention (number {numbers}).",
            "We found cracks in {count} wheels that you didn't mention (numbers {numbers}).",
        ),
        Plural(
            "We found a crack in one part that you didn't mention (number {numbers}).",
            "We found cracks in {count} parts that you didn't mention (numbers {numbers}).",
        ),
    ),
    Damage.OLD_WELD: (
        Plural(
            "We found a weld or repair on one wheel that you didn't mention (number {numbers}).",
            "We found welds or repairs on {count} wheels that you didn't mention (numbers"
            " {numbers}).",
        ),
        Plural(
            "We found a weld or repair on one part that you didn't mention (number {numbers}).",
            "We found welds or repairs on {count} parts that you didn't mention (numbers "
            "{numbers}).",
        ),
    ),
}
MISSING = (
    Plural(
        "One wheel was not brought: number {numbers}.",
        "{count} wheels were not brought: numbers {numbers}.",
    ),
    Plural(
        "One part was not brought: number {numbers}.",
        "{count} parts were not brought: numbers {numbers}.",
    ),
)
MORE_DAMAGE = (
    Plural(
        "We found this damage on one wheel (number {numbers}): {found}. Your order says: "
        "{declared} of {all}.",
        "We found this damage on {count} wheels (numbers {numbers}): {found}. Your order says: "
        "{declared} of {all}.",
    ),
    Plural(
        "We found this damage on one part (number {numbers}): {found}. Your order says: "
        "{declared} of {all}.",
        "We found this damage on {count} parts (numbers {numbers}): {found}. Your order says: "
        "{declared} of {all}.",
    ),
)
NO_DAMAGE = (
    Plural(
        "One wheel doesn't have the damage you mentioned (number {numbers}): {gone}.",
        "{count} wheels don't have the damage you mentioned (numbers {numbers}): {gone}.",
    ),
    Plural(
        "One part doesn't have the damage you mentioned (number {numbers}): {gone}.",
        "{count} parts don't have the damage you mentioned (numbers {numbers}): {gone}.",
    ),
)
LAYERS = (
    Plural(
        "One wheel has a different old finish from your order (number {numbers}). We "
        "found: {found}. Your order says: {declared}.",
        "{count} wheels have a different old finish from your order (numbers {numbers}). "
        "We found: {found}. Your order says: {declared}.",
    ),
    Plural(
        "One part has a different old finish from your order (number {numbers}). We "
        "found: {found}. Your order says: {declared}.",
        "{count} parts have a different old finish from your order (numbers {numbers}). "
        "We found: {found}. Your order says: {declared}.",
    ),
)
FITTED = (
    Plural(
        "One wheel has something fitted that you didn't mention (number {numbers}): {found}.",
        "{count} wheels have something fitted that you didn't mention (numbers "
        "{numbers}): {found}.",
    ),
    Plural(
        "One part has something fitted that you didn't mention (number {numbers}): {found}.",
        "{count} parts have something fitted that you didn't mention (numbers {numbers}): {found}.",
    ),
)
NOT_FITTED = (
    Plural(
        "One wheel came without something that your order says is fitted (number "
        "{numbers}): {gone}.",
        "{count} wheels came without something that your order says is fitted (numbers "
        "{numbers}): {gone}.",
    ),
    Plural(
        "One part came without something that your order says is fitted (number "
        "{numbers}): {gone}.",
        "{count} parts came without something that your order says is fitted (numbers "
        "{numbers}): {gone}.",
    ),
)
METAL = (
    Plural(
        "One wheel is of a different metal or build from your order (number {numbers}). "
        "We found: {found}. Your order says: {declared}.",
        "{count} wheels are of a different metal or build from your order (numbers "
        "{numbers}). We found: {found}. Your order says: {declared}.",
    ),
    Plural(
        "One part is of a different metal or build from your order (number {numbers}). We"
        " found: {found}. Your order says: {declared}.",
        "{count} parts are of a different metal or build from your order (numbers "
        "{numbers}). We found: {found}. Your order says: {declared}.",
    ),
)
SIZE = (
    Plural(
        "One wheel has a different size from your order (number {numbers}). We measured: "
        "{found}. Your order says: {declared}.",
        "{count} wheels have a different size from your order (numbers {numbers}). We "
        "measured: {found}. Your order says: {declared}.",
    ),
    Plural(
        "One part has a different size from your order (number {numbers}). We measured: "
        "{found}. Your order says: {declared}.",
        "{count} parts have a different size from your order (numbers {numbers}). We "
        "measured: {found}. Your order says: {declared}.",
    ),
)
CLOSED = Plural(
    "One part is closed or sealed in a different way from your order (number {numbers}). We found: "
    "{found}. Your order says: {declared}.",
    "{count} parts are closed or sealed in a different way from your order (numbers {numbers}). We "
    "found: {found}. Your order says: {declared}.",
)
LOST = Message(
    "We have lost part {number} ({note}). We are sorry. We take its price off and will agree with "
    "you what it is worth. Shall we go on with the rest?"
)
LOST_BAG = Message(
    "We have lost bag {bag} ({note}). We are sorry. We will agree with you how we make up for it. "
    "Shall we go on with the work?"
)
NOTE = Plural("Part {numbers}: {note}", "Parts {numbers}: {note}")


def describe_difference(
    declared: PartSet,
    difference: Difference,
    stock: Mapping[str, Powder],
    bringing: Bringing | None = None,
) -> tuple[Message, ...]:
    """Describe a difference in sentences for the customer, one for each side.

    `bringing` is how the order says that the parts come.
    """
    found: list[Message] = []
    for kind in kinds_of(declared, difference):
        if kind is DifferenceKind.FINISH:
            found += wanted_finish(declared, difference, stock)
        elif kind is DifferenceKind.WAY:
            found += another_way(difference, bringing)
        else:
            found += _SIDES[kind](declared, difference)
    return tuple(found)


def _of(
    forms: tuple[Plural, Plural], difference: Difference, count: int = 0, **values: Any
) -> Message:
    noun = WHEEL if difference.arrived.kind is PartKind.WHEEL else PART
    numbers = _numbers(difference)
    return forms[noun].of(count or len(difference.numbers), numbers=numbers, **values)


def _numbers(difference: Difference) -> str:
    return ", ".join(str(number) for number in difference.numbers)


def _missing(_declared: PartSet, difference: Difference) -> list[Message]:
    return [_of(MISSING, difference)]


def _lost(_declared: PartSet, difference: Difference) -> list[Message]:
    return [Message(LOST.msgid, number=_numbers(difference), note=difference.note)]


def _damage(declared: PartSet, difference: Difference) -> list[Message]:
    real, found = difference.arrived, []
    for one in real.damage:
        here, said = how_many(real, one), how_many(declared, one)
        if not said:
            found.append(_of(DAMAGE[one], difference, here))
        elif here != said:
            name, of = one, declared.count
            found.append(_of(MORE_DAMAGE, difference, here, found=name, declared=said, all=of))
    gone = tuple(one for one in declared.damage if one not in real.damage)
    return [*found, *([_of(NO_DAMAGE, difference, gone=listed(gone))] if gone else [])]


def _tested(declared: PartSet, difference: Difference) -> list[Message]:
    more = [one for one in difference.arrived.found if one not in declared.found]
    return [_of(FOUND[one], difference) for one in more]


def _fitted(declared: PartSet, difference: Difference) -> list[Message]:
    real = difference.arrived.fitted
    more = tuple(one for one in real if one not in declared.fitted)
    gone = tuple(one for one in declared.fitted if one not in real)
    found = [_of(FITTED, difference, found=listed(more))] if more else []
    found += [_of(NOT_FITTED, difference, gone=listed(gone))] if gone else []
    return [*found, *tyres_after(declared, difference)]


def _layers(declared: PartSet, difference: Difference) -> list[Message]:
    if difference.arrived.layers == declared.layers:
        return [_of(COLOURED, difference)] if difference.arrived.yellow_to_red else []
    found, said = listed(difference.arrived.layers), listed(declared.layers)
    if layers_open(declared):
        return [_of(LAYERS_OPEN, difference, found=found)]
    return [_of(LAYERS, difference, found=found, declared=said)]


def _closed(declared: PartSet, difference: Difference) -> list[Message]:
    found, said = listed(difference.arrived.closed), listed(declared.closed)
    return [_of((CLOSED, CLOSED), difference, found=found, declared=said)]


def _metal(declared: PartSet, difference: Difference) -> list[Message]:
    real = difference.arrived
    sides = (
        (real.build or real.metal, declared.build or declared.metal),
        (real.metal, declared.metal),
        (real.made, declared.made),
    )
    found, said = next((found, said) for found, said in sides if found is not said)
    if said in NOT_KNOWN:
        return [_of(METAL_OPEN, difference, found=found)]
    return [_of(METAL, difference, found=found, declared=said)]


def _size(declared: PartSet, difference: Difference) -> list[Message]:
    found, said = size_of(difference.arrived), size_of(declared)
    if said == NO_SIZE:
        return [_of(SIZE_OPEN, difference, found=found)]
    return [_of(SIZE, difference, found=found, declared=said)]


def _other(_declared: PartSet, difference: Difference) -> list[Message]:
    if difference.bag:
        return [Message(LOST_BAG.msgid, bag=difference.bag, note=difference.note)]
    count, numbers = len(difference.numbers), _numbers(difference)
    return [NOTE.of(count, numbers=numbers, note=difference.note)]


_SIDES = {
    DifferenceKind.MISSING: _missing,
    DifferenceKind.LOST: _lost,
    DifferenceKind.MORE: lambda _declared, difference: more_brought(difference),
    DifferenceKind.DAMAGE: _damage,
    DifferenceKind.LAYERS: _layers,
    DifferenceKind.FITTED: _fitted,
    DifferenceKind.METAL: _metal,
    DifferenceKind.SIZE: _size,
    DifferenceKind.CLOSED: _closed,
    DifferenceKind.CHECK: _tested,
    DifferenceKind.OTHER: _other,
}


def size_of(one: PartSet) -> Box | str:
    """Return a size as it was typed, or else as figures."""
    if one.rim_text or one.tyre_text:
        return " · ".join(text for text in (one.rim_text, one.tyre_text) if text)
    if one.rim is not None:
        return f"{one.rim.width_code:g}{one.rim.flange}×{one.rim.diameter_code:g}"
    if one.size_mm is not None:
        return Box(tuple(map(round, one.size_mm)))
    return NO_SIZE


def listed(words: Iterable[Titled]) -> tuple[Titled, ...] | Message:
    """Return words of the trade in a row."""
    return tuple(words) or Message("none")
