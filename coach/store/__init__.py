"""Files on disk: drills, phrase tables, settings read; never decides what happens in flight."""
