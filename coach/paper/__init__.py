"""Draws the shapes of a sheet to files."""
