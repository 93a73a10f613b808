"""Photos of scribbled soles by a small model of light, to test with from outside.

`scenes` gives what there is, `render` draws one: a before and an after picture, and
what is true of them.
"""

from __future__ import annotations

from .scenes import Scene, Shot, scenes
from .taking import render

__all__ = ["Scene", "Shot", "render", "scenes"]
