"""Sound in and out: microphone, endpoint, recognisers, synthesis, speaker."""
