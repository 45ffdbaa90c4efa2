"""Reads the pilot's settings file from the folder where this system keeps them.

Never writes it and never judges a value: that is `coach.settings`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import platformdirs

from coach.errors import SettingsError
from coach.settings import Settings, check_settings
from coach.store.documents import read_document


def settings_path() -> Path:
    """Where the settings file is looked for, such as `~/.config/drill-coach/settings.yaml`."""
    return platformdirs.user_config_path("drill-coach", appauthor=False) / "settings.yaml"


def read_settings(overrides: Mapping[str, str], path: Path | None = None) -> Settings:
    """The settings in force: defaults, then the file, then what the command line says.

    `path` None: the usual file, which need not exist; one that is named must. A `~` at the start of a
    folder is the user's home. Raises `SettingsError` with every problem.
    """
    found = path or settings_path()
    if path is None and not found.exists():
        return _expand(check_settings(None, overrides))
    return _expand(check_settings(read_document(found, SettingsError), overrides))


def _expand(settings: Settings) -> Settings:
    return replace(
        settings,
        vosk_model=settings.vosk_model and settings.vosk_model.expanduser(),
        whisper_model=settings.whisper_model and settings.whisper_model.expanduser(),
    )
