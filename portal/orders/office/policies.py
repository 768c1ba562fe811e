"""The standard texts on privacy and terms, from what the portal really does.

The figures come from where they are used: the retention times, the deposit in the price list. A
shop that has written its own text in a language shows that instead (`shop.policies`).
"""

from collections.abc import Callable
from datetime import timedelta

from portal.craft.messages import Message, Phone
from portal.orders.office.privacy_text import privacy_text
from portal.shop.money import Money
from portal.shop.policies import Block, BlockKind, Policy, read_blocks
from portal.shop.shop import Shop
from portal.shop.works import FinishUntil

A_MONTH = timedelta(days=365.25 / 12)
PARAGRAPH, HEADING, ITEM = BlockKind.PARAGRAPH, BlockKind.HEADING, BlockKind.ITEM


def text_of(policy: Policy, shop: Shop, language: str) -> tuple[Block, ...]:
    """Return a page's text: the shop's own in this language, else the standard one."""
    own = shop.policies.get(policy, {}).get(language, "")
    return read_blocks(own) if own else standard(policy, shop)


def standard(policy: Policy, shop: Shop) -> tuple[Block, ...]:
    """Return the standard text of a page, from what the portal does and the shop's figures."""
    makers: dict[Policy, Callable[[Shop], list[Block]]] = {
        Policy.PRIVACY: privacy_text,
        Policy.TERMS: _terms,
    }
    return tuple(makers[policy](shop))


def _terms(shop: Shop) -> list[Block]:
    return [
        Block(HEADING, Message("Your booking")),
        Block(
            ITEM,
            Message(
                "Nothing is booked until you press the last button. Until then it costs nothing."
            ),
        ),
        Block(
            ITEM,
            Message(
                "You see the price we expect and the highest price. We never charge more "
                "than the highest price without your yes."
            ),
        ),
        Block(
            ITEM,
            Message(
                "We promise you a day. If we can't keep it, we tell you the new day and the reason."
            ),
        ),
        Block(ITEM, Message("If your parts differ from your order, we ask you before we go on.")),
        *_deposit(shop),
        Block(HEADING, Message("If you change your mind")),
        *_changes(shop),
        Block(
            ITEM,
            Message(
                "After that: tell us as soon as you can. If we haven't started, you get "
                "your parts and your deposit back."
            ),
        ),
        Block(
            ITEM,
            Message(
                "Once we have started, you pay for the work done so far. The deposit "
                "counts towards it, and you get back the rest."
            ),
        ),
        Block(
            ITEM,
            Message(
                "If you don't come to your drop-off, we ask you by e-mail whether you still want "
                "to come. It costs nothing."
            ),
        ),
        Block(HEADING, Message("Collecting your parts")),
        Block(ITEM, Message("We tell you when your parts are ready, and what is left to pay.")),
        Block(
            ITEM,
            Message(
                "If you don't collect them, we call or write to you. We never sell or "
                "throw away parts without writing to you first and giving you time to "
                "answer."
            ),
        ),
        Block(
            ITEM,
            Message(
                "We keep ready parts for {days} days and remind you before. After that the order "
                "ends: what you owe stays due, and the law says what happens to the parts.",
                days=shop.keeping.keep_ready_days,
            ),
        ),
        Block(HEADING, Message("Your safety")),
        Block(
            PARAGRAPH,
            Message(
                "We coat parts. We don't test whether a wheel is safe to drive on. "
                "When you fit the parts, the vehicle handbook comes first."
            ),
        ),
        Block(PARAGRAPH, Message("Your rights under the law stay as they are.")),
        Block(
            PARAGRAPH,
            Message(
                "{shop}, {address}, {phone}",
                shop=shop.name,
                address=", ".join(shop.address),
                phone=Phone(shop.phone),
            ),
        ),
    ]


def _changes(shop: Shop) -> list[Block]:
    rules = shop.changes
    until = (
        Message(
            "Until {hours} hours before your drop-off you can move or cancel it on your status "
            "page. After that, call or write to us.",
            hours=rules.until_hours,
        )
        if rules.until_hours
        else Message("Until your drop-off you can move or cancel it on your status page.")
    )
    stored = (
        Message(
            "If you cancel there, we keep {percent} % of a deposit that you have paid, and pay "
            "back the rest. Moving the drop-off costs nothing.",
            percent=rules.deposit_kept_percent,
        )
        if rules.deposit_kept_percent
        else Message("Both cost nothing. You get back a deposit that you have paid.")
    )
    return [Block(ITEM, until), Block(ITEM, stored), *_finish_changes(shop)]


def _finish_changes(shop: Shop) -> list[Block]:
    until = {
        FinishUntil.DROP_OFF: Message(
            "Until you bring your parts you can choose another colour or finish on your status "
            "page. You see the new price and date first."
        ),
        FinishUntil.BOOTH: Message(
            "Until your parts go to the powder booth you can choose another colour or finish on "
            "your status page. You see the new price and date first."
        ),
    }.get(shop.changes.finish_until)
    if until is None:
        return []
    fee = Money(shop.tariff.finish_change, shop.tariff.currency)
    costs = Message("Each such change costs {sum}, beside the finish itself.", sum=fee)
    return [Block(ITEM, until), *([Block(ITEM, costs)] if fee.minor else [])]


def _deposit(shop: Shop) -> list[Block]:
    tariff = shop.tariff
    if not tariff.deposit.percent:
        return [Block(ITEM, Message("We take no deposit."))]
    percent = tariff.deposit.percent.normalize()
    if tariff.deposit.least_total:
        least = Money(tariff.deposit.least_total, tariff.currency)
        says = Message(
            "For orders of {sum} or more, we take {percent} % as a deposit when you drop off. "
            "It is part of the price.",
            sum=least,
            percent=percent,
        )
    else:
        says = Message(
            "We take {percent} % as a deposit when you drop off. It is part of the price.",
            percent=percent,
        )
    return [Block(ITEM, says)]
