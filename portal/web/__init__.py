"""The web pages; only this package knows Flask.

The audiences (intake, slip, status, counter, office, trade) do not know each other.
"""
