"""The states and kinds that the tables keep; the route of jobs and parts stands in shop.moves."""

from enum import StrEnum

from portal.craft.titled import Titled


class Arrival(StrEnum):
    """What check-in, or later the floor, has found of a part."""

    UNCHECKED = "unchecked"
    AS_DECLARED = "as_declared"
    DIFFERS = "differs"
    MISSING = "missing"  # it was not brought
    TURNED_AWAY = "turned_away"  # it came, it can't be done, it goes home as it is
    LOST = "lost"  # it came, and cannot be found any more


class FindingAnswer(StrEnum):
    """What became of a finding."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    WITHDRAWN = "withdrawn"


class AnsweredHow(StrEnum):
    """How the answer to a finding came."""

    COUNTER = "counter"
    LINK = "link"
    # within the price to which the customer agreed with a "don't know"
    TOLD_BEFORE = "told_before"


class TellBy(Titled):
    """How a customer wants to be told."""

    EMAIL = "email", "By e-mail"
    PHONE = "phone", "By phone"


class PaymentMethod(Titled):
    """How money was taken."""

    CARD = "card", "Card"
    CASH = "cash", "Cash"
    TRANSFER = "transfer", "Bank transfer"


class RunState(StrEnum):
    """Where a strip run stands."""

    GATHERING = "gathering"
    AWAY = "away"
    BACK = "back"


class StockReason(StrEnum):
    """Why a powder's stock changed."""

    LOAD = "load"
    DELIVERY = "delivery"
    STOCKTAKE = "stocktake"


class PhotoPurpose(StrEnum):
    """Why a photo was taken."""

    DECLARED = "declared"
    ARRIVAL = "arrival"
    FINDING = "finding"
    INSPECTION = "inspection"
    QUESTION = "question"


class ThreadKind(Titled):
    """What a customer and the works write to each other about, behind the link of a job."""

    QUESTION = "question", "Question"
    CASE = "case", "Something is wrong"  # after the hand-back


class Channel(StrEnum):
    """How news reaches a customer."""

    EMAIL = "email"
    TEXT = "text"
    PUSH = "push"


class LetterState(StrEnum):
    """Where a letter stands on its way out."""

    QUEUED = "queued"
    SENDING = "sending"
    SENT = "sent"
    GIVEN_UP = "given_up"
    TAKEN_BACK = "taken_back"  # a later one says it all
    SWITCHED_OFF = "switched_off"  # the customer wants none of this kind
    NO_ADDRESS = "no_address"  # there is no e-mail address: it is told by telephone


class LetterKind(Titled):
    """What a letter is about."""

    BOOKED = "booked", "Booked"
    RESUME_LINK = "resume_link", "Your saved order"
    RECEIVED = "received", "Received"
    FINDING = "finding", "We need your answer"
    NEW_DATE = "new_date", "New date"
    ON_TIME = "on_time", "On time after all"
    CLOSED = "closed", "We are closed"
    STILL_WAITING = "still_waiting", "We still need your answer"
    READY = "ready", "Ready"
    HANDED_BACK = "handed_back", "Collected"
    NOT_BROUGHT = "not_brought", "Not brought"
    MOVED = "moved", "New drop-off time"
    CALLED_OFF = "called_off", "Cancelled"
    NOT_FETCHED = "not_fetched", "Not collected yet"
    STATUS_LINKS = "status_links", "Your order pages"
    FIRM_BOOKED = "firm_booked", "A firm's list is booked"
    FIRM_LINK = "firm_link", "The link to a firm's page"
    FIRM_INVOICE = "firm_invoice", "Invoice of a month"
    FIRM_REMINDER = "firm_reminder", "Invoice not paid yet"
    QUESTION_ASKED = "question_asked", "We have your question"
    QUESTION_ANSWERED = "question_answered", "Our answer"
    COMING = "coming", "The day before you come"
    RECHECK = "recheck", "Check the wheel nuts again"
    CHECKED = "checked", "Results of our tests"
    ON_ITS_WAY = "on_its_way", "On the way to stripping and back"
    FOUND = "found", "Found again"
    FINISH_CHANGED = "finish_changed", "Another colour or finish"
    CONTACT_CHANGED = "contact_changed", "New contact details"
    ANSWERED = "answered", "Our answer about a job"
    TEST = "test", "Test letter"


class DocumentKind(StrEnum):
    """A document of the shop that has editions."""

    SHOP = "shop"
    PRICES = "prices"
    WEEK = "week"
    STATIONS = "stations"
    PLACE = "place"
    LETTERS = "letters"
    TRANSLATIONS = "translations"
    PRIVACY = "privacy"
    TERMS = "terms"
    INVOICING = "invoicing"


class OrderKind(Titled):
    """What makes the errors of a promise differ, the narrowest first."""

    OUTSIDE_STRIP = "outside_strip", "With an outside strip"
    TRADE_BATCH = "trade_batch", "Batches of twelve parts and more"
    FEW_PARTS = "few_parts", "One or two parts"
    SET = "set", "Sets"


class Horizon(Titled):
    """How many working days lie between the booking and the drop-off."""

    NEAR = "near", "Less than 2 working days ahead"
    SOON = "soon", "2 to 5 working days ahead"
    FAR = "far", "5 to 10 working days ahead"
    FURTHEST = "furthest", "More than 10 working days ahead"
