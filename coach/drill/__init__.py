"""The drill: its file's language, compiler, plan, briefing. Pure."""
