"""Prices, powders, week, people: the office."""
