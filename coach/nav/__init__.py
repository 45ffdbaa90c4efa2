"""Navigation, pure: angles, wind, turns, the aircraft and the receiver; never touches the world."""
