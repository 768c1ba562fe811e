"""The standard texts on privacy and terms, from what the portal really does.

The figures come from where they are used: the retention times, the deposit in the price list. A
shop that has written its own text in a language shows that instead (`shop.policies`).
"""

from collections.abc import Callable
from datetime import timedelta

from portal.craft.messages import Message, Phone
from portal.orders.kernel.retention_times import (
    ASKED_DRAFT_LIVES,
    CONTACT_LIVES,
    DEVICES_LIVE,
    DRAFT_LIVES,
    FIRM_LISTS_LIVE,
    LETTERS_LIVE,
    LINK_LIVES,
    PHOTOS_LIVE,
    TRIES_LIVE,
)
from portal.shop.invoicing.rules import invoice_rules
from portal.shop.money import Money
from portal.shop.policies import Block, BlockKind, Policy, read_blocks
from portal.shop.shop import Shop

A_MONTH = timedelta(days=365.25 / 12)
PARAGRAPH, HEADING, ITEM = BlockKind.PARAGRAPH, BlockKind.HEADING, BlockKind.ITEM


def text_of(policy: Policy, shop: Shop, language: str) -> tuple[Block, ...]:
    """Return a page's text: the shop's own in this language, else the standard one."""
    own = shop.policies.get(policy, {}).get(language, "")
    return read_blocks(own) if own else standard(policy, shop)


def standard(policy: Policy, shop: Shop) -> tuple[Block, ...]:
    """Return the standard text of a page, from what the portal does and the shop's figures."""
    makers: dict[Policy, Callable[[Shop], list[Block]]] = {
        Policy.PRIVACY: _privacy,
        Policy.TERMS: _terms,
    }
    return tuple(makers[policy](shop))


def _privacy(shop: Shop) -> list[Block]:
    months = round(CONTACT_LIVES / A_MONTH)
    return [
        Block(
            PARAGRAPH,
            Message(
                "{shop}, {address}, is responsible for your data.",
                shop=shop.name,
                address=", ".join(shop.address),
            ),
        ),
        Block(HEADING, Message("What we keep, and why")),
        Block(
            ITEM,
            Message(
                "Your order: your parts, the work, the price and the date. We need it to "
                "do the work."
            ),
        ),
        Block(
            ITEM,
            Message(
                "Your name, e-mail address and phone number, and your vehicle if you "
                "tell us. We need them to send you the booking, to ask about your parts "
                "and to tell you when they are ready."
            ),
        ),
        Block(
            ITEM,
            Message(
                "Photos that you send and photos that we take of your parts. They show "
                "in what state the parts came."
            ),
        ),
        Block(
            ITEM, Message("Questions that you ask us, our answers, and the letters we send you.")
        ),
        Block(
            ITEM,
            Message(
                "What you paid, when, and whether in cash, by card or by transfer. We "
                "keep no card numbers here."
            ),
        ),
        Block(HEADING, Message("How long we keep it")),
        Block(
            ITEM,
            Message(
                "An order that you don't book: {days} days after your last answer. If "
                "you ask us a question: {asked} days after the question or our answer. "
                "Then we delete it with its photos and letters. For some time we "
                "remember that the link has ended, but not whose it was.",
                days=DRAFT_LIVES.days,
                asked=ASKED_DRAFT_LIVES.days,
            ),
        ),
        Block(
            ITEM,
            Message(
                "The link to your order: it works until {days} days after you collect your parts.",
                days=LINK_LIVES.days,
            ),
        ),
        Block(
            ITEM, Message("Photos: {days} days after your order is over.", days=PHOTOS_LIVE.days)
        ),
        Block(
            ITEM,
            Message(
                "Your name, contact details, questions and letters: {months} months "
                "after your order is over.",
                months=months,
            ),
        ),
        Block(
            ITEM,
            Message(
                "The name and address on an invoice, if you ask for one: {years} years, as "
                "the law wants it.",
                years=invoice_rules(shop.country).years,
            ),
        ),
        Block(
            ITEM,
            Message(
                "Letters that belong to no order, such as links and invoices for trade customers: "
                "{days} days. Their lists: {lists} days after the last change.",
                days=LETTERS_LIVE.days,
                lists=FIRM_LISTS_LIVE.days,
            ),
        ),
        Block(
            ITEM,
            Message(
                "Of the people who work here: which browsers they signed in from, for {days} days.",
                days=DEVICES_LIVE.days,
            ),
        ),
        Block(
            ITEM,
            Message(
                "Prices, payments and what was done to the parts: we keep these "
                "afterwards, without your name."
            ),
        ),
        Block(
            PARAGRAPH,
            Message(
                "While your parts are with us, your order is not over. If nobody "
                "collects them, we keep all of this until they are collected."
            ),
        ),
        Block(HEADING, Message("Who sees it")),
        Block(
            ITEM,
            Message(
                "The people who work here. We don't sell it, and we don't use it for advertising."
            ),
        ),
        Block(
            ITEM,
            Message(
                "Companies that run our server or deliver our e-mail, where we use any. "
                "They handle it for us only."
            ),
        ),
        Block(
            ITEM,
            Message(
                "Anyone who has the link to your order can see the order. Keep the link "
                "and the slip to yourself."
            ),
        ),
        Block(HEADING, Message("Cookies")),
        Block(
            PARAGRAPH,
            Message(
                "One cookie protects our forms until you close your browser. If you "
                "choose a language or units, a cookie remembers that for a year. "
                "There is no tracking, and nothing comes from other websites."
            ),
        ),
        Block(
            PARAGRAPH,
            Message(
                "Against misuse we count tries from the same internet address for "
                "{days} days, without storing the address itself.",
                days=TRIES_LIVE.days,
            ),
        ),
        Block(HEADING, Message("Your rights")),
        Block(
            PARAGRAPH,
            Message(
                "Ask us what we keep about you, and we will tell you. If something "
                "is wrong, we correct it. When your order is over, we delete your "
                "name, contact details and photos if you ask."
            ),
        ),
        Block(
            PARAGRAPH,
            Message(
                "Write to {email} or call {phone}. You can also complain to the "
                "data protection authority.",
                email=shop.email,
                phone=Phone(shop.phone),
            ),
        ),
    ]


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
    kept = (
        Message(
            "If you cancel there, we keep {percent} % of a deposit that you have paid, and pay "
            "back the rest. Moving the drop-off costs nothing.",
            percent=rules.deposit_kept_percent,
        )
        if rules.deposit_kept_percent
        else Message("Both cost nothing. You get back a deposit that you have paid.")
    )
    return [Block(ITEM, until), Block(ITEM, kept)]


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
