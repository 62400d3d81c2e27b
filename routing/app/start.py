"""Start the command line: who presses Ctrl-C while it loads, or twice, reads a line and no traceback."""

from __future__ import annotations

import signal
import sys

STOPPED = 3


def main() -> None:
    """Load the command line and run it."""
    try:
        from routing.app.cli.cli import main as run

        run()
    except KeyboardInterrupt:
        print("Interrupted before it was finished.", file=sys.stderr)
        sys.exit(STOPPED)
    finally:
        # All that is left is to leave: a late Ctrl-C must not make a run that is done look killed.
        signal.signal(signal.SIGINT, signal.SIG_IGN)
