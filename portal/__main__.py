"""`python -m portal`: the command line."""

import sys

from portal.cli import main

sys.exit(main())
