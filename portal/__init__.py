"""The portal of a small coating works, laid out as a house.

Floors, top to bottom; imports only ever go down:
``__main__ > cli > web > settings > orders > notices > store > shop > craft``.

``craft`` knows the trade, ``shop`` knows this works; both only compute with what they are
handed: no clock, no chance, no file, no database. ``store`` keeps rows, ``notices`` sends
letters, ``orders`` is what happens to a job (one verb a function, one transaction a verb),
``web`` shows pages and decides nothing.
"""
