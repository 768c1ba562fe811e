"""What a customer takes off before coming, and what a tyre shop does for it in one visit.

How each item comes off stands in `data/removals.toml`, what goes back on in `data/refit.toml`, what
the customer keeps meanwhile in `data/tyre_shop.toml`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from portal.craft.answers import RefitStep, Removal, SetAppraisal
from portal.craft.bringing import NewTyres
from portal.craft.messages import Message
from portal.craft.parts import Declared, Item, PartKind, PartSet, Remover
from portal.craft.refit import guide_for
from portal.craft.removals import WITH_THE_TYRE, removals, who_removes
from portal.craft.tables import toml_table

_KEEP: tuple[Mapping[str, Any], ...] = tuple(toml_table("tyre_shop.toml")["keep"])
# the steps of the refit guide that a tyre shop does
_AT_TYRE_SHOP = ("tyre", "valve", "sensor", "sensor_maybe", "balance")


@dataclass(frozen=True, slots=True)
class Task:
    """One item that the customer takes off a set; `at_tyre_shop` where its machine is needed."""

    part_set: PartSet
    removal: Removal
    at_tyre_shop: bool

    @property
    def item(self) -> Item:
        """What comes off."""
        return self.removal.item

    @property
    def name(self) -> str:
        """The set and the item as one word, which a form sends back."""
        return f"{self.part_set.key}-{self.item.value}"

    @property
    def may_be_ours(self) -> bool:
        """Whether the works can take it off instead."""
        return Remover.US in self.removal.who_may


@dataclass(frozen=True, slots=True)
class TyreShop:
    """What a tyre shop takes off, what the customer takes home from there, and what it fits later.

    `wheels` are how many; `off` stands in the order of work and may be empty.
    """

    wheels: int
    off: tuple[tuple[Item, Message], ...]
    keep: tuple[Message, ...]
    on: tuple[RefitStep, ...]


def tasks(sets: Iterable[SetAppraisal]) -> tuple[Task, ...]:
    """Return what the customer takes off, set by set, in the order of work."""
    return tuple(
        Task(one.part_set, removal, _needs_tyre_shop(one.part_set, removal.item, one.removals))
        for one in sets
        for removal in sorted(one.removals, key=lambda each: each.order)
        if removal.by(one.part_set) is Remover.YOU
    )


def count_of(declared: Declared) -> int:
    """Return how many items the customer takes off, each once for each set."""
    return len(items_of(declared))


def items_of(declared: Declared) -> tuple[tuple[str, Item], ...]:
    """Return what the customer takes off, as set and item, in the order of work."""
    return tuple(
        (one.key, removal.item)
        for one in declared.sets
        for removal in removals(one, declared.bringing)
        if removal.by(one) is Remover.YOU
    )


def together(part_set: PartSet, item: Item, theirs: Iterable[Item]) -> tuple[Item, ...]:
    """Return what the works takes off when the customer can't take off `item`.

    Who removes the tyre also removes what is under it; `theirs` is what the customer removes.
    """
    if item in WITH_THE_TYRE and Item.TYRE in part_set.fitted:
        return tuple(one for one in theirs if one in WITH_THE_TYRE)
    return (item,)


def tyre_shop(declared: Declared) -> TyreShop | None:
    """Return the work for a tyre shop; None where there is none on these wheels.

    It fits the tyres again wherever the wheels leave the works without the tyres that came.
    """
    leaves = [one for one in declared.sets if leaves_without_tyres(one, declared)]
    if not leaves:
        return None
    off: dict[Item, Removal] = {}
    for one in leaves:
        every = removals(one, declared.bringing)
        for removal in every:
            if removal.by(one) is Remover.YOU and _needs_tyre_shop(one, removal.item, every):
                off.setdefault(removal.item, removal)
    return TyreShop(
        wheels=sum(one.count for one in leaves),
        off=tuple(
            (one.item, _off_in_words(one)) for one in sorted(off.values(), key=lambda r: r.order)
        ),
        keep=tuple(Message(row["says"]) for row in _KEEP if Item(row["item"]) in off),
        on=tuple(step for step in guide_for(declared) if step.key in _AT_TYRE_SHOP),
    )


def leaves_without_tyres(one: PartSet, declared: Declared) -> bool:
    """Return whether wheels that had tyres leave without: somebody else fits them."""
    if one.kind is not PartKind.WHEEL or Item.TYRE not in one.fitted:
        return False
    by_you = who_removes(Item.TYRE, one, declared.bringing) is Remover.YOU
    return by_you or one.new_tyres is NewTyres.LATER


def _needs_tyre_shop(one: PartSet, item: Item, every: Iterable[Removal]) -> bool:
    """Return whether an item comes off with a tyre that the customer has taken off."""
    tyre = next((r for r in every if r.item is Item.TYRE), None)
    return item in WITH_THE_TYRE and tyre is not None and tyre.by(one) is Remover.YOU


def _off_in_words(removal: Removal) -> Message:
    own = (row["off"] for row in _KEEP if row["item"] == removal.item and "off" in row)
    return next((Message(says) for says in own), removal.step)
