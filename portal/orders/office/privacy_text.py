"""The standard text on privacy, with the times for which the portal really keeps what it keeps."""

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
from portal.shop.policies import Block, BlockKind
from portal.shop.shop import Shop

A_MONTH = timedelta(days=365.25 / 12)
PARAGRAPH, HEADING, ITEM = BlockKind.PARAGRAPH, BlockKind.HEADING, BlockKind.ITEM


def privacy_text(shop: Shop) -> list[Block]:
    """Return the standard text on privacy."""
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
                "If you let a browser show our messages: the maker of that browser delivers "
                "them. They are encrypted, so it can't read them."
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
                "One cookie protects our forms until you close your browser, and remembers "
                "that you have entered the last digits of your phone number. If you choose a "
                "language or units, a cookie remembers that for a year. "
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
