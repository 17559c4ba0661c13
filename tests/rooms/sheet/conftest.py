"""Lets the tests of this room share the sheets made by hand that stand beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
