"""What holds for all tests: Ctrl-C works in them, and in the programs that they start."""

from __future__ import annotations

import signal

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A shell lets what it begins in the background ignore Ctrl-C, and what is ignored is inherited.
    signal.signal(signal.SIGINT, signal.default_int_handler)
