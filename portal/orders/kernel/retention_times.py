"""How long data is kept; the page on privacy states these times."""

from datetime import timedelta

# a draft that nobody goes on with, and one about which a question was asked
DRAFT_LIVES = timedelta(days=7)
ASKED_DRAFT_LIVES = timedelta(days=30)
# that a link led to a draft is remembered for so long after the draft was deleted
ENDED_DRAFT_KNOWN = timedelta(days=180)
# after the end of the order: its link, its photos, who its customer was
LINK_LIVES = timedelta(days=30)
PHOTOS_LIVE = timedelta(days=90)
CONTACT_LIVES = timedelta(days=730)
# letters that belong to no job: links for firms, their invoices and reminders, test letters
LETTERS_LIVE = timedelta(days=90)
# a browser that nobody has signed in from; its cookie lives as long
DEVICES_LIVE = timedelta(days=365)
# the keys of final buttons, and the tries that make guessing slow
RECEIPTS_LIVE = timedelta(days=30)
TRIES_LIVE = timedelta(days=2)
# wrong digits at a customer's link: so few numbers can be guessed that they count for longer
LINK_TRIES_LIVE = timedelta(days=30)
# a trade customer's list of orders, after its last change
FIRM_LISTS_LIVE = timedelta(days=90)
