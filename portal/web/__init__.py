"""The web pages; only this package knows Flask.

The audiences (intake, slip, status, counter, books) do not know each other.
"""
