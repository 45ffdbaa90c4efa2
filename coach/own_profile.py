"""The pilot's own thresholds on their way from the disk to the ear: what cannot be used is told and left.

A flight is never given up for them.
"""

from __future__ import annotations

from collections.abc import Callable

from coach.errors import SettingsError
from coach.session.voice_profile import VoiceProfile
from coach.settings import Settings
from coach.store.voice_profiles import FORGET, read_profile, voice_folder
from coach.voice.personal import PERSONAL


def find_profile(settings: Settings, tell: Callable[[str], None]) -> VoiceProfile | None:
    """The profile for these settings; None where there is none, or none that can be read."""
    try:
        profile = read_profile(voice_folder())
    except SettingsError as error:
        tell(f"No voice profile, the usual thresholds. {error}")
        return None
    return profile if profile is not None and profile.language == settings.language else None


def tell_unused(profile: VoiceProfile | None, ear: str, tell: Callable[[str], None]) -> None:
    """Tell where a profile moves thresholds, and the ear of that name could not use it."""
    if profile is not None and profile.shifts and PERSONAL not in ear:
        tell(
            f"The voice profile was made with another recogniser ({profile.recogniser}) or other thresholds: "
            f"the usual ones are used; `coach check --voice` makes a new one, `{FORGET}` removes it"
        )
