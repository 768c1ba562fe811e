"""The running portal under faults: killed, without mail, disk or database.

`make faults` runs all of it and writes `build/faults.json`; a short form is part of every run.
Clients press buttons over HTTP and note what was acknowledged; afterwards the database is counted.
"""
