"""The table that a garage downloads, fills in and sends back."""

from collections.abc import Callable, Sequence

from portal.craft.finishes import gloss_band
from portal.craft.messages import Message
from portal.craft.parts import Damage, Layer, Metal, PartKind, Powder, System, WheelBuild
from portal.shop.lists.columns import IN_TEMPLATE, ListColumn, OnThem

Say = Callable[[object], str]
# rows with words of ours; what a garage writes itself stands as it is in every language
EXAMPLES: tuple[dict[ListColumn, object], ...] = (
    {
        ListColumn.REFERENCE: Message("Example: order 1042"),
        ListColumn.PARTS: PartKind.WHEEL,
        ListColumn.COUNT: "4",
        ListColumn.SIZE: "8J x 18 ET35, 225/45 R18",
        ListColumn.MADE_OF: WheelBuild.CAST,
        ListColumn.OLD_FINISH: Layer.FACTORY_PAINT,
        ListColumn.DAMAGE: Damage.KERB_RASH,
        ListColumn.ON_THEM: OnThem.TYRES,
        ListColumn.COATS: System.SINGLE,
    },
    {
        ListColumn.REFERENCE: Message("Example: order 1043"),
        ListColumn.PARTS: PartKind.PLATE,
        ListColumn.COUNT: "2",
        ListColumn.SIZE: "400 x 300 x 3 mm",
        ListColumn.MADE_OF: Metal.STEEL,
        ListColumn.OLD_FINISH: Layer.BARE,
        ListColumn.COLOUR: Message("from a sample"),
    },
)


def template_lines(say: Say, powder: Powder) -> list[Sequence[str]]:
    """Return the headings and the examples in the words that `say` gives them.

    `powder` is one of the shop's, for the example of a colour.
    """
    first = {
        ListColumn.COLOUR: powder.ral or powder.code,
        ListColumn.GLOSS: gloss_band(powder.gloss_gu),
    }
    rows = [{**EXAMPLES[0], **first}, *EXAMPLES[1:]]
    heads = [say(column) for column in IN_TEMPLATE]
    return [heads, *([say(one.get(column, "")) for column in IN_TEMPLATE] for one in rows)]
