"""The pure core: what a machine is, what is believed about it, what to do next.

Nothing here reads a file, a clock or a socket.
"""

from os import environ

environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""The products here are small: handing them to several threads takes ten times as long as doing them on one."""
