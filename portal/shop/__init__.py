"""This shop, without side effects: money, moves, codes, week, stations, prices and forecast."""
