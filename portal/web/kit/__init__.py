"""Shared by every audience, knows none of them."""
