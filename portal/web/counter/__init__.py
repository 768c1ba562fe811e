"""Arriving, Floor, Shelf, Find: staff with a scanner."""
