"""The shop's powders for a RAL number, a name or a screen colour that somebody searches for."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from portal.craft.colour_names import LANGUAGES, colour_name
from portal.craft.colours import lab_of_hex, lab_of_ral, nearest
from portal.craft.finishes import glosses_for
from portal.craft.messages import CraftError, Message
from portal.craft.offered import Stock, offered
from portal.craft.parts import Effect, Gloss, Powder, System

NEAREST, MOST = 3, 8


@dataclass(frozen=True, slots=True)
class NearestColour:
    """A powder with the coats and gloss in which it can be had; `says` tells how near it is."""

    powder: Powder
    system: System
    gloss: Gloss
    says: Message | None = None

    @property
    def value(self) -> str:
        """The value of the button that chooses it."""
        return f"{self.system}.{self.gloss}.{self.powder.code}"


@dataclass(frozen=True, slots=True)
class ColourSearch:
    """A search: `exact` where the shop has that very colour, else the nearest ones."""

    asked: str
    hits: tuple[NearestColour, ...]
    exact: bool = True

    @property
    def says(self) -> Message:
        """The result in a sentence."""
        if not self.exact:
            return Message("Our nearest colours to {asked}:", asked=self.asked)
        glosses = tuple(dict.fromkeys(hit.gloss for hit in self.hits))
        words = {f"w{n}": word for n, word in enumerate(glosses)}
        listed = Message(", ".join(f"{{{name}}}" for name in words), **words)
        return Message("We have {asked} in: {glosses}.", asked=self.asked, glosses=listed)


def in_every_language(name: str) -> str:
    """Return a powder's name in the languages in which RAL colours have one."""
    return "\n".join(colour_name(name, language) for language in LANGUAGES)


def find(  # what is sought, and how the page stands
    text: str,
    stock: Stock,
    systems: Sequence[System],
    system: System,
    gloss: Gloss,
    named: Callable[[str], str] = in_every_language,
) -> ColourSearch:
    """Return the powders for '7016', 'RAL 7016', 'bronze', '#383E42' or a powder's own code.

    Powders are looked for as the page stands first, then in another gloss of these coats, then in
    other coats. `named` returns a powder's name as the reader knows it. Raise CraftError where
    nothing fits.
    """
    ways = _ways(stock, systems, system, gloss)
    tidy = text.strip().upper().replace(" ", "").replace("-", "").removeprefix("RAL")
    if tidy.isascii() and tidy.isdecimal() and len(tidy) == 4:
        asked = f"RAL {tidy}"
        same = [h for h in ways if h.powder.ral.replace(" ", "") == f"RAL{tidy}"]
        return _found(asked, same) or _nearest(asked, lab_of_ral(tidy), ways)
    part = text.strip().casefold()
    coded = [h for h in ways if h.powder.code.casefold() == part]
    if coded:
        return ColourSearch(text.strip(), tuple(coded))
    like = [h for h in ways if len(part) > 2 and part in _names(h.powder, named)]
    if like:
        return ColourSearch(text.strip(), tuple(like[:MOST]))
    try:
        lab = lab_of_hex(text)
    except CraftError:
        raise CraftError(
            Message(
                "We found no colour for “{text}”. Enter a RAL number such as 7016, a name, or a "
                "screen colour such as #383E42.",
                text=text.strip(),
            ),
            key="near",
        ) from None
    return _nearest("#" + text.strip().upper().removeprefix("#"), lab, ways)


def _found(asked: str, hits: list[NearestColour]) -> ColourSearch | None:
    return ColourSearch(asked, tuple(hits[:MOST])) if hits else None


def _nearest(
    asked: str, lab: tuple[float, float, float], ways: list[NearestColour]
) -> ColourSearch:
    by_code = {hit.powder.code: hit for hit in ways}
    plain = tuple(h.powder for h in ways if h.powder.effect is not Effect.CLEAR)
    near = nearest(lab, plain, NEAREST)
    return ColourSearch(
        asked,
        tuple(
            NearestColour(
                n.powder, by_code[n.powder.code].system, by_code[n.powder.code].gloss, n.says
            )
            for n in near
        ),
        exact=False,
    )


def _ways(
    stock: Stock, systems: Sequence[System], system: System, gloss: Gloss
) -> list[NearestColour]:
    """Return each powder once, in the combination that changes least on the page."""
    order = [(system, gloss), *((system, g) for g in Gloss)]
    order += [(s, g) for s in systems if s is not system for g in (gloss, *glosses_for(s, stock))]
    found: dict[str, NearestColour] = {}
    covered: set[tuple[str, System]] = set()
    for s, g in order:
        for powder in offered(s, g, stock):
            elsewhere = s is not system and (powder.ral, system) in covered
            if powder.code not in found and not elsewhere:
                found[powder.code] = NearestColour(powder, s, g)
                if powder.ral:
                    covered.add((powder.ral, s))
    return list(found.values())


def _names(powder: Powder, named: Callable[[str], str]) -> str:
    return f"{powder.name}\n{named(powder.name)}".casefold()
