"""When work is done: stations, simulation, promise."""
