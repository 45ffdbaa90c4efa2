"""Stands in for the child that speaks: same request, same reply, no voice. Its mood is an argument."""

import json
import os
import sys
import time
import wave
from pathlib import Path

mood, folder = sys.argv[1], Path(sys.argv[2])
request = json.loads(sys.stdin.readline())
with (folder / "asked.jsonl").open("a") as file:
    file.write(json.dumps(request) + "\n")
n_asked = len((folder / "asked.jsonl").read_text().splitlines())


def reply(**fields):
    print(json.dumps(fields))
    sys.stdout.flush()
    os._exit(0)


if mood == "hangs" or (mood == "hangs on words" and request["do"] == "speak"):
    time.sleep(60)
if mood == "dies" or (mood == "dies once" and n_asked == 1):
    print("native library: no data", file=sys.stderr)
    sys.stderr.flush()
    os._exit(9)
if mood == "babbles":
    print("Audio saved to somewhere")
    os._exit(0)
if request["do"] == "describe":
    named = [{"name": "aa/en-x", "languages": ["en-x"]}, {"name": "aa/en-y", "languages": ["en-y"]}]
    reply(engine="fake 1", voices=[*named, {"name": "aa/qq", "languages": ["qq"]}], variants=["f1", "m1"])
if mood == "writes nothing":
    reply(path=request["path"])
level = 0 if mood == "is silent" else 1_000 + 10 * len(request["text"])
with wave.open(request["path"], "wb") as file:
    file.setnchannels(1)
    file.setsampwidth(2)
    file.setframerate(48_000)
    file.writeframes(bytes(2 * 480) + level.to_bytes(2, "little") * 4_800 + bytes(2 * 480))
reply(path=request["path"])
