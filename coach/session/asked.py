"""What the pilot asks the coach: again, where, how long, more or less talk. Nothing here moves the drill."""

from __future__ import annotations

from coach.session import grammar, prompts
from coach.session.actions import Action, Record, Sound, Tone
from coach.session.events import PhraseHeard
from coach.session.progress import State, ends_at_s, find_following, leg_of, start_mag_deg
from coach.session.steps import SteppingSession


class AskedSession(SteppingSession):
    """Answers that change nothing."""

    def _say_again(self, _: PhraseHeard) -> list[Action]:
        return self._say(self._speech.find_last(self._at_s) or self._where_text(), is_asked=True)

    def _where(self, _: PhraseHeard) -> list[Action]:
        return self._say(self._where_text(), is_asked=True)

    def _where_text(self) -> str:
        if self._progress.state is not State.FLYING:
            return self._line_on_resume()
        leg, following = leg_of(self._plan, self._progress), find_following(self._plan, self._progress)
        return prompts.where(leg, to_go_s=self._to_go_s(), following=following)

    def _time(self, _: PhraseHeard) -> list[Action]:
        return self._say(prompts.time_to_go(self._to_go_s() or 0.0).capitalize(), is_asked=True)

    def _to_go_s(self) -> float | None:
        end_s = ends_at_s(self._plan, self._progress)
        return None if end_s is None else end_s - self._at_s

    def _bookmark(self, heard: PhraseHeard) -> list[Action]:
        return [Record(what="bookmark", onset_s=heard.onset_s), Sound(tone=Tone.HEARD)]

    def _change_talk(self, heard: PhraseHeard) -> list[Action]:
        self._speech.change_talk(1 if heard.phrase == grammar.MORE else -1)
        self._note = f"Talk: {self._speech.talk}"
        return [Sound(tone=Tone.HEARD)]

    def _acknowledge(self, _: PhraseHeard) -> list[Action]:
        return [Sound(tone=Tone.HEARD)]

    def _line_on_resume(self) -> str:
        leg = leg_of(self._plan, self._progress)
        if self._progress.state is State.COMPLETE:
            return prompts.COMPLETE
        if self._progress.state is State.ARRIVING:
            start = start_mag_deg(self._plan, self._progress.leg_i)
            render = prompts.rejoin if self._progress.is_rejoin else prompts.first_leg
            return render(leg, start)
        return prompts.resumed(leg, to_go_s=self._to_go_s())
