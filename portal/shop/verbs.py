"""What is recorded of a job and of the office: the words of the two logs.

A word that was once written stays here, so that its rows can be read. A new one needs its sentence
(`orders/office/log_sentences.py`) and a migration (`store/migrations/verbs.py`).
"""

from enum import StrEnum


class EventVerb(StrEnum):
    """What happened to a job or a part."""

    # the job as a whole: `shop.moves.JOB_MOVES`
    BOOK = "book"
    RECEIVE = "receive"
    WAIT = "wait"
    RESUME = "resume"
    START = "start"
    MAKE_READY = "make_ready"
    TAKE_BACK = "take_back"
    HAND_BACK = "hand_back"
    HAND_BACK_UNDONE = "hand_back_undone"
    NOT_FETCHED = "not_fetched"
    MISS = "miss"
    RESCHEDULE = "reschedule"
    CALL_OFF = "call_off"
    TURN_AWAY = "turn_away"

    # a part from station to station
    MOVE = "move"
    REWORK = "rework"
    UNDO = "undo"

    # at check-in
    ARRIVED = "arrived"
    REOPENED = "reopened"
    TAG = "tag"
    UNTAG = "untag"
    BAG = "bag"
    BAG_OFF = "bag_off"
    STAMP = "stamp"
    CORNER = "corner"
    HANG = "hang"
    CHECK = "check"

    # with the customer
    FINDING = "finding"
    SETTLE = "settle"
    COLOUR = "colour"
    FINISH = "finish"
    CONTACT = "contact"
    MAY_FETCH = "may_fetch"
    PICKUP_TIME = "pickup_time"
    RECORD_LINK = "record_link"
    NEW_DATE = "new_date"
    ON_TIME = "on_time"
    CLOSED_DAY = "closed_day"
    ASKED_AGAIN = "asked_again"
    CALLED = "called"
    REMINDED = "reminded"
    PAY = "pay"
    REFUND = "refund"
    DISCOUNT = "discount"
    GOODWILL = "goodwill"
    REVERSE = "reverse"
    OVER_LIMIT = "over_limit"

    HAND_OVER = "hand_over"

    # what the customer and the works write to each other
    QUESTION = "question"
    CASE = "case"
    ANSWER = "answer"
    CASE_CLOSED = "case_closed"

    # on the floor
    RUN_IN = "run_in"
    RUN_OUT = "run_out"
    RUN_SENT = "run_sent"
    RUN_MISSING = "run_missing"
    BAKED_DESPITE = "baked_despite"
    BAKED_OTHERWISE = "baked_otherwise"
    HEAT_LEAVE = "heat_leave"
    INSPECT = "inspect"
    WRITTEN_OFF = "written_off"
    FOUND = "found"
    SHELF = "shelf"

    # what staff tell each other
    NOTE = "note"
    NOTE_OFF = "note_off"

    # a word that this edition does not know; it stands in front of the note
    OTHER = "other"


class AuditVerb(StrEnum):
    """What somebody did in the office, or to their own account."""

    SIGN_IN = "sign_in"
    WRONG_PASSWORD = "wrong_password"  # noqa: S105  # a word of the log
    WRONG_CODE = "wrong_code"
    WRONG_PIN = "wrong_pin"
    UNLOCK = "unlock"
    NOT_ALLOWED = "not_allowed"
    END_DEVICE = "end_device"
    END_DEVICES = "end_devices"
    NEW_PASSWORD = "new_password"  # noqa: S105  # a word of the log
    NEW_PIN = "new_pin"
    PIN_OFF = "pin_off"
    GIVE_PASSWORD = "give_password"  # noqa: S105  # a word of the log
    SECOND_FACTOR_ON = "second_factor_on"
    SECOND_FACTOR_OFF = "second_factor_off"
    RECOVERY_CODES = "recovery_codes"
    RECOVERY_CODE_USED = "recovery_code_used"
    ADD_PERSON = "add_person"
    RENEW_PERSON = "renew_person"
    CHANGE_PERSON = "change_person"

    ANSWER_QUESTION = "answer_question"
    CLOSE_QUESTION = "close_question"
    ERASE_QUESTION = "erase_question"
    SEND_AGAIN = "send_again"
    TEST_LETTER = "test_letter"
    ERASE_PERSON = "erase_person"
    EXPORT_PERSON = "export_person"
    SEND_KEPT_SCANS = "send_kept_scans"
    WAIVED_CHECK = "waived_check"
    REOPENED_CHECK = "reopened_check"

    # `put_` and a `DocumentKind`
    PUT_SHOP = "put_shop"
    PUT_PRICES = "put_prices"
    PUT_WEEK = "put_week"
    PUT_STATIONS = "put_stations"
    PUT_PLACE = "put_place"
    PUT_LETTERS = "put_letters"
    PUT_TRANSLATIONS = "put_translations"
    PUT_PRIVACY = "put_privacy"
    PUT_TERMS = "put_terms"
    PUT_INVOICING = "put_invoicing"
    IMPORT_SHOP = "import_shop"
    EXPORT = "export"

    PUT_POWDER = "put_powder"
    DELIVERY = "delivery"
    STOCKTAKE = "stocktake"
    CORRECTION = "correction"
    LOAD = "load"
    ORDER_POWDER = "order_powder"
    ORDER_OFF = "order_off"

    CORRECT_INVOICE = "correct_invoice"
    CLOSE_TILL = "close_till"

    ADD_FIRM = "add_firm"
    CHANGE_FIRM = "change_firm"
    CLOSE_FIRM = "close_firm"
    PUT_FIRM_PRICES = "put_firm_prices"
    SEND_FIRM_LINK = "send_firm_link"
    END_FIRM_LINKS = "end_firm_links"
    ISSUE_MONTH = "issue_month"
    CANCEL_MONTH = "cancel_month"
    PAY_MONTH = "pay_month"
    UNPAY_MONTH = "unpay_month"
    REMIND_FIRM = "remind_firm"
    OVER_LIMIT = "over_limit"

    # a word that this edition does not know; it stands in front of what was written
    OTHER = "other"


# what brings a part from one stage to another
MOVES_OF_PARTS = (EventVerb.MOVE, EventVerb.REWORK, EventVerb.UNDO)
# what is only said, or only changes how somebody is reached: no edit is overtaken by it
ONLY_SAID = (
    EventVerb.QUESTION,
    EventVerb.CASE,
    EventVerb.ANSWER,
    EventVerb.CASE_CLOSED,
    EventVerb.CONTACT,
    EventVerb.MAY_FETCH,
    EventVerb.PICKUP_TIME,
    EventVerb.RECORD_LINK,
)
