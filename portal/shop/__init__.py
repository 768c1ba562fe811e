"""This shop, pure: its money, moves, codes, week, stations, prices and forecast."""
