"""Customers nobody had in mind: each walks the real pages from the landing page to the hand-back.

A customer is drawn from one number. What can be chosen is read off the pages as they are served,
so a page that changes is walked as it stands; only well-known fields have an intent of their own.
`python -m tests.customers N SEED` (`make customers N=2000 SEED=7`) walks many, and repeats one.
"""
