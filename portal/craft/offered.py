"""What a shop offers for a set: its coats, and the powders of each gloss."""

from typing import Any

from portal.craft.finishes import Stock, has_clear, powders_for, systems_for
from portal.craft.parts import Gloss, PartSet, Powder, System

__all__ = ["Stock", "offered", "systems_offered"]


def systems_offered(one: PartSet, stock: Stock) -> list[System]:
    """Return the coats that a set can have in some colour of the shop."""
    return [s for s in systems_for(one) if any(powders_for(s, g, stock) for g in Gloss)]


def offered(system: System, gloss: Gloss, stock: Stock, chosen: Any = None) -> tuple[Powder, ...]:
    """Return the powders to choose from.

    Under a clear coat the powder's own gloss is invisible: of several powders of one RAL colour
    only the chosen one is offered, or the one with the largest stock.
    """
    powders = powders_for(system, gloss, stock)
    if not has_clear(system):
        return powders
    best: dict[str, Powder] = {}
    for powder in powders:
        key = f"{powder.ral} {powder.effect}" if powder.ral else powder.code
        rival = best.get(key)
        if (
            rival is None
            or powder.code == chosen
            or (rival.code != chosen and powder.stock_kg > rival.stock_kg)
        ):
            best[key] = powder
    kept = set(best.values())
    return tuple(powder for powder in powders if powder in kept)
