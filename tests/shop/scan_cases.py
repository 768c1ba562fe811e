"""What hand scanners and people type, and what it is: one table for the server and for the page.

The page reads scans by itself while there is no network (`static/js/scan_forms.js`), so both
readings are held against these cases. Layouts: a scanner that is set to a US keyboard presses
keys, and the device writes what its own keyboard has there. Keys of the German (DIN 2137-1) and
of the traditional French AZERTY layout (as on its keycaps; a description of it stands in
NF Z71-300, annex) are from memory.
"""

from portal.shop.codes import new_code, shown
from tests.conftest import chance

# no Z and no twins in it, and keys that the layouts move: Y, A, W, M, digits
CODE = new_code(chance(3))
SHOWN = shown(CODE)

GERMAN = str.maketrans("YZyz-", "ZYzyß")
FRENCH = str.maketrans("AQZWaqzwM1234567890-", "QAWZqawz?&é\"'(-è_çà)")

TAGS = {
    "103": "103",
    " 103 ": "103",
    "103\r": "103",
    "#0103": "103",
    "t-103": "103",
    "T103": "103",
    "00007": "7",
    "Tß103": "103",  # T-103 on a German keyboard
    "103".translate(FRENCH): "103",
    "T-205".translate(FRENCH): "205",
    "１０３": "103",  # full width digits of an input method
}
PAPER = {
    f"{SHOWN}-1": (CODE, 1),
    f"{SHOWN}-12".lower(): (CODE, 12),
    f"{CODE}/3": (CODE, 3),
    f"{CODE}.3": (CODE, 3),
    f"{CODE} 3": (CODE, 3),
    f"{CODE}03": (CODE, 3),  # no separators at all
    f"{CODE}03".lower(): (CODE, 3),
    f"{SHOWN}-2".translate(GERMAN): (CODE, 2),
    f"{SHOWN}-2".lower().translate(GERMAN): (CODE, 2),
    f"{SHOWN}-2".translate(FRENCH): (CODE, 2),
    f"{CODE}02".translate(FRENCH): (CODE, 2),
}
STATIONS = {
    "AT-BLAST": "blast",
    "at blast": "blast",
    "AT-DONE": "done",
    "AT-COAT".translate(GERMAN): "coat",
    "AT-BLAST".translate(FRENCH): "blast",
}
SHELVES = {
    "SHELF-A3": "A3",
    "shelf-b12": "B12",
    "SHELF-7": "7",
    "SHELF-C4".translate(GERMAN): "C4",
    "SHELF-B12".translate(FRENCH): "B12",
}
BAGS = {
    f"{SHOWN}-B1": (CODE, "B1"),
    f"{SHOWN}-b12".lower(): (CODE, "B12"),
    f"{CODE}/B3": (CODE, "B3"),
    f"{SHOWN}-B2".translate(GERMAN): (CODE, "B2"),
    f"{SHOWN}-B2".translate(FRENCH): (CODE, "B2"),
}
NEITHER = (
    "SHELF-HOME",
    "SHELF",
    "shelf of wheels",
    "07700900123",
    "123456",
    "12a",
    "AT-HOME",
    "somebody",
    "JOHNSONS12",
    CODE,
    SHOWN,
    f"{CODE[:7]}{'2' if CODE[7] != '2' else '3'}03",  # ten signs that are no paper tag
    "",
)
READINGS = {
    "78": "78",
    "78.4": "78.4",
    "78,4 µm": "78,4",
    "78.4um": "78.4",
    "102 μm": "102",
    "0.5": "0.5",
    "1999": "1999",
    "78.4".translate(FRENCH | {ord("."): ":"}): "78.4",
}
NO_READINGS = ("0", "2001", "0103", "T103", "12345", "78-80", "78 80", "1e3", "-5", f"{CODE}-1", "")
