"""The session: events, actions, the machine that decides, what it says and listens for. Pure."""
