"""Pretended photos of scribbled soles, drawn with the truth known exactly.

``render(scene)`` draws one; ``scenes()`` is the list that studies use and
``few_scenes()`` a short list of small ones for the suite.
"""

from tests.photo_scenes.catalogue import few_scenes, scenes
from tests.photo_scenes.render import render
from tests.photo_scenes.scene import Scene, Shot

__all__ = ["Scene", "Shot", "few_scenes", "render", "scenes"]
