"""The same loop on a simulated clock: a simulated aircraft, pilot and cabin around the real coach."""
