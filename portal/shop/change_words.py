"""What a change of the order says: more parts, another finish, another way of bringing them."""

from collections.abc import Mapping

from portal.craft.bringing import NewTyres
from portal.craft.colour_names import ColourName
from portal.craft.messages import Message, Plural
from portal.craft.parts import Bringing, FinishChoice, Item, PartKind, PartSet, Powder
from portal.shop.pricing.differences import Difference

MORE_WHEELS = Plural(
    "One wheel more than ordered: number {numbers}.",
    "{count} wheels more than ordered: numbers {numbers}.",
)
MORE_PARTS = Plural(
    "One part more than ordered: number {numbers}.",
    "{count} parts more than ordered: numbers {numbers}.",
)
FINISH_OF_WHEELS = Plural(
    "Another finish for one wheel (number {numbers}): {found}. Your order says: {declared}.",
    "Another finish for {count} wheels (numbers {numbers}): {found}. Your order says: {declared}.",
)
FINISH_OF_PARTS = Plural(
    "Another finish for one part (number {numbers}): {found}. Your order says: {declared}.",
    "Another finish for {count} parts (numbers {numbers}): {found}. Your order says: {declared}.",
)
WAY = Message("The parts were brought another way: {found}. Your order says: {declared}.")
TYRES = {
    NewTyres.SAME: Message("We take the tyres off, put the same ones back on and balance them."),
    NewTyres.BRING: Message("We take the old tyres off, fit the new ones and balance them."),
    NewTyres.LATER: Message("We take the tyres off. Your tyre shop fits new ones later."),
}


def more_brought(difference: Difference) -> list[Message]:
    """Say how many parts came beside those of the order."""
    words = MORE_WHEELS if difference.arrived.kind is PartKind.WHEEL else MORE_PARTS
    return [words.of(len(difference.numbers), numbers=_numbers(difference))]


def wanted_finish(
    declared: PartSet, difference: Difference, stock: Mapping[str, Powder]
) -> list[Message]:
    """Say which finish is wanted now, and which was ordered."""
    real = difference.arrived
    words = FINISH_OF_WHEELS if real.kind is PartKind.WHEEL else FINISH_OF_PARTS
    return [
        words.of(
            len(difference.numbers),
            numbers=_numbers(difference),
            found=finish_named(real.finish, stock),
            declared=finish_named(declared.finish, stock),
        )
    ]


def another_way(difference: Difference, bringing: Bringing | None) -> list[Message]:
    """Say how the parts were brought, where the order says another way."""
    if difference.bringing is None or bringing is None:
        return []
    return [Message(WAY.msgid, found=difference.bringing, declared=bringing)]


def tyres_after(declared: PartSet, difference: Difference) -> list[Message]:
    """Say which tyres go on, where tyres came that were to be off, or other ones are wanted."""
    real = difference.arrived
    came = Item.TYRE in real.fitted and Item.TYRE not in declared.fitted
    if came or (Item.TYRE in real.fitted and real.new_tyres is not declared.new_tyres):
        return [TYRES[real.new_tyres]]
    return []


def finish_named(finish: FinishChoice | None, stock: Mapping[str, Powder]) -> Message:
    """Return a finish in a few words: system, colour, gloss."""
    if finish is None:
        return Message("none")
    powder = stock.get(finish.colour)
    if powder is None:
        return Message("{system}, {gloss}", system=finish.system, gloss=finish.gloss)
    return Message(
        "{system}, {colour}, {gloss}",
        system=finish.system,
        colour=ColourName(powder.name),
        gloss=finish.gloss,
    )


def _numbers(difference: Difference) -> str:
    return ", ".join(str(number) for number in difference.numbers)
