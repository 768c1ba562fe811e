"""The only home of Flask.

The audiences (intake, slip, status, counter, books) do not know each other.
"""
