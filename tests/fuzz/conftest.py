"""The modules of the campaign import each other by name, as they do when it is run by itself."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
