from coach.voice.stream_health import OPENS_WITHIN_S, OVERSLEPT_S, SILENT_S, StreamHealth


def running(at_s=10.0):
    health = StreamHealth(opened_at_s=at_s - 1)
    health.note_call(at_s)
    return health


class TestLoss:
    def test_stream_that_is_called_is_well(self):
        assert running().find_loss(10.0 + SILENT_S, 0) is None

    def test_callback_not_called_any_more_is_a_loss(self):
        assert running().find_loss(10.01 + SILENT_S, 0) == "the sound device does not answer"

    def test_loss_is_known_within_two_seconds(self):
        # "noticed within 2 s", with a look every quarter of a second
        assert SILENT_S + 0.25 < 2.0

    def test_stream_that_ended_is_a_loss_at_once(self):
        health = running()
        health.note_finished()
        assert health.find_loss(10.0, 0) == "the sound device is gone"

    def test_stream_may_take_its_time_to_start(self):
        health = StreamHealth(opened_at_s=10.0)
        assert health.find_loss(10.0 + OPENS_WITHIN_S, 0) is None
        assert health.find_loss(10.1 + OPENS_WITHIN_S, 0) == "the sound device does not start"

    def test_process_that_was_stopped_does_not_blame_the_device(self):
        assert running().find_loss(15.0, OVERSLEPT_S + 4.0) is None

    def test_stream_runs_once_it_was_called(self):
        assert not StreamHealth(opened_at_s=10.0).is_running
        assert running().is_running


class TestDevice:
    def test_first_device_seen_is_home(self):
        health = running()
        health.note_device("headset", ("headset", "loudspeaker"))
        assert (health.home, health.is_away) == ("headset", False)

    def test_stream_moved_because_its_device_is_gone_is_away(self):
        health = running()
        health.note_device("headset", ("headset", "loudspeaker"))
        health.note_device("loudspeaker", ("loudspeaker",))
        assert (health.home, health.is_away) == ("headset", True)

    def test_stream_is_away_until_it_is_back_on_its_own_device(self):
        health = running()
        health.note_device("headset", ("headset", "loudspeaker"))
        health.note_device("loudspeaker", ("loudspeaker",))
        health.note_device("loudspeaker", ("headset", "loudspeaker"))
        assert (health.home, health.is_away) == ("headset", True)
        health.note_device("headset", ("headset", "loudspeaker"))
        assert (health.home, health.is_away) == ("headset", False)

    def test_stream_moved_by_the_user_has_a_new_home(self):
        health = running()
        health.note_device("headset", ("headset", "loudspeaker"))
        health.note_device("loudspeaker", ("headset", "loudspeaker"))
        assert (health.home, health.is_away) == ("loudspeaker", False)

    def test_home_of_an_earlier_stream_is_kept(self):
        health = StreamHealth(opened_at_s=10.0, home="headset")
        health.note_device("loudspeaker", ("loudspeaker",))
        assert (health.home, health.is_away) == ("headset", True)
