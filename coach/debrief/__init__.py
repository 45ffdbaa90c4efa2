"""What was flown, against the standard: from a track, and from a session's journal where there is one."""
