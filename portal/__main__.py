"""`python -m portal`: the command line."""

import os
import sys

from portal.cli import main

# the database, its copies and the secret are for their owner alone, whatever makes them
os.umask(0o077)
sys.exit(main())
