"""HiGHS, or ``None`` where it is not installed: CBC then stands in."""

from __future__ import annotations

import importlib
from typing import Any

highspy: Any
try:
    highspy = importlib.import_module("highspy")
except ImportError:
    highspy = None
