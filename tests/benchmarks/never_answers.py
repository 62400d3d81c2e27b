"""A contestant that hangs, deaf to everything."""

import signal
import time

signal.signal(signal.SIGTERM, signal.SIG_IGN)
time.sleep(600)
