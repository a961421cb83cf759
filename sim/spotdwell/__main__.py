"""`python -m spotdwell`: the command line."""

import sys

from spotdwell.cli import main

sys.exit(main())
