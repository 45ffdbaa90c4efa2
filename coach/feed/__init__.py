"""Where fixes come from: a network socket, a serial line, a file; each read on its own thread."""
