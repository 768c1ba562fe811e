"""An item that the customer was to take off goes over to the works."""

from collections.abc import Collection
from dataclasses import replace

from portal.craft.parts import Declared, Item, Remover
from portal.shop.pricing.order_parts import brought_otherwise, refitted


def handed_over(declared: Declared, set_key: str, items: Collection[Item]) -> Declared:
    """Return the order in which the works takes `items` off a set.

    Where a tyre is among them it is put back on as well, so the order no longer leaves bare.
    """
    own = next(one for one in declared.sets if one.key == set_key)
    way = refitted(declared, own.new_tyres) if Item.TYRE in items else None
    if way is not None:
        declared = brought_otherwise(declared, way)
    ours = dict.fromkeys(items, Remover.US)
    return replace(
        declared,
        sets=tuple(
            replace(one, removers={**one.removers, **ours}) if one.key == set_key else one
            for one in declared.sets
        ),
    )
