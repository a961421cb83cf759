"""`python -m spotdwell`: the command line."""

import sys

from spotdwell.entry import main

sys.exit(main())
