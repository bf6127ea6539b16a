"""Makes the prints written by hand in ``tests/digitize/redraw`` importable."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "redraw"))
