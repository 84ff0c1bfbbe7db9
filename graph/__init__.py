"""The pure core: what a machine is, what is believed about it, what to do next.

Nothing here reads a file, a clock or a socket.
"""
