"""OpenCV, without what its loader does to the programs that are started from here.

It puts folders of its own, and by an empty name the current one, first in where every further
process looks for libraries: a browser would load whatever lies there.
"""

import os

_NAME = "LD_LIBRARY_PATH"
_before = os.environ.get(_NAME)

import cv2  # noqa: E402, TID251  after what was there is known; only here

if _before is None:
    os.environ.pop(_NAME, None)
else:
    os.environ[_NAME] = _before

__all__ = ["cv2"]
