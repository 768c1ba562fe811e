"""The table that a garage downloads, fills in and sends back."""

from collections.abc import Callable, Sequence

from portal.craft.finishes import gloss_band
from portal.craft.messages import Message
from portal.craft.parts import Damage, Layer, Metal, PartKind, Powder, System, WheelBuild
from portal.shop.lists.columns import IN_TEMPLATE, Column, OnThem

Say = Callable[[object], str]
# rows with words of ours; what a garage writes itself stands as it is in every language
EXAMPLES: tuple[dict[Column, object], ...] = (
    {
        Column.REFERENCE: Message("Example: order 1042"),
        Column.PARTS: PartKind.WHEEL,
        Column.COUNT: "4",
        Column.SIZE: "8J x 18 ET35, 225/45 R18",
        Column.MADE_OF: WheelBuild.CAST,
        Column.OLD_FINISH: Layer.FACTORY_PAINT,
        Column.DAMAGE: Damage.KERB_RASH,
        Column.ON_THEM: OnThem.TYRES,
        Column.COATS: System.SINGLE,
    },
    {
        Column.REFERENCE: Message("Example: order 1043"),
        Column.PARTS: PartKind.PLATE,
        Column.COUNT: "2",
        Column.SIZE: "400 x 300 x 3 mm",
        Column.MADE_OF: Metal.STEEL,
        Column.OLD_FINISH: Layer.BARE,
        Column.COLOUR: Message("from a sample"),
    },
)


def template_lines(say: Say, powder: Powder) -> list[Sequence[str]]:
    """Return the headings and the examples in the words that `say` gives them.

    `powder` is one of the shop's, for the example of a colour.
    """
    first = {Column.COLOUR: powder.ral or powder.code, Column.GLOSS: gloss_band(powder.gloss_gu)}
    rows = [{**EXAMPLES[0], **first}, *EXAMPLES[1:]]
    heads = [say(column) for column in IN_TEMPLATE]
    return [heads, *([say(one.get(column, "")) for column in IN_TEMPLATE] for one in rows)]
