"""What the number means that a command leaves behind."""

DONE = 0
CAN_BE_MENDED = 1
"""An error that the user can mend; the message says how."""
USAGE = 2
"""The command itself was not understood."""
ANSWER_IS_NO = 3
"""All went well and the answer is no, such as a color out of reach."""
INTERRUPTED = 130
"""Stopped by Ctrl-C, as shells expect it; the library is as it was."""
