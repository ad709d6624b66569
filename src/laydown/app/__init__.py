"""One module per user task: a frozen request in, a frozen result out; the doors only render."""
