"""The shop's week and its working time."""
