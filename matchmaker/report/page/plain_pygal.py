"""Pygal, without what it leaves behind in the interpreter.

On import it hooks itself into the search for modules, to find maps of countries. Python before
3.12 warns of such a hook at every later import, and later ones ignore it; no map is drawn here.
"""

from __future__ import annotations

import sys

import pygal
from pygal.etree import etree
from pygal.style import Style

__all__ = ["Style", "etree", "pygal"]

sys.meta_path[:] = [
    finder for finder in sys.meta_path if not isinstance(finder, pygal.PluginImportFixer)
]
