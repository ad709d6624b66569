"""Memory that long work has freed, given back to the system."""

import ctypes
import gc
import sys


def give_back_memory() -> None:
    """Have the system take back what was freed.

    On Linux the C library keeps what it was given for as long as anything above it is in use; once
    a picture of a hundred megapixels was read, that is some hundred megabytes for as long as the
    bench is open. Other systems take it back by themselves.
    """
    gc.collect()
    if sys.platform.startswith("linux"):
        trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # which only glibc has
        if trim is not None:
            trim(0)
