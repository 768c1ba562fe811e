"""The floor: stations, oven, strip runs, inspection, and their boards."""
