"""The engines that tell sound from words, each behind `coach.voice.recogniser.Recogniser`."""
