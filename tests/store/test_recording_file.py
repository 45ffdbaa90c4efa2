"""The recording file tells what a kill and what a power failure leave."""

from coach.store.recording_file import RecordingFile


def test_a_kill_leaves_what_was_written_and_a_power_loss_what_was_synced() -> None:
    file = RecordingFile()
    file.append(b"a")
    file.sync()
    file.append(b"b")
    file.close()
    assert [(file.after_kill(n), file.after_power_loss(n)) for n in range(5)] == [
        (b"", b""),
        (b"a", b""),
        (b"a", b"a"),
        (b"ab", b"a"),
        (b"ab", b"a"),
    ]
