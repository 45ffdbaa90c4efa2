"""A voice-prompted cockpit drill coach for instrument practice over a VOR."""

__version__ = "0.1.0"
