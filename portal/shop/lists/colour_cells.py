"""The finish of a row: coats, gloss and colour, found as at the counter."""

from collections.abc import Callable
from typing import Protocol, TypeVar

from portal.craft.colour_names import ColourName
from portal.craft.messages import CraftError, Message
from portal.craft.offered import Stock, systems_offered
from portal.craft.parts import FinishChoice, Gloss, PartSet, System
from portal.shop.colour_search import ColourSearch, NearestColour, find, in_every_language
from portal.shop.lists.cells import read_word
from portal.shop.lists.columns import ListColumn
from portal.shop.lists.words import Words

Told = TypeVar("Told")
NO_COATS = Message("We can't coat these parts. Take the row out of the list.")
NO_COLOUR = Message("Enter the colour: a RAL number, a name, or “from a sample”.")


class Cells(Protocol):
    """The cells of a row, with a place for what is wrong."""

    problems: dict[ListColumn, Message]

    def read(self, column: ListColumn, reader: Callable[[str], Told], empty: Told) -> Told:
        """Return what a cell says."""

    def need(self, column: ListColumn, sentence: Message) -> None:
        """Blame an empty cell."""


def read_finish(cells: Cells, one: PartSet, words: Words, stock: Stock) -> FinishChoice | None:
    """Return the finish that the cells of a row say; None where one of them is wrong."""
    offered = systems_offered(one, stock)
    if not offered:
        cells.problems[ListColumn.PARTS] = NO_COATS
        return None
    named = cells.read(ListColumn.COATS, lambda text: _coats(text, offered, words), None)
    gloss = cells.read(ListColumn.GLOSS, lambda text: read_word(Gloss, text, words), None)
    cells.need(ListColumn.COLOUR, NO_COLOUR)
    if cells.problems.keys() & {ListColumn.COATS, ListColumn.GLOSS}:
        return None

    def colour(text: str) -> FinishChoice:
        system = named or offered[0]
        if words.says_sample(text):
            return FinishChoice(system, gloss=gloss or Gloss.GLOSS, decide_from_sample=True)
        # with a RAL sign or without, and with what people write around it
        search = find(text[:40], stock, offered, system, gloss or Gloss.GLOSS)
        hit = _meant(search, named, system, gloss)
        if hit is None:
            raise CraftError(_choose(search))
        return FinishChoice(hit.system, hit.powder.code, hit.gloss)

    return cells.read(ListColumn.COLOUR, colour, None)


def _coats(text: str, offered: list[System], words: Words) -> System:
    system = read_word(System, text, words)
    if system not in offered:
        raise CraftError(Message("This part can't have this finish. Choose another one."))
    return system


def _meant(
    search: ColourSearch, named: System | None, usual: System, gloss: Gloss | None
) -> NearestColour | None:
    """Return the only colour that fits; without coats given, the usual ones are tried first."""
    if not search.exact:
        return None
    fits = [hit for hit in search.hits if gloss in (None, hit.gloss)]
    fits = [hit for hit in fits if _is_named(hit, search.asked)] or fits
    for likely in (
        [hit for hit in fits if hit.system is usual],
        [] if named else fits,
    ):
        if likely:
            return likely[0] if len(likely) == 1 else None
    return None


def _is_named(hit: NearestColour, asked: str) -> bool:
    """Return whether a text is the whole name of a colour, in any language."""
    return asked.casefold() in in_every_language(hit.powder.name).casefold().split("\n")


def _choose(search: ColourSearch) -> Message:
    named = [hit for hit in search.hits if _is_named(hit, search.asked)]
    hits = named or search.hits
    names = tuple(dict.fromkeys(ColourName(hit.powder.name) for hit in hits))
    if not search.exact:
        return Message(
            "We don't have {asked}. Our nearest colours: {names}.", asked=search.asked, names=names
        )
    if len(names) > 1:
        return Message(
            "{asked} can be one of these: {names}. Write its whole name.",
            asked=search.asked,
            names=names,
        )
    kinds = tuple(Message("{coats}, {gloss}", coats=hit.system, gloss=hit.gloss) for hit in hits)
    return Message(
        "We have {asked} so: {kinds}. Fill in coats and gloss.", asked=search.asked, kinds=kinds
    )
