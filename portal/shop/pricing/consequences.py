"""The effect of an old finish or a damage on price and date, shown beside its choice.

No figure is defined here: the price list and the strip calendar are asked about this very set, with
that one thing on it.
"""

from dataclasses import dataclass, replace

from portal.craft.answers import CautionKind, SetAppraisal
from portal.craft.appraise import Practice, appraise_set
from portal.craft.parts import Damage, Layer, PartSet
from portal.shop.money import Money
from portal.shop.pricing.price_list import Tariff
from portal.shop.pricing.quote_lines import set_lines


@dataclass(frozen=True, slots=True)
class Consequence:
    """The effect of one thing on a part: `low` to `high` on each part, and `days` longer.

    `days` are working days outside the house. `refused`: such a part is not coated at all;
    `checked`: it is inspected before anything else.
    """

    low: Money
    high: Money
    days: int = 0
    refused: bool = False
    checked: bool = False

    @property
    def free(self) -> bool:
        """Whether it changes neither price nor date."""
        return not (self.high.minor or self.days or self.refused or self.checked)


def of_layer(one: PartSet, layer: Layer, practice: Practice, tariff: Tariff) -> Consequence:
    """Return the effect of stripping this layer alone."""
    answer = _appraised(replace(one, layers=(layer,), damage=()), practice)
    low, high = _each(answer, ".strip.", tariff)
    return Consequence(low, high, days=answer.route.outside_days)


def of_damage(one: PartSet, damage: Damage, practice: Practice, tariff: Tariff) -> Consequence:
    """Return the effect of this damage alone."""
    answer = _appraised(replace(one, damage=(damage,), damaged={}), practice)
    low, high = _each(answer, ".repair.", tariff)
    kinds = {caution.kind for caution in answer.cautions if caution.damage is damage}
    return Consequence(
        low,
        high,
        refused=CautionKind.REFUSE in kinds,
        checked=CautionKind.INSPECT in kinds,
    )


def _appraised(one: PartSet, practice: Practice) -> SetAppraisal:
    # one part is enough to ask about; who takes off what is another page's question
    single = replace(one, count=1, fitted=(), finish=None)
    return appraise_set(single, None, practice)


def _each(answer: SetAppraisal, kind: str, tariff: Tariff) -> tuple[Money, Money]:
    lines = [line for line in set_lines(answer, None, tariff) if kind in line.key]
    return (
        Money(sum(line.low.minor for line in lines), tariff.currency),
        Money(sum(line.high.minor for line in lines), tariff.currency),
    )
